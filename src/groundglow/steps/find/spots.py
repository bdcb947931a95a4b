"""Spots: compact places that depart from *every* direction around them, at the scale of the spot.

At each size that is asked for the picture is smoothed to that size, and the smoothed value is compared with
the same smoothed picture in twelve directions around. The departure from the median of the directions says
how much a spot stands out; the departure from the nearest in value says whether it is a spot at all: along
an edge, at a corner, on a line or at its end, one direction looks like the place itself. Noise and clutter
are measured at the same scale, near the place, robustly.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, log

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.steps.find.kernels import DIRECTIONS, MAD, like_spread, ring_offsets, ring_statistics
from groundglow.steps.find.search import Search
from groundglow.steps.find.settings import FindSettings

__all__ = ["Peak", "spot_peaks"]

Picture = NDArray[np.float32]

#: Smoothing of a spot of diameter 1: close to the matched filter of a disc, narrower to keep its peak.
SMOOTHING = 0.35
#: Where the directions around are sampled, in diameters: beyond the spot's own blurred border.
RING = 1.25
#: A spot answers best at scales just under its size, and sizes in px depend on a height that is in doubt.
BELOW = 0.65
#: A pixel is on even ground when its ring spans at most this many times what the quietest tenth spans.
EVEN, QUIET = 2.5, 0.1
#: Width of the tiles over which clutter is measured, in diameters.
TILE = 8.0
#: By how much the median of the nearer half of the directions lies nearer than the median of all, in sigmas
#: of normal texture (order statistics of twelve, somewhat correlated).
ALIKE_SIGMAS = 0.5
#: Where the clutter along the alike directions is read, in radii of the ring, and how far that reading, from
#: some thirty places only, is trusted above the one from tiles.
FARTHER = (1.2, 1.6, 2.0, 2.4, 2.8)
OWN = 0.85
#: Clutter of the ground that is like this place: how far and how densely it is looked for, in diameters, and the
#: share of places, those with the most similar surroundings, that counts. A tile may hold rougher ground too.
LIKE_REACH, LIKE_STEP, LIKE_SHARE = 8.0, 0.7, 0.25


@dataclass(frozen=True)
class Peak:
    """A place that stands out: full-resolution pixel, diameter of the scale, sigmas, local clutter."""

    row: float
    column: float
    diameter: float
    sign: int
    sigmas: float
    clutter: float


def spot_peaks(picture: Picture, search: Search, settings: FindSettings, noise: float) -> tuple[Peak, ...]:
    """Places that stand out as spots at each size of a search, strongest first.

    Parameters
    ----------
    picture : ndarray float32, shape (rows, columns)
        Without holes.
    search : Search
    settings : FindSettings
    noise : float
        Standard deviation of a pixel's own noise, a floor under the measured clutter.

    Returns
    -------
    tuple of Peak
        A spot comes once for each scale at which it stands out.
    """
    found: list[Peak] = []
    for diameter in diameters(search, settings):
        found.extend(_at_scale(picture, diameter, search, settings, noise))
    return tuple(sorted(found, key=lambda p: (-p.sigmas, p.row, p.column, p.diameter)))


def diameters(search: Search, settings: FindSettings) -> tuple[float, ...]:
    """Sizes to try, px: from the smallest to the largest asked for in equal ratios, not under 2 px."""
    low = max(BELOW * search.smallest_px, settings.least_px)
    high = max(search.largest_px, low)
    steps = max(1, ceil(log(high / low) / log(settings.scale_step) - 1e-9))
    return tuple(float(d) for d in np.geomspace(low, high, steps + 1)) if high > low else (low,)


def _at_scale(
    picture: Picture, diameter: float, search: Search, settings: FindSettings, noise: float
) -> Iterator[Peak]:
    factor = max(1, int(diameter // 5))
    image = _reduced(picture, factor)
    size = diameter / factor
    if min(image.shape) < 4 * size:
        return
    smooth = cv2.GaussianBlur(image, (0, 0), max(SMOOTHING * size, 0.5))
    offsets = ring_offsets(RING * size + 0.5)
    high, low, around = ring_statistics(smooth, offsets, DIRECTIONS)
    departure = smooth - around
    span = high - low
    left = _noise_left(noise, size, factor)
    clutter = np.maximum(local_clutter(departure, span, TILE * size), left)
    middle = (factor - 1) / 2
    for sign in search.signs:
        clear = (smooth - high if sign > 0 else low - smooth) / clutter
        places = _maxima(clear, settings.clear_sigmas, max(1, round(size / 2)))
        at = tuple(places.T)
        level, near = alike(np.float32(sign) * smooth, departure, span, places, offsets)
        like = _of_like_ground(departure, around, places, size)
        spread = np.maximum(np.minimum(np.maximum(clutter[at], OWN * near), like), left)
        sigmas = (sign * smooth[at] - level) / spread + ALIKE_SIGMAS
        alone = clear[at] * clutter[at] >= settings.isolation * sign * departure[at]
        for k in np.nonzero((sigmas >= search.sigmas) & alone)[0]:
            r, c = (int(n) * factor + middle for n in places[k])
            yield Peak(r, c, diameter, sign, float(sigmas[k]), float(spread[k]))


def _of_like_ground(departure: Picture, around: Picture, places: NDArray[np.int64], size: float) -> NDArray[np.float32]:
    """Clutter at each place, of the ground near it whose surroundings are most like its own."""
    reach, step = round(LIKE_REACH * size), max(round(LIKE_STEP * size), 1)
    return np.asarray(like_spread(departure, around, places, reach, step, LIKE_SHARE))


def _reduced(picture: Picture, factor: int) -> Picture:
    """Means over blocks of factor x factor pixels; what does not fill a block is left out."""
    if factor == 1:
        return picture
    rows, columns = (n // factor for n in picture.shape)
    whole = picture[: rows * factor, : columns * factor]
    return np.asarray(cv2.resize(whole, (columns, rows), interpolation=cv2.INTER_AREA), dtype=np.float32)


def _noise_left(noise: float, size: float, factor: int) -> float:
    """What pixel noise leaves in the smoothed difference (a Gaussian of s px averages 4 pi s^2 pixels)."""
    averaged = max(1.0, 4 * np.pi * max(SMOOTHING * size, 0.5) ** 2) * factor**2
    return max(noise / float(np.sqrt(averaged)), 1e-6)


def local_clutter(departure: Picture, span: Picture, tile: float) -> Picture:
    """Robust standard deviation of a picture of departures near each pixel.

    From the median absolute value in tiles, over the even pixels only: those whose ring spans no more than
    is usual in the quieter part of the tile. Frames of modules, edges and their surroundings do not count.
    The median over 3 x 3 tiles, interpolated between them.
    """
    rows, columns = departure.shape
    step = min(max(int(tile), 8), rows, columns)
    tiles = spread_where_even(_tiles(np.abs(departure), step), _tiles(span, step)).astype(np.float32)
    pooled = cv2.medianBlur(tiles, 3) if min(tiles.shape) >= 3 else tiles
    return np.asarray(cv2.resize(pooled, (columns, rows), interpolation=cv2.INTER_LINEAR))


def _tiles(picture: Picture, step: int) -> Picture:
    """The pixels of each tile in a row, shape (down, across, step * step)."""
    down, across = (n // step for n in picture.shape)
    blocks = picture[: down * step, : across * step].reshape(down, step, across, step)
    return blocks.transpose(0, 2, 1, 3).reshape(down, across, step * step)


def spread_where_even(size: Picture, span: Picture) -> Picture:
    """Robust standard deviation along the last axis of sizes of departures, where the span is ordinary."""
    usual = np.quantile(span, QUIET, axis=-1, keepdims=True, method="lower")
    ordered = np.sort(np.where(span <= EVEN * usual, size, np.float32(np.inf)), axis=-1)
    middle = np.isfinite(ordered).sum(axis=-1, keepdims=True) // 2
    found = MAD * np.take_along_axis(ordered, middle, axis=-1)[..., 0]
    return np.where(np.isfinite(found), found, np.float32(0))


def _maxima(clear: Picture, least: float, radius: int) -> NDArray[np.int64]:
    """Rows and columns of local maxima of at least some height, shape (n, 2)."""
    size = 2 * radius + 1
    top = cv2.dilate(clear, np.ones((size, size), np.uint8))
    return np.argwhere((clear >= least) & (clear == top))


def alike(
    signed: Picture, departure: Picture, span: Picture, places: NDArray[np.int64], offsets: NDArray[np.int64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Level and clutter of the half of the directions around each place that are most like it.

    Half of the directions may lie beyond an edge without making a place beside it stand out, and what the
    other surface is like does not tell how even this one is.
    """
    row, column = np.moveaxis(places[:, None, :] + offsets, -1, 0)
    ring = signed[row, column]
    nearest = np.argsort(-ring, axis=1)[:, : DIRECTIONS // 2]
    level = np.median(np.take_along_axis(ring, nearest, axis=1), axis=1)
    reach = offsets[nearest][:, :, None, :] * np.array(FARTHER)[:, None]
    beyond = np.rint(places[:, None, None, :] + reach).astype(np.int64)
    beyond = beyond.reshape(len(places), nearest.shape[1] * len(FARTHER), 2)
    i, j = (np.clip(beyond[..., k], 0, n - 1) for k, n in enumerate(signed.shape))
    return np.asarray(level, np.float64), np.asarray(spread_where_even(np.abs(departure[i, j]), span[i, j]), np.float64)
