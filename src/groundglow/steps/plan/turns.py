"""Turns of an aircraft that cannot stop.

References
----------
Dubins, "On curves of minimal length with a constraint on average curvature", American Journal of Mathematics 79, 1957.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

__all__ = ["turn_path"]

Array = NDArray[np.float64]
#: Corners of a turn are at most this far apart, rad.
CORNER = math.radians(15.0)


def turn_path(way: Array, first: float | None, last: float | None, radius: float) -> Array:
    """Corners of the shortest way of arcs and one straight from place and course to place and course.

    Parameters
    ----------
    way : ndarray, shape (2, 2)
        Start and end, m.
    first, last : float or None
        Courses there, rad from north over east; None: straight on.
    radius : float
        m.

    Notes
    -----
    The shortest of the four ways arc, straight, arc. Of the other two of Dubins, arcs alone, none is tried: they
    are shorter only for ends closer than four radii.

    Examples
    --------
    >>> ends = np.array([[0.0, 0.0], [100.0, 0.0]])
    >>> path = turn_path(ends, 0.0, math.pi, 10.0)  # up, over, down again
    >>> float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum().round(0))
    111.0
    """
    direct = math.atan2(*(way[1] - way[0]))
    begin, end = direct if first is None else first, direct if last is None else last
    options = [_arcs(way, begin, end, radius, a, b) for a in (1, -1) for b in (1, -1)]
    return min((o for o in options if o is not None), key=_length)


def _length(path: Array) -> float:
    return float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())


def _centre(place: Array, course: float, radius: float, side: int) -> Array:
    """Of the circle to the right (1) or left (-1)."""
    return np.asarray(place + side * radius * np.array([math.cos(course), -math.sin(course)]))


def _arcs(way: Array, begin: float, end: float, radius: float, first: int, last: int) -> Array | None:
    a, b = _centre(way[0], begin, radius, first), _centre(way[1], end, radius, last)
    gap = b - a
    distance, course = float(np.hypot(*gap)), math.atan2(*gap)
    if first != last:
        if distance < 2 * radius:
            return None
        course += first * math.asin(2 * radius / distance)
    path = np.vstack([_arc(a, begin, course, radius, first), _arc(b, course, end, radius, last)])
    apart = np.r_[True, np.linalg.norm(np.diff(path, axis=0), axis=1) > 1e-6 * radius]
    path = path[apart]
    path[-1] = way[1]
    return path


def _arc(centre: Array, begin: float, end: float, radius: float, side: int) -> Array:
    """Corners of an arc from one course to another, turning right (1) or left (-1)."""
    turned = (side * (end - begin)) % (2 * math.pi)
    turned = 0.0 if turned > 2 * math.pi - 1e-9 else turned
    courses = begin + side * np.linspace(0.0, turned, int(turned / CORNER) + 2)
    return np.asarray(centre - side * radius * np.c_[np.cos(courses), -np.sin(courses)])
