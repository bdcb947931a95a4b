"""Emissivity of materials in the long-wave infrared, and how it falls with the angle of view.

The table (``data/materials.csv``) holds the emissivity at the normal in the ideal bands 8-14 and 7.5-13.5 um.
Five kinds of surface fall differently towards grazing view; `emissivity_at_angle` states each law.
"""

from __future__ import annotations

import csv
import difflib
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError
from groundglow.model.fresnel import BANDS, band_emissivity, dielectric_index, fresnel_emissivity, metal_index

__all__ = [
    "KINDS",
    "Material",
    "emissivity_at_angle",
    "emissivity_uncertainty_at_angle",
    "material",
    "materials",
]

Array = NDArray[np.float64]

#: Kinds of surface: the words stand in the table.
KINDS = ("fresnel", "smooth", "rough", "metal", "diffuse")

#: Share of the change from the normal to the angle of view that is taken as its standard uncertainty
#: (common practice, no source; smooth water follows Fresnel's law up to 65 degrees at least, Rees & James 1992).
_LAW_DOUBT = {"fresnel": 0.15, "smooth": 0.3, "rough": 0.5, "metal": 0.5, "diffuse": 0.5}


@dataclass(frozen=True)
class Material:
    """One row of the emissivity table.

    ``emissivity`` is of the normal view in 8-14 um, ``emissivity_7_5_13_5`` in 7.5-13.5 um. ``kind`` is one of
    `KINDS`; ``optical_constants`` names the substance whose refractive index a ``fresnel`` surface uses.
    ``status`` is measured, published or from memory; ``source`` says where the figure comes from.
    """

    name: str
    group: str
    emissivity: float
    emissivity_7_5_13_5: float
    standard_uncertainty: float
    kind: str
    optical_constants: str
    source: str
    status: str

    @property
    def mirror(self) -> bool:
        """Whether what is not emitted reflects like a mirror (else from the whole hemisphere)."""
        return self.kind in ("fresnel", "smooth", "metal")

    def normal_emissivity(self, band: str = "8-14") -> float:
        """Emissivity at the normal in one of the two bands ``"8-14"`` and ``"7.5-13.5"`` (um).

        Raises
        ------
        InputError
            For another band.
        """
        if band not in BANDS:
            raise InputError(f"No band {band!r}; there are {', '.join(BANDS)} (um).")
        return self.emissivity if band == "8-14" else self.emissivity_7_5_13_5


def _row(raw: Mapping[str, str]) -> Material:
    return Material(
        raw["name"],
        raw["group"],
        float(raw["emissivity"]),
        float(raw["emissivity_7_5_13_5"]),
        float(raw["standard_uncertainty"]),
        raw["kind"],
        raw["optical_constants"],
        raw["source"],
        raw["status"],
    )


@cache
def materials() -> Mapping[str, Material]:
    """All materials by name, in the order of the table.

    Returns
    -------
    mapping of str to Material
        Read only.

    References
    ----------
    Each row carries its own source.

    Examples
    --------
    >>> len(materials()) >= 60
    True
    """
    text = files("groundglow.model").joinpath("data/materials.csv").read_text(encoding="utf-8")
    rows = [_row(raw) for raw in csv.DictReader(text.splitlines())]
    return MappingProxyType({row.name: row for row in rows})


def material(name: str) -> Material:
    """The material of this name; capitals, commas and the order of words do not matter.

    Raises
    ------
    InputError
        When there is none; the message lists the nearest names.

    References
    ----------
    Each row carries its own source.

    Examples
    --------
    >>> material("water").emissivity, material("dry sand").emissivity
    (0.9852, 0.905)
    >>> material("conrete")
    Traceback (most recent call last):
    groundglow.errors.InputError: No material named 'conrete'. Near names: concrete.
    """
    found = _by_words().get(_words(name))
    if found is None:
        raise InputError(f"No material named {name!r}. {_near(name)}")
    return found


def _words(name: str) -> frozenset[str]:
    return frozenset(re.findall(r"[a-z0-9]+", name.lower()))


@cache
def _by_words() -> dict[frozenset[str], Material]:
    return {_words(row.name): row for row in materials().values()}


