"""Lines beside no-fly areas: where these cut lines, further ones give back the overlap that was asked.

Worked out on a raster in track axes around the no-fly areas: how many lines pass each cell within half a picture.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.steps.plan.runs import Layout, Run

__all__ = ["doubled"]

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
#: Cells across a picture; the most cells of the raster; rounds, at most.
CELLS, MOST_CELLS, ROUNDS = 24, 4_000_000, 400
#: A further line is worth flying for this share of a picture and more.
WORTH = 0.004
#: A further line keeps this share of the spacing from others where it can: the same view twice shows little.
APART = 0.25


@dataclass
class _Raster:
    """``u`` of columns, ``v`` of rows; ``inside`` is to be seen; ``open``: where a line may run; ``looks`` so far."""

    u: Array
    v: Array
    inside: Flags
    open: Flags
    looks: NDArray[np.int16]
    cell: tuple[float, float]

    def add(self, run: Run, half: float) -> None:
        """Count a run."""
        slack = 0.5 * self.cell[0] + 1e-6
        columns = slice(*np.searchsorted(self.u, (run.start - slack, run.end + slack)))
        rows = slice(*np.searchsorted(self.v, (run.offset - half - 1e-6, run.offset + half + 1e-6)))
        self.looks[rows, columns] += 1


def doubled(area: Any, shut: Any, runs: Sequence[Run], layout: Layout, wanted: int) -> list[Run]:
    """Further runs, so that every reachable place near a no-fly area is passed as often as asked.

    Parameters
    ----------
    area, shut : shapely geometry
        Site and no-fly areas, in track axes.
    runs : sequence of Run
        That are flown already, cut by the no-fly areas.
    layout : Layout
    wanted : int
        Lines that each place is to be passed by within half a picture.
    """
    half = layout.footprint[0] / 2
    raster = _raster(area, shut, layout)
    if raster is None:
        return []
    for run in runs:
        raster.add(run, half)
    row = max((r.row for r in runs), default=-1)
    added: list[Run] = []
    for _ in range(ROUNDS):
        found = _best(raster, [*runs, *added], layout, wanted)
        if not found:
            break
        row += 1
        fresh = [Run(row, v, start, end) for v, start, end in found]
        for run in fresh:
            raster.add(run, half)
        added += fresh
    return added


def _raster(area: Any, shut: Any, layout: Layout) -> _Raster | None:
    """Cells of the area as far from the no-fly areas as these cut lines that could show them."""
    near = shapely.intersection(area, shapely.buffer(shut, math.hypot(*layout.footprint), quad_segs=2))
    if near.is_empty:
        return None
    west, south, east, north = near.bounds
    step = (layout.footprint[1] / CELLS, layout.footprint[0] / CELLS)
    thin = max(1.0, math.sqrt((east - west) * (north - south) / (step[0] * step[1]) / MOST_CELLS))
    du, dv = step[0] * thin, step[1] * thin
    u, v = np.arange(west + du / 2, east, du), np.arange(south + dv / 2, north, dv)
    if not (len(u) and len(v)):
        return None
    x, y = np.meshgrid(u, v)
    free = ~shapely.contains_xy(shut, x, y)
    inside = shapely.contains_xy(near, x, y) & free
    # A line runs on into what lies beyond the area, never through a no-fly area.
    return _Raster(u, v, inside, free, np.zeros(x.shape, np.int16), (du, dv))


def _best(raster: _Raster, runs: Sequence[Run], layout: Layout, wanted: int) -> list[tuple[float, float, float]]:
    """Offset, start and end of the runs on the row that serves most places still passed too seldom; none: done."""
    poor = raster.inside & (raster.looks < wanted)
    reach = int(layout.footprint[0] / 2 / raster.cell[1] + 1e-9)
    total = np.cumsum(np.pad(poor.astype(np.int32), ((reach + 1, reach), (0, 0))), axis=0)
    served = np.where(raster.open, total[2 * reach + 1 :] - total[: -2 * reach - 1], 0)
    gain = served.sum(axis=1)
    least = WORTH * layout.footprint[0] * layout.footprint[1] / (raster.cell[0] * raster.cell[1])
    if gain.max() < least:
        return []
    apart = np.array([_distance(v, runs, raster.u[row > 0]) for v, row in zip(raster.v, served, strict=True)])
    clear = np.where(apart >= APART * layout.spacing, gain, 0)
    row = int(np.argmax(clear if clear.max() >= least else gain))
    return _stretches(raster, row, served[row] > 0, layout)


def _distance(v: float, runs: Sequence[Run], u: Array) -> float:
    """From the nearest run that passes any of these places."""
    if not len(u):
        return 0.0
    beside = [abs(r.offset - v) for r in runs if r.start <= u[-1] and r.end >= u[0]]
    return min(beside, default=math.inf)


def _stretches(raster: _Raster, row: int, needed: Flags, layout: Layout) -> list[tuple[float, float, float]]:
    """Of each open stretch of a row the part that is needed, long enough for the asked looks along it."""
    edges = np.flatnonzero(np.diff(np.r_[False, raster.open[row], False].astype(int))).reshape(-1, 2)
    least = layout.base * (layout.looks[1] - 1)
    found = []
    for first, last in edges:
        at = np.flatnonzero(needed[first:last]) + first
        if not len(at):
            continue
        low, high = raster.u[first], raster.u[last - 1]
        start, end = raster.u[at[0]], raster.u[at[-1]]
        more = max(least - (end - start), 0.0) / 2
        start, end = max(low, start - more), min(high, end + more)
        found.append((float(raster.v[row]), float(start), float(end)))
    return found
