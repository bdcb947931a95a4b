"""Parallel lines over an area with holes and no-fly areas, so that every point that can be reached is seen.

Work is done in track axes: u along the heading, v to its right.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.steps.plan.gaps import doubled
from groundglow.steps.plan.runs import Layout, Run

__all__ = ["in_track", "intervals", "parallel_runs"]

Array = NDArray[np.float64]
#: Uncovered slivers smaller than this share of a footprint are let go.
SLIVER = 1e-3
#: Rounds of closing gaps beside no-fly areas, at most.
ROUNDS = 200


def in_track(shape: Any, heading: float) -> Any:
    """A shape in track axes; the same call brings it back."""
    s, c = math.sin(heading), math.cos(heading)
    return shapely.transform(shape, lambda xy: np.c_[xy[:, 0] * s + xy[:, 1] * c, xy[:, 0] * c - xy[:, 1] * s])


def offsets(low: float, high: float, spacing: float) -> Array:
    """Places of lines across an area: on both borders and at most a spacing apart; one in the middle where it does."""
    if high - low <= spacing:
        return np.array([(low + high) / 2])
    count = math.ceil((high - low) / spacing * (1 - 1e-9)) + 1
    return np.linspace(low, high, count)


def intervals(shape: Any, bands: Array) -> list[Array]:
    """Stretches along u that a shape takes up within each band of v; bands (n, 2); each answer (k, 2), rising."""
    west, _, east, _ = shape.bounds
    boxes = shapely.box(west - 1, bands[:, 0], east + 1, bands[:, 1])
    parts, which = shapely.get_parts(shapely.intersection(shape, boxes), return_index=True)
    bounds = shapely.bounds(parts)[:, [0, 2]]
    known = np.isfinite(bounds).all(axis=1)
    return [bounds[known & (which == i)] for i in range(len(bands))]


def _merged(stretches: Array, join: float) -> Array:
    """Stretches that overlap or lie closer than ``join`` as one."""
    if len(stretches) < 2:
        return stretches
    order = stretches[np.argsort(stretches[:, 0])]
    ends = np.maximum.accumulate(order[:, 1])
    fresh = np.r_[True, order[1:, 0] > ends[:-1] + join]
    last = np.r_[np.flatnonzero(fresh)[1:] - 1, len(order) - 1]
    return np.asarray(np.c_[order[fresh, 0], ends[last]])


def parallel_runs(site: Any, no_fly: Any, layout: Layout) -> list[Run]:
    """Lines over an area that keep out of the no-fly areas.

    Parameters
    ----------
    site : shapely polygon or multipolygon
        m.
    no_fly : shapely geometry or None
        Already widened by what is kept from it.
    layout : Layout

    Returns
    -------
    list of Run
        By row, then along the heading.

    Notes
    -----
    Each line runs as far as the site reaches within the band that it is one of `looks_at_border` lines for. Where a
    no-fly area cuts lines, further ones give back what they would have shown (`gaps.doubled`); what is still unseen
    then gets lines through it, one by one.
    """
    area = in_track(site, layout.heading)
    shut = None if no_fly is None or no_fly.is_empty else in_track(no_fly, layout.heading)
    places = offsets(area.bounds[1], area.bounds[3], layout.spacing)
    step = float(places[1] - places[0]) if len(places) > 1 else layout.footprint[0]
    half = step * max(0.5, math.floor(layout.footprint[0] / 2 / step + 1e-9)) + 1e-6
    found = intervals(area, np.c_[places - half, places + half])
    runs = [
        Run(i, float(v), float(a) - layout.beyond, float(b) + layout.beyond)
        for i, (v, stretches) in enumerate(zip(places, found, strict=True))
        for a, b in _merged(stretches, max(layout.join, layout.base))
    ]
    if shut is None:
        return runs
    open_runs = [piece for run in runs for piece in _outside(run, shut)]
    open_runs += doubled(area, shut, open_runs, layout, layout.looks[0] if len(places) > 1 else 1)
    return open_runs + _closed_gaps(area, shut, open_runs, layout)


def _outside(run: Run, shut: Any) -> list[Run]:
    """What of a run lies outside the no-fly areas."""
    line = shapely.LineString([(run.start, run.offset), (run.end, run.offset)])
    if not shapely.intersects(line, shut):
        return [run]
    left = shapely.get_parts(shapely.difference(line, shut))
    spans = [shapely.bounds(part) for part in left if part.geom_type == "LineString" and part.length > 1e-6]
    return [Run(run.row, run.offset, float(b[0]), float(b[2])) for b in spans]


def seen_by(runs: list[Run], footprint: tuple[float, float]) -> Any:
    """The level ground that runs show at least once."""
    if not runs:
        return shapely.Polygon()
    table = np.array([(r.start, r.end, r.offset) for r in runs])
    along, across = footprint[1] / 2, footprint[0] / 2
    return shapely.union_all(
        shapely.box(table[:, 0] - along, table[:, 2] - across, table[:, 1] + along, table[:, 2] + across)
    )


def _closed_gaps(area: Any, shut: Any, runs: list[Run], layout: Layout) -> list[Run]:
    """Further runs through what of the reachable area is not seen yet."""
    across, along = layout.footprint
    tiny = SLIVER * across * along
    left = shapely.difference(shapely.difference(area, shut), seen_by(runs, layout.footprint))
    row, added = max((r.row for r in runs), default=-1), []
    for _ in range(ROUNDS):
        parts = [p for p in shapely.get_parts(left) if p.area > tiny]
        if not parts:
            break
        row += 1
        fresh = _through(max(parts, key=lambda p: p.area), shut, layout, row)
        if not fresh:
            break
        added += fresh
        left = shapely.difference(left, seen_by(fresh, layout.footprint))
    return added


def _through(gap: Any, shut: Any, layout: Layout, row: int) -> list[Run]:
    """Runs over a gap: along the line through its inside, as far as they are open and see some of it."""
    v = float(shapely.point_on_surface(gap).y)
    west, _, east, _ = gap.bounds
    pieces = _outside(Run(row, v, float(west), float(east)), shut)
    pieces = [p for p in pieces if shapely.intersects(seen_by([p], layout.footprint), gap)]
    return pieces
