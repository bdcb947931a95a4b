"""Shadows: outlines of what throws one, moved along the sun's rays on to a level."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.simulate.site.parts import Outline, Site, Surface

__all__ = ["SUN", "SUN_AZIMUTH_DEG", "SUN_ZENITH_DEG", "shadow", "shadows"]

#: Of the invented hour, 2026-04-16 11:15 UTC at the site (checked in the tests against an almanac).
SUN_ZENITH_DEG, SUN_AZIMUTH_DEG = 37.95, 195.65


def _direction(zenith_deg: float, azimuth_deg: float) -> NDArray[np.float64]:
    zenith, azimuth = np.radians((zenith_deg, azimuth_deg))
    flat = np.sin(zenith)
    return np.array([flat * np.sin(azimuth), flat * np.cos(azimuth), np.cos(zenith)])


#: Direction to the sun, east, north, up.
SUN: NDArray[np.float64] = _direction(SUN_ZENITH_DEG, SUN_AZIMUTH_DEG)


def shadow(surface: Surface, level: float) -> Outline | None:
    """Outline of the shadow that a surface throws on a level plane; None where it lies below that.

    What floats throws only its own shape; what stands on the ground also fills the way to it.
    """
    height = np.array([surface.height(*corner) for corner in surface.outline]) - level
    if not surface.casts or height.max() <= 0.1:
        return None
    moved = surface.outline - height[:, None] * SUN[:2] / SUN[2]
    if surface.floats:
        return np.asarray(moved)
    both = np.concatenate([surface.outline, moved]).astype(np.float32)
    return np.asarray(cv2.convexHull(both)[:, 0, :], dtype=np.float64)


def shadows(site: Site, level: float) -> dict[str, Outline]:
    """All shadows on a level by the name of what throws them."""
    found = {s.name: shadow(s, level) for s in site.surfaces}
    return {name: outline for name, outline in found.items() if outline is not None}
