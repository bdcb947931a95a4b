"""Where a frame shows the sun and the cloud mirrored in tilted glass: places that move with the camera."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from groundglow.model.facing import direction, surface_normal
from groundglow.simulate.flight.camera import CAMERA
from groundglow.simulate.flight.path import Shot
from groundglow.simulate.flight.world import CLOUDS
from groundglow.simulate.site.field import TILT_DEG
from groundglow.simulate.site.shade import SUN

__all__ = ["mirrored_places"]


def _pixel(shot: Shot, source: NDArray[np.float64]) -> tuple[float, float] | None:
    """Pixel whose ray module glass mirrors towards a direction of the sky; None outside the frame."""
    normal = surface_normal(np.radians(TILT_DEG), np.pi)
    ray = shot.rotation @ (source - 2 * (source @ normal) * normal)
    if ray[2] <= 0:
        return None
    column = (CAMERA.columns - 1) / 2 + CAMERA.focal_px * ray[0] / ray[2]
    row = (CAMERA.rows - 1) / 2 + CAMERA.focal_px * ray[1] / ray[2]
    inside = 0 <= column < CAMERA.columns and 0 <= row < CAMERA.rows
    return (float(column), float(row)) if inside else None


def mirrored_places(shot: Shot, glass: NDArray[np.bool_]) -> list[tuple[str, float, float, float]]:
    """Kind (sun or cloud), column, row and radius in px of what the frame's glass mirrors.

    Parameters
    ----------
    shot : Shot
    glass : ndarray of bool, shape (rows, columns)
        Where the frame shows glass: elsewhere nothing is mirrored.
    """
    sources = [("sun", SUN, np.degrees(0.02) * 2)]
    sources += [("cloud", direction(np.radians(z), np.radians(a)), r) for z, a, r in CLOUDS]
    found = []
    for kind, source, radius in sources:
        place = _pixel(shot, source)
        if place is not None and glass[round(place[1]), round(place[0])]:
            found.append((kind, *place, float(np.radians(radius) * CAMERA.focal_px)))
    return found
