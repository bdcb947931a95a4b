"""Candidates of many frames that are one thing, joined by where they should appear in each other's frame."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.records.finding import Candidate
from groundglow.steps.find.region import equivalent_diameter
from groundglow.steps.find.sight import Sight

__all__ = ["Group", "group_areas", "group_spots"]

Array = NDArray[np.float64]
Group = tuple[Candidate, ...]

#: Two sights of one spot: sizes on the ground and rises differ by no more than these ratios.
SIZE_RATIO, RISE_RATIO = 3.0, 4.0
#: Two sights of one area share at least this part of what both frames show of the smaller one.
SHARED = 0.4
#: Where relief shifts things a lot, ties of frames to a plane are coarser by this share of the greatest shift.
ROOM_BY_PARALLAX = 0.1


@dataclass(frozen=True, order=True)
class _Link:
    """Two candidates that may be one thing; cheaper is more alike."""

    cost: float
    one: int
    other: int


class _Sets:
    """Disjoint sets of candidates; with ``once``, no set may hold two candidates of one frame."""

    def __init__(self, frames: Sequence[str], once: bool) -> None:
        self.parent = list(range(len(frames)))
        self.frames = [{f} for f in frames]
        self.once = once

    def find(self, k: int) -> int:
        """The set that a candidate is in."""
        while self.parent[k] != k:
            self.parent[k] = self.parent[self.parent[k]]
            k = self.parent[k]
        return k

    def join(self, link: _Link) -> None:
        """Join the sets of two candidates, unless they hold sights of one frame."""
        a, b = self.find(link.one), self.find(link.other)
        if a == b or (self.once and self.frames[a] & self.frames[b]):
            return
        low, high = min(a, b), max(a, b)
        self.parent[high] = low
        self.frames[low] |= self.frames[high]


def group_spots(found: Mapping[str, Sequence[Candidate]], sight: Sight) -> tuple[Group, ...]:
    """Spots of one sign that appear where each other's place predicts, one a frame at most.

    The most alike are joined first, so that of two neighbours each goes to its own.
    """
    spots = [c for name in sorted(found) for c in found[name] if c.shape_kind == "spot"]
    numbers: dict[str, list[int]] = defaultdict(list)
    for k, c in enumerate(spots):
        numbers[c.frame].append(k)
    links = [link for a, b in sight.pairs(numbers) for link in _spot_links(sight, spots, numbers[a], numbers[b])]
    return _joined(spots, links, once=True)


def _joined(candidates: Sequence[Candidate], links: Iterable[_Link], *, once: bool) -> tuple[Group, ...]:
    sets = _Sets([c.frame for c in candidates], once)
    for link in sorted(links):
        sets.join(link)
    groups: dict[int, list[Candidate]] = defaultdict(list)
    for k, c in enumerate(candidates):
        groups[sets.find(k)].append(c)
    return tuple(tuple(g) for _, g in sorted(groups.items()))


def _spot_links(sight: Sight, spots: Sequence[Candidate], one: list[int], other: list[int]) -> Iterator[_Link]:
    a, b = spots[one[0]].frame, spots[other[0]].frame
    here, there = (np.array([(spots[k].column, spots[k].row) for k in ks]) for ks in (one, other))
    cost = _cost(sight, (a, b), here, there)
    if cost is None:
        return
    for i, j in zip(*np.nonzero(cost <= 1.0), strict=True):
        if _alike(spots[one[i]], spots[other[j]]):
            yield _Link(round(float(cost[i, j]), 6), one[i], other[j])


def _cost(sight: Sight, frames: tuple[str, str], here: Array, there: Array) -> Array | None:
    """Distance of every spot there from where every spot here is predicted, in tolerances, shape (n, m).

    Along the parallax of things above the ground the distance counts from the nearest height allowed, and a
    quarter of a tolerance at the greatest height.
    """
    expected = sight.transfer(*frames, here)
    if expected is None:
        return None
    parallax = sight.parallax(*frames, here, expected)
    gap = there[None] - expected[:, None]
    length = np.maximum((parallax**2).sum(axis=1), 1e-9)
    height = np.clip(np.einsum("nmk,nk->nm", gap, parallax) / length[:, None], 0.0, 1.0)
    left = gap - height[..., None] * parallax[:, None]
    with np.errstate(invalid="ignore"):
        room = sight.tolerance(*frames) + ROOM_BY_PARALLAX * np.sqrt(length)[:, None]
        cost = np.hypot(left[..., 0], left[..., 1]) / room + 0.25 * height
    return np.asarray(np.nan_to_num(cost, nan=np.inf))


def _alike(a: Candidate, b: Candidate) -> bool:
    size = equivalent_diameter(a.area_px) / equivalent_diameter(b.area_px)
    rise = a.rise / b.rise if b.rise else np.inf
    return a.sign == b.sign and _within(size, SIZE_RATIO) and _within(rise, RISE_RATIO)


def _within(value: float, ratio: float) -> bool:
    return 1 / ratio <= value <= ratio


def group_areas(found: Mapping[str, Sequence[Candidate]], sight: Sight) -> tuple[Group, ...]:
    """Areas of one sign whose outlines lie upon each other where two frames overlap."""
    areas = [c for name in sorted(found) for c in found[name] if c.shape_kind == "area"]
    numbers: dict[str, list[int]] = defaultdict(list)
    for k, c in enumerate(areas):
        numbers[c.frame].append(k)
    shapes = [polygon(c.outline) for c in areas]
    links = [
        link
        for a, b in sight.pairs(numbers)
        for link in _area_links(sight, (a, b), areas, shapes, (numbers[a], numbers[b]))
    ]
    return _joined(areas, links, once=False)


def polygon(corners: Sequence[tuple[float, float]] | Array) -> shapely.Geometry:
    """A valid polygon, empty when the corners make none."""
    if len(corners) < 3 or not np.isfinite(np.asarray(corners)).all():
        return shapely.Polygon()
    return shapely.make_valid(shapely.Polygon(corners))


def _area_links(
    sight: Sight,
    frames: tuple[str, str],
    areas: Sequence[Candidate],
    shapes: Sequence[shapely.Geometry],
    numbers: tuple[list[int], list[int]],
) -> Iterator[_Link]:
    rows, columns = sight.log.shape
    edge = sight.transfer(*frames, frame_corners(sight.log.shape))
    if edge is None:
        return
    here = np.array(_moved(sight, frames, [areas[k] for k in numbers[0]]))
    there = np.array([shapes[k] for k in numbers[1]])
    i, j = shapely.STRtree(there).query(here, predicate="intersects")
    same = np.array([areas[numbers[0][a]].sign == areas[numbers[1][b]].sign for a, b in zip(i, j, strict=True)], bool)
    i, j = i[same], j[same]
    frame, shared = shapely.box(-0.5, -0.5, columns - 0.5, rows - 0.5), polygon(edge)
    share = _shares(shapely.intersection(here[i], frame), shapely.intersection(there[j], shared))
    for k in np.nonzero(share >= SHARED)[0]:
        yield _Link(round(1 - float(share[k]), 6), numbers[0][i[k]], numbers[1][j[k]])


def _moved(sight: Sight, frames: tuple[str, str], areas: Sequence[Candidate]) -> list[shapely.Geometry]:
    """Outlines of one frame where another shows them."""
    corners = [np.array(c.outline) for c in areas]
    there = sight.transfer(*frames, np.concatenate(corners))
    ends = np.cumsum([len(c) for c in corners])[:-1]
    return [shapely.Polygon()] * len(areas) if there is None else [polygon(p) for p in np.split(there, ends)]


def _shares(here: NDArray[np.object_], there: NDArray[np.object_]) -> Array:
    """What the areas of each pair share, as a part of the smaller one, shape (n,)."""
    least = np.minimum(shapely.area(here), shapely.area(there))
    both = shapely.area(shapely.intersection(here, there))
    return np.asarray(np.where(least > 0, both / np.maximum(least, 1e-12), 0.0))


def frame_corners(shape: tuple[int, int]) -> Array:
    """Corner pixels of a frame, shape (4, 2)."""
    rows, columns = shape
    return np.array([(0.0, 0.0), (columns - 1.0, 0.0), (columns - 1.0, rows - 1.0), (0.0, rows - 1.0)])
