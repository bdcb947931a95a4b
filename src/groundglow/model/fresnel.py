"""Emissivity of smooth bodies from their optical constants (Fresnel's equations and Kirchhoff's law)."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError
from groundglow.model.planck import spectral_radiance

__all__ = [
    "BANDS",
    "band_emissivity",
    "dielectric_index",
    "fresnel_emissivity",
    "metal_index",
    "optical_constants",
]

#: The two ideal bands of the emissivity table, m.
BANDS: dict[str, tuple[float, float]] = {"8-14": (8e-6, 14e-6), "7.5-13.5": (7.5e-6, 13.5e-6)}

_WEIGHT_TEMPERATURE = 300.0  # K, of the Planck weights of every band mean here
_POINTS = 121
Array = NDArray[np.float64]


def fresnel_emissivity(index: ArrayLike, angle: ArrayLike) -> Array:
    """Unpolarised emissivity of a smooth, opaque half-space.

    One minus the mean of the two polarised reflectances. The body must be smooth against the wavelength and
    thick enough to be opaque; the air above has index one.

    Parameters
    ----------
    index : array_like of complex
        Complex refractive index n + i k.
    angle : array_like
        Angle between the normal and the direction of view, rad, 0 to pi/2; broadcasts with ``index``.

    Returns
    -------
    ndarray
        Emissivity, 0..1; NaN where the surface is not seen (angle outside 0..pi/2).

    References
    ----------
    Born, M. & Wolf, E., Principles of Optics, section 1.5.2 (Fresnel formulae) and 14.2 (complex index);
    from memory, held against published tables in the tests.

    Examples
    --------
    >>> fresnel_emissivity(1.5, np.radians([0, 45, 60, 75, 85])).round(4)
    array([0.96  , 0.9498, 0.9108, 0.7469, 0.3872])
    """
    theta = np.asarray(angle, dtype=float)
    seen = (theta >= 0) & (theta <= np.pi / 2)
    cosine = np.where(seen, np.cos(theta), 1.0)
    squared = np.asarray(index, dtype=complex) ** 2
    inside = np.sqrt(squared - 1 + cosine**2)
    perpendicular = np.abs((cosine - inside) / (cosine + inside)) ** 2
    parallel = np.abs((squared * cosine - inside) / (squared * cosine + inside)) ** 2
    return np.where(seen, 1 - 0.5 * (perpendicular + parallel), np.nan)


def dielectric_index(emissivity: ArrayLike) -> Array:
    """Real refractive index of a smooth dielectric with the given normal emissivity.

    Inverse of Fresnel's normal reflectance ((n-1)/(n+1))^2 without extinction.

    Parameters
    ----------
    emissivity : array_like
        Normal emissivity, 0 < emissivity <= 1.

    Returns
    -------
    ndarray
        Refractive index, >= 1.

    References
    ----------
    Born & Wolf, Principles of Optics, section 1.5.3 (from memory).

    Examples
    --------
    >>> float(dielectric_index(0.96).round(6))
    1.5
    """
    root = np.sqrt(1 - np.asarray(emissivity, dtype=float))
    return np.asarray((1 + root) / (1 - root))


def metal_index(emissivity: ArrayLike) -> NDArray[np.complex128]:
    """Complex index n + i n of a metal with the given normal emissivity.

    In the far infrared the two parts of a good conductor's index are about equal (Hagen and Rubens).

    Parameters
    ----------
    emissivity : array_like
        Normal emissivity; above 0.828 no such index exists and the largest possible one is used.

    Returns
    -------
    ndarray of complex
        The root with the larger index.

    References
    ----------
    Hagen & Rubens 1903; Modest, Radiative Heat Transfer, chapter 3 (from memory).

    Examples
    --------
    >>> index = metal_index(0.05)
    >>> float(fresnel_emissivity(index, 0.0).round(6))
    0.05
    """
    share = np.minimum(np.asarray(emissivity, dtype=float), 2 * (np.sqrt(2) - 1))
    middle = 2 - share
    real = (middle + np.sqrt(np.maximum(middle**2 - 2 * share**2, 0))) / (2 * share)
    return np.asarray(real * (1 + 1j))


@cache
def _constants() -> dict[str, tuple[Array, NDArray[np.complex128]]]:
    table = files("groundglow.model").joinpath("data/refractive.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(table.splitlines()))
    out = {}
    for name in dict.fromkeys(r["substance"] for r in rows):
        own = [r for r in rows if r["substance"] == name]
        wavelength = np.array([float(r["wavelength_um"]) for r in own]) * 1e-6
        index = np.array([complex(float(r["refractive_index"]), float(r["extinction"])) for r in own])
        out[name] = wavelength, index
    return out


def optical_constants(substance: str) -> tuple[Array, NDArray[np.complex128]]:
    """Wavelength in m and complex refractive index of water, ice or glass, 6 to 16 um.

    Parameters
    ----------
    substance : str
        ``"water"``, ``"ice"`` or ``"glass"``.

    Raises
    ------
    InputError
        For another substance.

    References
    ----------
    Water: Hale & Querry 1973, DOI 10.1364/AO.12.000555. Ice: Warren & Brandt 2008,
    DOI 10.1029/2007JD009744. Soda-lime glass: Rubin 1985, DOI 10.1016/0165-1633(85)90052-8.

    Examples
    --------
    >>> wavelength, index = optical_constants("water")
    >>> complex(index[wavelength.searchsorted(9.99e-6)])
    (1.218+0.0508j)
    """
    known = _constants()
    if substance not in known:
        raise InputError(f"No optical constants of {substance!r}; there are {', '.join(known)}.")
    return known[substance]


def band_emissivity(substance: str, angle: ArrayLike, *, band: str = "8-14") -> Array:
    """Emissivity of a smooth body in a band, weighted with the 300 K Planck radiance.

    Parameters
    ----------
    substance : str
        ``"water"``, ``"ice"`` or ``"glass"``.
    angle : array_like
        Angle from the normal, rad; NaN comes back outside 0..pi/2.
    band : {"8-14", "7.5-13.5"}
        Ideal band, um.

    Returns
    -------
    ndarray
        Emissivity; interpolated in a table of quarter degrees (error below 1e-4 up to 89 degrees).

    References
    ----------
    See `optical_constants` and `fresnel_emissivity`.

    Examples
    --------
    >>> band_emissivity("water", np.radians([0, 60, 80])).round(3)
    array([0.985, 0.947, 0.659])
    """
    grid, table = _band_table(substance, band)
    theta = np.asarray(angle, dtype=float)
    return np.asarray(np.interp(theta, grid, table, left=np.nan, right=np.nan))


@cache
def _band_table(substance: str, band: str) -> tuple[Array, Array]:
    if band not in BANDS:
        raise InputError(f"No band {band!r}; there are {', '.join(BANDS)} (um).")
    known, index = optical_constants(substance)
    wavelength = np.linspace(*BANDS[band], _POINTS)
    between = np.interp(wavelength, known, index.real) + 1j * np.interp(wavelength, known, index.imag)
    grid = np.linspace(0, np.pi / 2, 361)
    weight = np.asarray(spectral_radiance(wavelength, _WEIGHT_TEMPERATURE))
    spectrum = fresnel_emissivity(between[:, None], grid)
    total = np.trapezoid(weight, wavelength)
    return grid, np.asarray(np.trapezoid(spectrum * weight[:, None], wavelength, axis=0) / total)
