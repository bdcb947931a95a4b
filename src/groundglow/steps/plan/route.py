"""The way from one place to another that keeps out of no-fly areas."""

from __future__ import annotations

from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra

from groundglow.errors import InputError

__all__ = ["NoWayError", "Router"]

Array = NDArray[np.float64]
#: Corners that ways bend at stand off by this, m, so that rounding does not touch the area.
STAND_OFF = 0.05


class NoWayError(InputError):
    """No-fly areas shut every way off."""


class Router:
    """Shortest ways around no-fly areas.

    Parameters
    ----------
    no_fly : shapely geometry or None
        Already widened by what is kept from it.

    Examples
    --------
    >>> wall = shapely.box(4, -5, 6, 5)
    >>> Router(wall).way((0.0, 0.0), (10.0, 0.0)).round(2).tolist()[1:-1]
    [[3.95, 5.05], [6.05, 5.05]]
    """

    def __init__(self, no_fly: Any) -> None:
        self._shut = None if no_fly is None or no_fly.is_empty else no_fly
        if self._shut is None:
            return
        shapely.prepare(self._shut)
        grown = shapely.buffer(self._shut, STAND_OFF, join_style="mitre", mitre_limit=2.0)
        corners = shapely.get_coordinates(shapely.simplify(grown, STAND_OFF / 2))
        self._corners = np.unique(corners, axis=0)
        self._between = self._lengths(self._corners, self._corners)

    def _lengths(self, first: Array, second: Array) -> Array:
        """Of open straight ways, inf where a no-fly area is in between."""
        a, b = np.broadcast_arrays(first[:, None], second[None])
        ways = shapely.linestrings(np.stack([a, b], axis=2).reshape(-1, 2, 2))
        shut = shapely.intersects(self._shut, ways).reshape(a.shape[:2])
        return np.where(shut, np.inf, np.linalg.norm(a - b, axis=2))

    def open(self, places: Array) -> NDArray[np.bool_]:
        """Whether places lie outside all no-fly areas."""
        if self._shut is None:
            return np.ones(len(places), dtype=bool)
        return np.asarray(~shapely.intersects(self._shut, shapely.points(np.asarray(places, float))))

    def way(self, start: tuple[float, float], end: tuple[float, float]) -> Array:
        """Corners of the shortest way, both ends among them; shape (n, 2).

        Raises
        ------
        NoWayError
            When there is none.
        """
        ends = np.array([start, end], dtype=float)
        straight = ends if self._shut is None else None
        if straight is None and np.isfinite(self._lengths(ends[:1], ends[1:]))[0, 0]:
            straight = ends
        return ends if straight is not None else self._around(ends)

    def _around(self, ends: Array) -> Array:
        nodes = np.vstack([ends, self._corners])
        graph = np.full((len(nodes), len(nodes)), np.inf)
        graph[2:, 2:] = self._between
        graph[:2, 2:] = self._lengths(ends, self._corners)
        graph[2:, :2] = graph[:2, 2:].T
        graph[~np.isfinite(graph)] = 0.0
        _, before = dijkstra(graph, indices=0, return_predecessors=True)
        path = [1]
        while before[path[-1]] >= 0:
            path.append(int(before[path[-1]]))
        if path[-1] != 0:
            shown = ", ".join(f"{v:.1f}" for v in ends.ravel())
            raise NoWayError(
                f"no way from {shown} (x, y to x, y, m) keeps out of the no-fly areas; move the take-off point, "
                "or plan the enclosed part by itself."
            )
        return nodes[path[::-1]]
