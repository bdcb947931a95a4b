"""The terrain below a plan: heights on a raster in the plan's plane, and profiles that keep above it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import ndimage

from groundglow.errors import InputError

__all__ = ["Ground", "climb_limited", "flat_ground", "path_points", "simplified"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Ground:
    """Heights on a raster.

    Parameters
    ----------
    heights : ndarray, shape (rows, columns)
        m; NaN unknown.
    corner : (float, float)
        x, y of ``heights[0, 0]``, m.
    step : (float, float)
        Of x from column to column and of y from row to row, m.
    """

    heights: Array
    corner: tuple[float, float]
    step: tuple[float, float]

    def at(self, x: ArrayLike, y: ArrayLike) -> Array:
        """Bilinear height at places, m; NaN outside the raster or beside an unknown height.

        Examples
        --------
        >>> slope = Ground(np.tile(np.arange(3.0), (3, 1)), (0.0, 0.0), (1.0, -1.0))
        >>> slope.at([0.5, 9.0], [-1.0, 0.0])
        array([0.5, nan])
        """
        column = (np.asarray(x, float) - self.corner[0]) / self.step[0]
        row = (np.asarray(y, float) - self.corner[1]) / self.step[1]
        place = np.stack(np.broadcast_arrays(row, column)).reshape(2, -1)
        found = ndimage.map_coordinates(self.heights, place, order=1, mode="constant", cval=np.nan)
        return np.asarray(found.reshape(np.broadcast(row, column).shape))

    def highest(self, radius: float) -> Ground:
        """The highest ground within a square of this half side around each place."""
        return self._extreme(radius, ndimage.maximum_filter)

    def lowest(self, radius: float) -> Ground:
        """The lowest ground within a square of this half side around each place."""
        return self._extreme(radius, ndimage.minimum_filter)

    def _extreme(self, radius: float, pick: object) -> Ground:
        size = tuple(2 * int(np.ceil(radius / abs(s))) + 1 for s in (self.step[1], self.step[0]))
        return Ground(pick(self.heights, size=size, mode="nearest"), self.corner, self.step)  # type: ignore[operator]


def flat_ground(bounds: tuple[float, float, float, float], height: float = 0.0) -> Ground:
    """Level ground over west, south, east, north, m."""
    west, south, east, north = bounds
    if not (np.isfinite(bounds).all() and west < east and south < north):
        raise InputError(f"bounds {bounds} enclose nothing; west < east and south < north are wanted.")
    return Ground(np.full((2, 2), float(height)), (west, north), (east - west, south - north))


def climb_limited(distance: Array, floor: Array, slope: float) -> Array:
    """The lowest profile that keeps above a floor and climbs no steeper than a slope, m.

    Notes
    -----
    The upper Lipschitz envelope: max over all places of floor less slope times their distance. Linear in n.

    Examples
    --------
    >>> climb_limited(np.array([0.0, 10.0, 20.0]), np.array([0.0, 5.0, 0.0]), 0.3)
    array([2., 5., 2.])
    """
    rise = slope * distance
    falling = np.maximum.accumulate(floor + rise) - rise
    climbing = np.maximum.accumulate((floor - rise)[::-1])[::-1] + rise
    return np.maximum(falling, climbing)


def simplified(distance: Array, height: Array, tolerance: float, slope: float) -> NDArray[np.intp]:
    """Corners that keep a profile within a tolerance; raise it by `margin` afterwards and it stays above its floor."""
    import shapely

    if len(distance) < 3:
        return np.arange(len(distance))
    kept = shapely.get_coordinates(shapely.simplify(shapely.LineString(np.c_[distance, height]), tolerance))
    return np.asarray(np.searchsorted(distance, kept[:, 0]))


def path_points(nodes: Array, ground: Ground) -> tuple[Array, NDArray[np.intp]]:
    """Points of a path a tenth of a terrain's cell or less (25 m) apart with all its corners, and whose leg each is.

    Parameters
    ----------
    nodes : ndarray, shape (n, 3)
        m; n >= 1.
    ground : Ground

    Returns
    -------
    points : ndarray, shape (k, 3)
    leg : ndarray, shape (k,)
        Index of the corner before each.

    Examples
    --------
    >>> points, leg = path_points(np.array([[0.0, 0, 9], [40, 0, 5]]), flat_ground((-100, -100, 100, 100)))
    >>> points[:, 0].tolist(), leg.tolist()
    ([0.0, 20.0, 40.0], [0, 0, 0])
    """
    step = float(np.clip(0.1 * min(abs(s) for s in ground.step), 0.5, 25.0))
    moves = np.diff(nodes, axis=0)
    count = np.maximum(np.ceil(np.linalg.norm(moves[:, :2], axis=1) / step), 1).astype(int)
    leg = np.repeat(np.arange(len(moves)), count)
    share = (np.arange(len(leg)) - np.repeat(np.cumsum(count) - count, count)) / count[leg]
    points = nodes[leg] + share[:, None] * moves[leg]
    return np.vstack([points, nodes[-1]]), np.r_[leg, max(len(moves) - 1, 0)]
