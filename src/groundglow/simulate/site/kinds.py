"""Kinds of surface on the invented site: material, temperature of the early afternoon, natural unevenness.

All temperatures here are invented for one sunny April day; nothing outside the demo relies on them.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["KINDS", "Kind"]


@dataclass(frozen=True)
class Kind:
    """``celsius`` is the mean; ``texture_k`` the rms of its long, middle and fine unevenness, K.

    ``shade_k`` is what a shadow takes away, ``wall_celsius`` the temperature of its upright sides.
    """

    material: str
    celsius: float
    texture_k: tuple[float, float, float]
    wall_celsius: float = 28.0
    shade_k: float = -5.0


KINDS: dict[str, Kind] = {
    "grass": Kind("grass", 24.0, (0.45, 0.45, 0.40), wall_celsius=22.0),
    "gravel": Kind("gravel, road or roof ballast", 31.0, (0.35, 0.30, 0.30)),
    "track": Kind("soil, dry", 33.0, (0.35, 0.30, 0.25)),
    "concrete": Kind("concrete", 30.0, (0.25, 0.20, 0.15)),
    "roof": Kind("roofing, bitumen felt", 41.0, (0.35, 0.20, 0.15), wall_celsius=33.0),
    "water": Kind("water", 14.5, (0.28, 0.12, 0.06), shade_k=-0.3),
    "module": Kind("photovoltaic module, glass front", 43.0, (0.22, 0.16, 0.14), wall_celsius=30.0, shade_k=-4.0),
    "soiled module": Kind("soil, dry", 43.5, (0.25, 0.20, 0.20), wall_celsius=30.0, shade_k=-4.0),
    "frame": Kind("aluminium, anodised", 40.0, (0.2, 0.2, 0.15), wall_celsius=30.0, shade_k=-4.0),
    "tank": Kind("paint, oil, all colours", 37.0, (0.30, 0.20, 0.10), wall_celsius=34.0),
    # Bushings of cast resin, painted like the tank they stand on, and as warm.
    "insulator": Kind("paint, oil, all colours", 37.0, (0.20, 0.15, 0.20), wall_celsius=36.0),
    "busbar": Kind("conductor, aluminium strand, aged", 41.0, (0.20, 0.20, 0.20), wall_celsius=31.0),
    "clamp": Kind("conductor, aluminium strand, aged", 41.5, (0.20, 0.20, 0.20), wall_celsius=31.0),
    "box": Kind("steel, galvanised, weathered", 39.0, (0.25, 0.20, 0.10), wall_celsius=33.0),
    "mast": Kind("steel, galvanised, weathered", 30.0, (0.20, 0.20, 0.10), wall_celsius=29.0),
    "board": Kind("paint, matt black", 38.0, (0.15, 0.2, 0.2)),
    "tree": Kind("leaves and canopy", 20.5, (0.50, 0.50, 0.50), wall_celsius=20.0),
}