def _near(name: str) -> str:
    """The names that hold a word that was asked for, then those that are spelt nearly so."""
    wanted = _words(name)
    holding = [(len(wanted & words), row.name) for words, row in _by_words().items() if wanted & words]
    near = [known for _, known in sorted(holding, key=lambda pair: -pair[0])]
    heads = {part: known for known in reversed(list(materials())) for part in (known, known.split(",")[0])}
    near += [heads[m] for m in difflib.get_close_matches(name.strip().lower(), heads, n=5, cutoff=0.6)]
    if not near:
        return f"There are {len(materials())}, in the groups {', '.join(_groups())}."
    return f"Near names: {'; '.join(list(dict.fromkeys(near))[:5])}."


def _groups() -> list[str]:
    return list(dict.fromkeys(row.group for row in materials().values()))


def emissivity_at_angle(of: Material, angle: ArrayLike, *, band: str = "8-14") -> Array:
    """Emissivity of a material seen under an angle.

    Parameters
    ----------
    of : Material
    angle : array_like, any shape
        Angle between the surface normal and the direction to the camera, rad.
    band : {"8-14", "7.5-13.5"}
        Ideal band, um.

    Returns
    -------
    ndarray, shape of ``angle``
        Emissivity, 0..1; NaN where the surface faces away (angle outside 0..pi/2).

    Notes
    -----
    With e the normal emissivity, r = 1 - e, and F Fresnel's reflectance of a body with the same r:

    * ``fresnel`` (water, ice, glass): Fresnel's equations with measured optical constants;
    * ``smooth`` (paint, polymer, glaze): 1 - F(angle), with the real index that gives r at the normal;
    * ``rough`` (soil, concrete, snow): 1 - r sqrt(F(angle) / r): half the roll-off, on a logarithmic scale, of
      a smooth body (common practice that roughness flattens the roll-off, the square root without source);
    * ``metal``: 1 - F(angle), with equal real and imaginary index: emissivity rises towards grazing view;
    * ``diffuse`` (plants, skin, cloth): the same at all angles.

    References
    ----------
    Fresnel's equations: see `groundglow.model.fresnel`. Rees & James 1992, Int. J. Remote Sens. 13:2873:
    smooth water agrees with them up to 65 degrees at least.

    Examples
    --------
    >>> emissivity_at_angle(material("grass"), np.radians([0, 60])).round(3)
    array([0.98, 0.98])
    >>> emissivity_at_angle(material("concrete"), np.radians([0, 60, 75])).round(3)
    array([0.939, 0.917, 0.87 ])
    """
    theta = np.asarray(angle, dtype=float)
    if of.kind == "fresnel":
        return band_emissivity(of.optical_constants, theta, band=band)
    return _LAWS[of.kind](of.normal_emissivity(band), theta)


def _smooth(normal: float, angle: Array) -> Array:
    return fresnel_emissivity(dielectric_index(normal), angle)


def _rough(normal: float, angle: Array) -> Array:
    return np.asarray(1 - np.sqrt((1 - normal) * (1 - _smooth(normal, angle))))


def _metal(normal: float, angle: Array) -> Array:
    return fresnel_emissivity(metal_index(normal), angle)


def _diffuse(normal: float, angle: Array) -> Array:
    return np.where((angle >= 0) & (angle <= np.pi / 2), normal, np.nan)


_LAWS: dict[str, Callable[[float, Array], Array]] = {
    "smooth": _smooth,
    "rough": _rough,
    "metal": _metal,
    "diffuse": _diffuse,
}


def emissivity_uncertainty_at_angle(of: Material, angle: ArrayLike, *, band: str = "8-14") -> Array:
    """Standard uncertainty of the emissivity under an angle; it grows towards grazing view.

    The table's uncertainty and, in quadrature, a share of the change that the angular law makes: 0.15 where the
    optical constants are known, 0.3 for other smooth bodies, 0.5 for rough ones and metals. A ``diffuse``
    material, whose law makes no change, takes half of what a rough one would lose.

    Parameters
    ----------
    of, angle, band
        As for `emissivity_at_angle`.

    Returns
    -------
    ndarray, shape of ``angle``
        NaN where the surface faces away.

    References
    ----------
    The shares are common practice, no source.

    Examples
    --------
    >>> emissivity_uncertainty_at_angle(material("water"), np.radians([0, 60, 80])).round(3)
    array([0.005, 0.008, 0.049])
    """
    theta = np.asarray(angle, dtype=float)
    if of.kind == "diffuse":
        seen = _rough(of.normal_emissivity(band), theta)
    else:
        seen = emissivity_at_angle(of, theta, band=band)
    change = _LAW_DOUBT[of.kind] * (seen - of.normal_emissivity(band))
    return np.asarray(np.hypot(of.standard_uncertainty, change))
