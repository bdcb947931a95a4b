"""Bodies whose surface temperature is wanted: layers, what they absorb, how they meet the air, what lies under."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from groundglow.errors import InputError
from groundglow.model.ground.conduction import Layer
from groundglow.model.ground.turbulence import Exchange
from groundglow.model.surface import material

__all__ = ["Ground", "Under", "ground", "grounds"]


@dataclass(frozen=True)
class Under:
    """What lies under the last layer: conductance W m-2 K-1 to a temperature K, or to the air when None."""

    conductance: float
    temperature: float | None = None


@dataclass(frozen=True)
class Ground:
    """A body whose surface temperature is wanted.

    ``layers`` from the surface down; ``albedo`` is the share of sunshine that does not become heat;
    ``exchange`` is with the air; ``under`` is None for an insulated bottom. Standard uncertainties: ``albedo_sd``,
    and as shares of their quantities ``inertia_sd``, ``exchange_sd``, ``evaporation_sd``; ``model_sd`` (K) is of
    the model itself, independent in each hour. What ``melts`` stays at or below 0 C.
    """

    name: str
    layers: tuple[Layer, ...]
    albedo: float
    emissivity: float
    exchange: Exchange
    under: Under | None = None
    source: str = ""
    inertia_sd: float = 0.15
    albedo_sd: float = 0.04
    exchange_sd: float = 0.3
    evaporation_sd: float = 0.5
    model_sd: float = 1.5
    melts: bool = False


@cache
def grounds() -> Mapping[str, Ground]:
    """The bodies of the table by name.

    Returns
    -------
    mapping of str to Ground
        Read only; ``source`` says where the figures come from.

    References
    ----------
    Each row carries its own source.

    Examples
    --------
    >>> grounds()["rock"].layers[0].conductivity
    2.9
    """
    text = files("groundglow.model").joinpath("data/ground.toml").read_text(encoding="utf-8")
    return MappingProxyType({raw["name"]: _row(raw) for raw in tomllib.loads(text)["ground"]})


def _row(raw: Mapping[str, Any]) -> Ground:
    under = raw.get("under")
    exchange = Exchange(
        roughness=raw["roughness"], wet_share=raw.get("wet_share", 0.0), resistance=raw.get("resistance", 0.0)
    )
    return Ground(
        name=raw["name"],
        layers=tuple(Layer(*numbers) for numbers in raw["layers"]),
        albedo=raw["albedo"],
        emissivity=material(raw["material"]).emissivity,
        exchange=exchange,
        under=None if under is None else Under(under[0], None if under[1] == "air" else under[1]),
        source=raw["source"],
        melts=raw.get("melts", False),
    )


def ground(name: str) -> Ground:
    """The body of this name.

    Raises
    ------
    InputError
        When there is none, with the nearest names.

    References
    ----------
    Each row carries its own source.

    Examples
    --------
    >>> ground("gras")
    Traceback (most recent call last):
    groundglow.errors.InputError: No ground named 'gras'. Near names: grass; gravel.
    """
    known = grounds()
    if name in known:
        return known[name]
    near = difflib.get_close_matches(name, known, n=4) or [n for n in known if name.lower() in n] or list(known)
    raise InputError(f"No ground named {name!r}. Near names: {'; '.join(near)}.")
