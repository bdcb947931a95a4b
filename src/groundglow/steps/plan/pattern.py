"""Search: what the lines put into each segment, the probability to have found, and what remains.

Effort counts where it is spent: a pass puts its sweep width into the strip that its pictures show and nowhere else, so
that a segment flown in part is found in part. What a border line's pictures show beside a segment is not counted.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.model.search import coverage_for_probability, random_search_probability
from groundglow.records.plan import Line, Segment, Sortie
from groundglow.steps.plan.ask import Search

__all__ = ["effort_over", "search_segments", "tightened"]

Array = NDArray[np.float64]
#: Places of a segment at which effort is added up, about.
PLACES: Final = 20_000
#: Lines are drawn closer by no more than this for what is lost beside borders; the rounds; what counts as reached.
CLOSEST, ROUNDS, SHORT = 1.6, 8, 0.002


def search_segments(
    segments: Mapping[str, Any], lines: Sequence[Line], sorties: Sequence[Sortie], width: float,
    *, across: float, presence: Mapping[str, float] | None = None,
) -> tuple[Segment, ...]:  # fmt: skip
    """Probability of detection by segment, cumulative over the sorties.

    Parameters
    ----------
    segments : mapping of str to shapely polygon
        m.
    lines, sorties
    width : float
        Sweep width, m; never more than ``across`` counts, as nothing is found beside the picture.
    across : float
        Width of a picture on the ground, m.
    presence : mapping of str to float, optional
        Probability that the sought is in each; default by area.

    Notes
    -----
    The formula of random search at each place with the effort spent there, averaged over the segment: a careful lower
    figure. Effort of sorties adds up, as independent looks do.

    References
    ----------
    Koopman 1946 (`groundglow.model.search`).
    """
    shares = _presence(segments, presence)
    by_number = {line.number: line for line in lines}
    found = []
    for name, shape in segments.items():
        points = _points_in(shape)
        effort, after = np.zeros(len(points)), []
        for sortie in sorties:
            effort += effort_over(points, [by_number[n] for n in sortie.lines], width, across)
            after.append(float(random_search_probability(effort).mean()))
        total = after[-1] if after else 0.0
        found.append(Segment(name, float(shapely.area(shape)), _length_in(shape, lines), float(effort.mean()), total,
                             tuple(after), shares[name], shares[name] * (1.0 - total)))  # fmt: skip
    return tuple(found)


def effort_over(points: Array, lines: Sequence[Line], width: float, across: float) -> Array:
    """Times over that the sweep width covers each point: each pass spreads it evenly over its pictures' strip.

    Examples
    --------
    >>> line = Line(1, "", np.array([[0.0, 0, 50], [100.0, 0, 50]]), np.zeros(2), np.zeros(2), np.zeros(2),
    ...             np.zeros(0), 5.0)
    >>> effort_over(np.array([[50.0, 15.0], [50.0, 30.0]]), [line, line], 20.0, 40.0).tolist()
    [1.0, 0.0]
    """
    effort = np.zeros(len(points))
    for line in lines:
        start, way = line.nodes[0, :2], line.nodes[-1, :2] - line.nodes[0, :2]
        length = float(np.hypot(*way))
        if length > 0:
            ahead = way / length
            u, v = (points - start) @ ahead, (points - start) @ np.array([ahead[1], -ahead[0]])
            effort += (u >= 0) & (u < length) & (np.abs(v) <= across / 2)
    return np.asarray(effort * min(width, across) / across)


def tightened(
    search: Search, parts: Mapping[str, Any], draw: Callable[[Search], Sequence[Line]], across: float
) -> Search:
    """The search with lines so much closer that every segment reaches what is asked; as it was where none does."""
    points = [_points_in(shape) for shape in parts.values()]
    closer = search
    wanted = float(coverage_for_probability(search.detection))
    for _ in range(ROUNDS):
        lines = draw(closer)
        reached = min(float(random_search_probability(effort_over(p, lines, search.width, across)).mean())
                      for p in points)  # fmt: skip
        if reached >= search.detection - SHORT:
            return closer
        closer = replace(closer, tighter=closer.tighter * wanted / max(float(coverage_for_probability(reached)), 1e-9))
        if closer.tighter > CLOSEST:
            break
    return search


def _points_in(shape: Any) -> Array:
    """Middles of the cells of a raster that lie in a shape; a point on it where it is too narrow for any."""
    west, south, east, north = shape.bounds
    cell = math.sqrt(max((east - west) * (north - south), 1e-6) / PLACES)
    x, y = np.meshgrid(np.arange(west + cell / 2, east, cell), np.arange(south + cell / 2, north, cell))
    shapely.prepare(shape)
    inside = shapely.contains_xy(shape, x, y)
    return np.asarray(
        np.c_[x[inside], y[inside]] if inside.any() else shapely.get_coordinates(shapely.point_on_surface(shape))
    )


def _length_in(shape: Any, lines: Sequence[Line]) -> float:
    ways = [shapely.LineString(x.nodes[:, :2]) for x in lines if len(x.nodes) > 1]
    return float(np.sum(shapely.length(shapely.intersection(np.array(ways, dtype=object), shape)))) if ways else 0.0


def _presence(segments: Mapping[str, Any], given: Mapping[str, float] | None) -> dict[str, float]:
    if not given:
        whole = sum(float(shapely.area(s)) for s in segments.values())
        return {name: float(shapely.area(s)) / whole for name, s in segments.items()}
    missing = sorted(segments.keys() - given.keys())
    if missing or sum(given[name] for name in segments) > 1 + 1e-9:
        raise InputError(
            f"presence: {'missing for ' + ', '.join(missing) if missing else 'the shares add up to more than 1'}; "
            "give each segment a share, together at most 1."
        )
    return {name: float(given[name]) for name in segments}
