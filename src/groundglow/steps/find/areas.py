"""Areas: parts of a frame that a step parts from what lies around them, whatever share of it they fill.

The picture is reduced until small things vanish. Every isotherm between its extremes cuts it into parts. At
each pixel the means of two half discs, on either side of the best dividing line, are compared with the
spreads within them: across a step the means differ by many spreads, on an even slope by 3.2 whatever its
steepness, in natural texture by less. A part of the asked size along whose border the middle value of this
exceeds the asked sigmas is an area. Of parts that share most of their pixels, the one with the clearest
border stands for all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import pi

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.steps.find.kernels import MAD
from groundglow.steps.find.region import Mask, Region
from groundglow.steps.find.search import Search
from groundglow.steps.find.settings import FindSettings

__all__ = ["area_regions", "step_strength"]

Picture = NDArray[np.float32]

#: Half discs: radius and gap between them, in pixels of the reduced picture; dividing lines tried.
HALF_DISC, GAP, LINES = 5, 1.0, 8
#: Two parts are one when the pixels they share are more than this share of all their pixels.
ALIKE = 0.4


@dataclass(frozen=True)
class _Part:
    """A part that an isotherm cuts off: its mask, clearness of its border, pixels."""

    mask: Mask
    sign: int
    sigmas: float
    area: int


def area_regions(picture: Picture, search: Search, settings: FindSettings, noise: float = 0.0) -> Iterator[Region]:
    """Areas of a picture in the sizes of a search, as regions of the full picture.

    Parameters
    ----------
    picture : ndarray float32, shape (rows, columns)
        Without holes.
    search : Search
    settings : FindSettings
    noise : float
        Standard deviation of a pixel's own noise, a floor under the measured spreads.

    Yields
    ------
    Region
        Clearest border first. A part may lie within another, as a fresh inflow in an older one.
    """
    factor = _factor(picture.shape, search, settings)
    small = _smoothed(picture, factor)
    strength = step_strength(small, noise / factor)
    parts = [p for sign in search.signs for p in _parts(small * np.float32(sign), sign, strength, search, factor)]
    kept: list[_Part] = []
    for part in sorted(parts, key=lambda p: (-p.sigmas, -p.area)):
        region = None if any(_same(part, k) for k in kept) else _region(small, part)
        if region is not None:
            kept.append(part)
            yield _enlarged(region, factor, picture.shape)


def _factor(shape: tuple[int, ...], search: Search, settings: FindSettings) -> int:
    """Reduction: to the stated size, but an area keeps at least 8 px across."""
    return int(max(1, min(max(shape) // settings.reduced_px, search.smallest_px // 8)))


def _smoothed(picture: Picture, factor: int) -> Picture:
    """Reduced picture, without what is narrower than 3 of its pixels."""
    rows, columns = (n // factor for n in picture.shape)
    whole = picture[: rows * factor, : columns * factor]
    small = cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA) if factor > 1 else whole.copy()
    return np.asarray(cv2.medianBlur(small, 5))


def step_strength(small: Picture, noise: float = 0.0) -> Picture:
    """Difference of the means of two half discs over the geometric mean of their spreads, best line.

    The geometric mean keeps the step between smooth water and rough ground, which the larger spread hides.
    """
    best = np.zeros_like(small)
    level = np.float32(np.median(small))
    for one, other in _half_discs():
        a, b = (_moments(small - level, k) for k in (one, other))
        spread = np.sqrt(np.sqrt(np.maximum(a[1], noise**2) * np.maximum(b[1], noise**2)))
        np.maximum(best, np.abs(a[0] - b[0]) / np.maximum(spread, 1e-6), out=best)
    return best


def _half_discs() -> Iterator[tuple[Picture, Picture]]:
    rows, columns = np.mgrid[-HALF_DISC : HALF_DISC + 1, -HALF_DISC : HALF_DISC + 1]
    disc = np.hypot(rows, columns) <= HALF_DISC + 0.3
    for angle in np.arange(LINES) * (pi / LINES):
        across = rows * np.sin(angle) + columns * np.cos(angle)
        pair = (disc & (across > GAP), disc & (across < -GAP))
        one, other = ((k / k.sum()).astype(np.float32) for k in pair)
        yield one, other


def _moments(small: Picture, kernel: Picture) -> tuple[Picture, Picture]:
    """Mean and variance under a kernel."""
    mean = cv2.filter2D(small, cv2.CV_32F, kernel, borderType=cv2.BORDER_REFLECT)
    square = cv2.filter2D(small * small, cv2.CV_32F, kernel, borderType=cv2.BORDER_REFLECT)
    return mean, np.maximum(square - mean * mean, np.float32(0))


def _parts(signed: Picture, sign: int, strength: Picture, search: Search, factor: int) -> Iterator[_Part]:
    """Parts of the asked size above each isotherm whose border is clear enough."""
    least, most = (pi / 4 * (d / factor) ** 2 for d in (search.smallest_px, search.largest_px))
    for level in _levels(signed):
        above = (signed > level).astype(np.uint8)
        count, labels, stats, _ = cv2.connectedComponentsWithStats(above, connectivity=4)
        border = cv2.erode(above, np.ones((3, 3), np.uint8), borderValue=1) < above
        for k in range(1, count):
            area = int(stats[k, cv2.CC_STAT_AREA])
            if least <= area <= most:
                mask = labels == k
                rim = strength[mask & border]
                sigmas = float(np.median(rim)) if rim.size else 0.0
                if sigmas >= search.sigmas:
                    yield _Part(mask, sign, sigmas, area)


def _levels(signed: Picture, count: int = 32) -> NDArray[np.float64]:
    low, high = np.percentile(signed, (1, 99))
    return np.linspace(low, high, count + 2)[1:-1]


def _same(part: _Part, other: _Part) -> bool:
    """Whether two parts are one: they share most pixels, or are the two sides of one border."""
    if part.sign == other.sign:
        shared = np.count_nonzero(part.mask & other.mask)
        return bool(shared > ALIKE * (part.area + other.area - shared))
    near = cv2.dilate(other.mask.astype(np.uint8), np.ones((7, 7), np.uint8)).astype(bool)
    inner = cv2.erode(part.mask.astype(np.uint8), np.ones((3, 3), np.uint8), borderValue=1) == 0
    rim = part.mask & inner
    return bool(rim.any()) and float(near[rim].mean()) > 0.8


def _region(small: Picture, part: _Part) -> Region | None:
    """The part with a belt of its surroundings, if it departs from them in its own sign."""
    width = max(4.0, 0.25 * float(np.sqrt(part.area)))
    away = cv2.distanceTransform((~part.mask).astype(np.uint8), cv2.DIST_L2, 3)
    belt = (away > 2.0) & (away <= 2.0 + width)
    if not belt.any() or part.sign * float(np.median(small[part.mask]) - np.median(small[belt])) <= 0:
        return None
    spread = MAD * float(np.median(np.abs(small[belt] - np.median(small[belt]))))
    return Region("area", part.sign, part.mask, belt, 0, 0, part.sigmas, spread)


def _enlarged(region: Region, factor: int, shape: Sequence[int]) -> Region:
    """The region at full resolution, in a window that just holds it and its surroundings."""
    held = np.logical_or(region.part, region.ring)
    top, rows = _stretched(held.max(axis=1), factor, shape[0])
    left, columns = _stretched(held.max(axis=0), factor, shape[1])
    part, ring = (m[np.ix_(rows, columns)] for m in (region.part, region.ring))
    return Region("area", region.sign, part, ring, top, left, region.sigmas, region.clutter)


def _stretched(held: NDArray[np.bool_], factor: int, full: int) -> tuple[int, NDArray[np.intp]]:
    """First full row (or column) of what is held, and the reduced one that each full one from there on lies in.

    Full rows beyond the last whole block belong to it.
    """
    some = np.nonzero(held)[0]
    first, last = int(some[0]), int(some[-1])
    end = full if last == held.size - 1 else (last + 1) * factor
    return first * factor, np.minimum(np.arange(first * factor, end) // factor, held.size - 1)
