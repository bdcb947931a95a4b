"""Where a pixel's ray meets the ground of a height raster."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError, RangeError
from groundglow.model.collinearity import pixel_rays

__all__ = ["pixel_to_terrain", "terrain_normals"]

Array = NDArray[np.float64]

# A ray this far (m) below a cell's surface on entering it has met the ground before, unseen.
_BELOW = 1e-6


def pixel_to_terrain(
    column: ArrayLike,
    row: ArrayLike,
    position: ArrayLike,
    rotation: ArrayLike,
    focal_px: float,
    shape: tuple[int, int],
    heights: ArrayLike,
    origin: tuple[float, float],
    step: float | tuple[float, float],
) -> Array:
    """World points where the pixels' rays first meet a terrain, m.

    The terrain between four neighbouring heights is the bilinear surface through them, and the meeting
    point with it is exact.

    Parameters
    ----------
    column, row : array_like
        Pixel places, broadcastable.
    position, rotation, focal_px, shape
        As for `ground_to_pixel`.
    heights : array_like, shape (rows, columns)
        Heights z, m, at least 2 x 2; NaN is unknown ground, which a ray passes.
    origin : (float, float)
        x, y of the first height (``heights[0, 0]``), m.
    step : float or (float, float)
        Change of x from column to column and of y from row to row, m. One number ``s`` means
        (s, -s): first row to the north.

    Returns
    -------
    ndarray, shape (..., 3)
        NaN where a ray leaves the raster without meeting it, or comes up from below: the camera is below the
        ground, or the ray met it where it is unknown.

    Raises
    ------
    InputError
        Heights that are no raster of at least 2 x 2.
    RangeError
        A step of zero.

    See Also
    --------
    ground_to_pixel : the inverse.

    Notes
    -----
    Cells are walked in order; in each, u and v are linear in the distance t, so that ray height minus
    bilinear height is a quadratic in t whose first change from above to below is the meeting point.

    References
    ----------
    Amanatides and Woo, "A fast voxel traversal algorithm for ray tracing", Eurographics 1987.

    Examples
    --------
    A slope that rises 1 m per metre to the east, seen straight down from 100 m:

    >>> down = np.diag([1.0, -1.0, -1.0])
    >>> slope = np.tile(np.arange(-50.0, 51.0), (101, 1))
    >>> camera = ([0.0, 0.0, 100.0], down, 950.0, (512, 640))
    >>> pixel_to_terrain(369.5, 255.5, *camera, slope, (-50.0, 50.0), 1.0).round(9)
    array([5., 0., 5.])
    """
    ground, (dx, dy) = _raster(heights, step)
    rays = pixel_rays(rotation, focal_px, shape, column, row)
    scale = np.array([1 / dx, 1 / dy, 1.0])
    start = (np.asarray(position, dtype=float) - np.array([*origin, 0.0])) * scale
    distance = _first_hits(start, (rays * scale).reshape(-1, 3), ground).reshape(rays.shape[:-1])
    return np.asarray(np.asarray(position, dtype=float) + distance[..., None] * rays)


def _first_hits(start: Array, directions: Array, heights: Array) -> Array:
    if not np.isfinite(heights).any():
        return np.full(len(directions), np.nan)
    span = np.array([np.nanmin(heights), np.nanmax(heights)])
    return np.asarray(_walk_rays(start, np.ascontiguousarray(directions), heights, span))


@njit(cache=True)
def _walk_rays(start: Array, directions: Array, heights: Array, span: Array) -> Array:
    out = np.empty(len(directions))
    for k in range(len(directions)):
        out[k] = _walk(start, directions[k], heights, span)
    return out


@njit(cache=True)
def _inside(start: Array, direction: Array, heights: Array, span: Array) -> tuple[float, float]:
    """Distances between which the ray is over the raster and within its span of heights."""
    low, high = 0.0, np.inf
    limits = ((0.0, heights.shape[1] - 1.0), (0.0, heights.shape[0] - 1.0), (span[0], span[1]))
    for axis in range(3):
        first, last = limits[axis]
        if direction[axis] == 0.0:
            if start[axis] < first or start[axis] > last:
                return 1.0, 0.0
            continue
        a, b = (first - start[axis]) / direction[axis], (last - start[axis]) / direction[axis]
        low, high = max(low, min(a, b)), min(high, max(a, b))
    return low, high


@njit(cache=True)
def _walk(start: Array, direction: Array, heights: Array, span: Array) -> float:
    """Distance along one ray (raster units) to the first cell surface it enters from above."""
    low, high = _inside(start, direction, heights, span)
    slack = 1e-9 * (1.0 + abs(high))
    if not low <= high + slack:
        return np.nan
    rows, columns = heights.shape
    t = low
    j = min(max(int(np.floor(start[0] + t * direction[0])), 0), columns - 2)
    i = min(max(int(np.floor(start[1] + t * direction[1])), 0), rows - 2)
    while t <= high + slack:
        tx, ty = _leave(start[0], direction[0], j), _leave(start[1], direction[1], i)
        end = min(tx, ty, high + slack)
        a, b, c = _gap(start, direction, heights[i : i + 2, j : j + 2], i, j)
        if c + t * (b + t * a) < -_BELOW:
            return np.nan
        hit = _first_fall(a, b, c, t - slack, end + slack)
        if not np.isnan(hit):
            return float(hit)
        if tx <= ty:
            j += 1 if direction[0] > 0 else -1
        if ty <= tx:
            i += 1 if direction[1] > 0 else -1
        if end >= high + slack or not (0 <= j <= columns - 2 and 0 <= i <= rows - 2):
            return np.nan
        t = max(end, t)
    return np.nan


@njit(cache=True)
def _leave(start: float, direction: float, cell: int) -> float:
    """Distance at which the ray leaves a cell along one axis."""
    if direction == 0.0:
        return np.inf
    return (cell + (1.0 if direction > 0 else 0.0) - start) / direction


@njit(cache=True)
def _gap(start: Array, direction: Array, corner: Array, i: int, j: int) -> tuple[float, float, float]:
    """Ray height minus bilinear height in a cell as a t^2 + b t + c."""
    u, v = start[0] - j, start[1] - i
    du, dv, dz = direction
    h, hu, hv = corner[0, 0], corner[0, 1] - corner[0, 0], corner[1, 0] - corner[0, 0]
    twist = corner[1, 1] - corner[0, 1] - corner[1, 0] + corner[0, 0]
    b = dz - hu * du - hv * dv - twist * (u * dv + v * du)
    return -twist * du * dv, b, start[2] - h - hu * u - hv * v - twist * u * v


@njit(cache=True)
def _first_fall(a: float, b: float, c: float, low: float, high: float) -> float:
    """First t >= 0 in low..high at which a t^2 + b t + c falls through zero, or NaN."""
    for t in _roots(a, b, c):
        if low <= t <= high and t >= 0.0 and 2.0 * a * t + b <= 0.0:
            return float(t)
    return np.nan


@njit(cache=True)
def _roots(a: float, b: float, c: float) -> tuple[float, float]:
    """Roots of a t^2 + b t + c in rising order, stable for small a; NaN where there are none."""
    inside = b * b - 4.0 * a * c
    if np.isnan(inside) or inside < 0.0 or (a == 0.0 and b == 0.0):
        return np.nan, np.nan
    q = -0.5 * (b + np.copysign(np.sqrt(inside), b))
    if a == 0.0 or q == 0.0:
        single = -c / b if a == 0.0 else 0.0
        return single, np.nan
    return min(q / a, c / q), max(q / a, c / q)


def terrain_normals(
    points: ArrayLike, heights: ArrayLike, origin: tuple[float, float], step: float | tuple[float, float]
) -> Array:
    """Unit normals (upwards) of a height raster's bilinear surface at points of it.

    Parameters
    ----------
    points : array_like, shape (..., 3)
        World points, m; only x and y are used.
    heights, origin, step
        As for `pixel_to_terrain`.

    Returns
    -------
    ndarray, shape (..., 3)
        NaN outside the raster or beside an unknown height.

    Raises
    ------
    InputError
        Heights that are no raster of at least 2 x 2.
    RangeError
        A step of zero.

    Notes
    -----
    (-dz/dx, -dz/dy, 1), scaled to length one.

    References
    ----------
    Geometry.

    Examples
    --------
    >>> slope = np.tile(np.arange(0.0, 5.0), (5, 1))
    >>> terrain_normals([1.5, -2.2, 1.5], slope, (0.0, 0.0), 1.0).round(4)
    array([-0.7071,  0.    ,  0.7071])
    """
    ground, (dx, dy) = _raster(heights, step)
    place = np.asarray(points, dtype=float)
    x, y = (place[..., 0] - origin[0]) / dx, (place[..., 1] - origin[1]) / dy
    rows, columns = ground.shape
    inside = (x >= 0) & (x <= columns - 1) & (y >= 0) & (y <= rows - 1)
    x, y = np.where(inside, x, 0.0), np.where(inside, y, 0.0)
    j, i = np.minimum(x.astype(int), columns - 2), np.minimum(y.astype(int), rows - 2)
    u, v = x - j, y - i
    top, bottom = ground[i, j + 1] - ground[i, j], ground[i + 1, j + 1] - ground[i + 1, j]
    left, right = ground[i + 1, j] - ground[i, j], ground[i + 1, j + 1] - ground[i, j + 1]
    along_x = ((1 - v) * top + v * bottom) / dx
    along_y = ((1 - u) * left + u * right) / dy
    normal = np.stack([-along_x, -along_y, np.where(inside, 1.0, np.nan)], axis=-1)
    return np.asarray(normal / np.linalg.norm(normal, axis=-1, keepdims=True))


def _raster(heights: ArrayLike, step: float | tuple[float, float]) -> tuple[Array, tuple[float, float]]:
    ground = np.ascontiguousarray(heights, dtype=float)
    if ground.ndim != 2 or min(ground.shape) < 2:
        raise InputError(f"heights has shape {ground.shape}; allowed 2 x 2 or more (cells lie between them).")
    dx, dy = (step, -step) if isinstance(step, (int, float)) else step
    if not (dx and dy):
        raise RangeError("step", (dx, dy), "m", "not 0", "the distance between heights")
    return ground, (dx, dy)
