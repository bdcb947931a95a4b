"""A body of blocks and ellipsoids seen along a line of sight: which part of it lies in front, place by place."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from groundglow.kit.bodies import Body, Part
from groundglow.records.fit import Target

__all__ = ["Sight", "Silhouette", "silhouette"]

Array = NDArray[np.float64]
#: Thickness that a flat part gets, m; parts listed later lie this much deeper.
_FLAT = 1e-4


class Sight(NamedTuple):
    """Where a target is looked at from: below the horizon, and how its length is turned from across, rad."""

    depression: float
    heading: float = 0.0


class Silhouette(NamedTuple):
    """What lies in front, place by place of the view.

    Parameters
    ----------
    warmth : ndarray
        Share of the target's rise; 0 outside it.
    offset : ndarray
        Of parts of the surroundings, K; 0 elsewhere.
    target : ndarray of bool
    """

    warmth: Array
    offset: Array
    target: NDArray[np.bool_]


def silhouette(target: Target, body: Body, sight: Sight, across: Array, upright: Array) -> Silhouette:
    """What lies in front at places of the view plane through the target's middle.

    Parameters
    ----------
    target : Target
    body : Body
    sight : Sight
    across : ndarray, shape (1, columns)
        Places square to the line of sight, rising, m.
    upright : ndarray, shape (rows, 1)
        Positive up, falling, m.

    Returns
    -------
    Silhouette
        Arrays of shape (rows, columns).

    Notes
    -----
    Rays parallel to the line of sight are cut with every part; the nearest cut wins.
    """
    shape = (upright.size, across.size)
    nearest = np.full(shape, np.inf)
    found = Silhouette(np.zeros(shape), np.zeros(shape), np.zeros(shape, dtype=bool))
    for number, part in enumerate(body.parts):
        rows, columns = _around(part, target, sight, across[0], upright[:, 0])
        start, along = _rays(target, sight, across[:, columns], upright[rows])
        depth, before = _cut(part, target, number, start, along), nearest[rows, columns]
        front = depth < before
        before[front] = depth[front]
        _lay(part, front, found, (rows, columns))
    return found


def _lay(part: Part, front: NDArray[np.bool_], found: Silhouette, where: tuple[slice, slice]) -> None:
    """Put a part where it lies in front."""
    found.warmth[where][front] = part.warmth if part.offset_k is None else 0.0
    found.offset[where][front] = 0.0 if part.offset_k is None else part.offset_k
    found.target[where][front] = part.offset_k is None


def _around(part: Part, target: Target, sight: Sight, across: Array, upright: Array) -> tuple[slice, slice]:
    """Rows and columns that a part can lie in: those of the ball around it."""
    sides = np.array([target.length, target.width, target.height])
    reach = 0.5 * float(np.linalg.norm(np.array(part.size) * sides)) + 1e-3
    right, ahead, up = _turned(np.array(part.at) * sides, -sight.heading)
    high = ahead * np.sin(sight.depression) + (up - 0.5 * target.height) * np.cos(sight.depression)
    columns = np.searchsorted(across, [right - reach, right + reach])
    rows = np.searchsorted(-upright, [-high - reach, -high + reach])
    return slice(*rows), slice(*columns)


def _rays(target: Target, sight: Sight, across: Array, upright: Array) -> tuple[Array, Array]:
    """Starts, shape (..., 3), and the common direction of the rays, in axes of the target: length, width, up, m."""
    sin, cos = np.sin(sight.depression), np.cos(sight.depression)
    u, v = np.broadcast_arrays(across, upright)
    far = 100.0 * max(target.length, target.width, target.height, 0.1)
    level = np.stack([u, v * sin - far * cos, v * cos + far * sin + 0.5 * target.height], axis=-1)
    return _turned(level, sight.heading), _turned(np.array([0.0, cos, -sin]), sight.heading)


def _turned(vectors: Array, heading: float) -> Array:
    c, s = np.cos(heading), np.sin(heading)
    return np.asarray(vectors @ np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]))


def _cut(part: Part, target: Target, number: int, start: Array, along: Array) -> Array:
    """Distance along each ray to a part, infinite where it passes by."""
    sides = np.array([target.length, target.width, target.height])
    half = 0.5 * np.maximum(np.array(part.size) * sides, _FLAT)
    middle = np.array(part.at) * sides
    middle[2] -= number * _FLAT if target.height == 0 else 0.0
    origin, ray = (start - middle) / half, along / half
    return _cut_ball(origin, ray) if part.shape == "ellipsoid" else _cut_cube(origin, ray)


def _cut_ball(origin: Array, ray: Array) -> Array:
    """Unit ball: the smaller root of |o + t d| = 1."""
    a, b, c = ray @ ray, origin @ ray, (origin * origin).sum(axis=-1) - 1.0
    under = b * b - a * c
    return np.where(under >= 0, (-b - np.sqrt(np.maximum(under, 0.0))) / a, np.inf)


def _cut_cube(origin: Array, ray: Array) -> Array:
    """Cube of half side one: the slab method."""
    safe = np.where(np.abs(ray) < 1e-12, 1e-12, ray)
    first, second = (-1.0 - origin) / safe, (1.0 - origin) / safe
    enter, leave = np.minimum(first, second).max(axis=-1), np.maximum(first, second).min(axis=-1)
    return np.where(enter <= leave, enter, np.inf)
