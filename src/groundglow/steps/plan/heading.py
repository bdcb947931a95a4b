"""Which way the lines run: least time with turns and wind, and no glint of the sun where another way avoids it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import shapely

from groundglow.steps.plan.cover import parallel_runs
from groundglow.steps.plan.runs import Layout

__all__ = ["best_heading", "glint_in_view"]

#: Headings that are tried lie so far apart; lines across a site that are enough to tell how long it takes.
STEP, ENOUGH = math.radians(10.0), 30


def best_heading(
    site: Any, layout: Callable[[float], Layout], speed: Callable[[float], float], turn: float,
    *, glints: Callable[[float], bool] | None = None,
) -> float:  # fmt: skip
    """Heading of least time, rad in 0..pi.

    Parameters
    ----------
    site : shapely polygon
    layout : callable
        Layout for a heading.
    speed : callable
        Over ground for a heading, both ways; NaN where it cannot be flown.
    turn : float
        s, from one line to the next.
    glints : callable, optional
        Whether the sun's mirror image is in view at a heading; such headings only when there is no other.
    """
    spacing = layout(0.0).spacing
    plain = shapely.simplify(site, spacing / 10)
    west, south, east, north = plain.bounds
    every = max(1, int(max(east - west, north - south) / (ENOUGH * spacing)))
    found = [
        (bool(glints and glints(h)), _seconds(plain, layout(h), speed(h), turn, every), h) for h in _candidates(plain)
    ]
    return min(found)[2]


def _candidates(site: Any) -> list[float]:
    """Even steps, and the sides of the smallest rectangle around the area."""
    box = shapely.get_coordinates(shapely.oriented_envelope(site))
    sides = np.diff(box[:3], axis=0) if len(box) >= 3 else np.zeros((0, 2))
    own = [math.atan2(dx, dy) % math.pi for dx, dy in sides if math.hypot(dx, dy) > 0]
    return own + [float(h) for h in np.arange(0.0, math.pi, STEP)]


def _seconds(site: Any, layout: Layout, speed: float, turn: float, every: int) -> float:
    """Time along lines and in turns, by one line in so many."""
    if not speed > 0:
        return math.inf
    runs = parallel_runs(site, None, replace(layout, spacing=layout.spacing * every))
    return round(every * (sum(r.end - r.start for r in runs) / speed + turn * len(runs)), 3)


def glint_in_view(
    heading: float, sun: tuple[float, float], halves: tuple[float, float], *, tilt: float = 0.0, azimuth: float = 0.0
) -> bool:
    """Whether a camera that looks straight down sees the sun mirrored in a smooth surface.

    Parameters
    ----------
    heading : float
        Of the flight; the picture's rows run across it, rad.
    sun : (float, float)
        Azimuth and elevation, rad.
    halves : (float, float)
        Tangents of half the field of view across and along.
    tilt, azimuth : float
        Of the surface: from level, and where its upper side faces, rad.

    Notes
    -----
    The mirrored ray leaves along 2 (n.s) n - s; the camera above sees it where that direction, turned about, lies in
    its field of view.

    Examples
    --------
    >>> glint_in_view(0.0, (0.0, math.radians(85.0)), (0.3, 0.2)), glint_in_view(0.0, (0.0, 0.5), (0.3, 0.2))
    (True, False)
    """
    az, el = sun
    to_sun = np.array([math.sin(az) * math.cos(el), math.cos(az) * math.cos(el), math.sin(el)])
    normal = np.array([math.sin(azimuth) * math.sin(tilt), math.cos(azimuth) * math.sin(tilt), math.cos(tilt)])
    if el <= 0 or normal @ to_sun <= 0:
        return False
    out = 2 * (normal @ to_sun) * normal - to_sun
    if out[2] <= 0:
        return False
    forward = np.array([math.sin(heading), math.cos(heading), 0.0])
    right = np.array([math.cos(heading), -math.sin(heading), 0.0])
    return bool(abs(out @ right) <= halves[0] * out[2] and abs(out @ forward) <= halves[1] * out[2])
