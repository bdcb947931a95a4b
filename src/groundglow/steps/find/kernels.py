"""Compiled loops of finding. Their NumPy twins live in the tests."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["DIRECTIONS", "MAD", "like_spread", "ring_offsets", "ring_statistics"]

DIRECTIONS = 12
#: 1.4826 median absolute deviations are one standard deviation of a normal variable.
MAD = 1.4826
#: Pixels from which a spread is told.
LEAST_ALIKE = 8


def ring_offsets(radius: float) -> NDArray[np.int64]:
    """Row and column offsets of points every 30 degrees around a place, shape (12, 2)."""
    angle = np.arange(DIRECTIONS) * (2 * np.pi / DIRECTIONS)
    return np.rint(radius * np.stack([np.sin(angle), np.cos(angle)], axis=1)).astype(np.int64)


def _sorting_steps(count: int) -> NDArray[np.int64]:
    """Pairs to put in order, one after another, that sort any ``count`` values: Batcher's odd-even mergesort.

    K. E. Batcher, Sorting networks and their applications, AFIPS 1968. Values missing to the next power of two
    count as greatest, so their pairs fall away.
    """
    size = 1 << (count - 1).bit_length()
    pairs = []
    p = 1
    while p < size:
        k = p
        while k >= 1:
            pairs += [
                (i + j, i + j + k)
                for j in range(k % p, size - k, 2 * k)
                for i in range(min(k, size - j - k))
                if (i + j) // (2 * p) == (i + j + k) // (2 * p)
            ]
            k //= 2
        p *= 2
    return np.array([pair for pair in pairs if pair[1] < count], dtype=np.int64)


_STEPS = _sorting_steps(DIRECTIONS)


def ring_statistics(
    image: NDArray[np.float32], offsets: NDArray[np.int64], least: int
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
    """Highest, lowest and median value over the offsets around each pixel.

    Offsets outside the frame are left out. Where fewer than ``least`` stay within it, highest and lowest
    are infinite: nothing can stand out there.

    Parameters
    ----------
    image : ndarray float32, shape (rows, columns)
    offsets : ndarray of int, shape (DIRECTIONS, 2)
    least : int

    Returns
    -------
    high, low, median : ndarray float32, shape (rows, columns)
    """
    reach = int(np.abs(offsets).max())
    high, low, median = _near_border(image, offsets, least, reach)
    if min(image.shape) > 2 * reach:
        _within(image, offsets, _STEPS, reach, (high, low, median))
    return high, low, median


@njit(cache=True)
def _put_in_order(one: NDArray[np.float32], other: NDArray[np.float32]) -> None:
    """The lower of each two values into ``one``; apart from the caller, so that it is compiled to vector code."""
    for c in range(one.size):
        a, b = one[c], other[c]
        one[c] = a if a < b else b
        other[c] = b if a < b else a


@njit(cache=True)
def _within(
    image: NDArray[np.float32],
    offsets: NDArray[np.int64],
    steps: NDArray[np.int64],
    reach: int,
    out: tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]],
) -> None:
    """The part whose offsets all lie in the frame, a row at a time, sorted by comparisons without branches."""
    high, low, median = out
    rows, columns = image.shape
    count, width = offsets.shape[0], columns - 2 * reach
    ring = np.empty((count, width), dtype=np.float32)
    for r in range(reach, rows - reach):
        for k in range(count):
            start = reach + offsets[k, 1]
            ring[k] = image[r + offsets[k, 0], start : start + width]
        for s in range(steps.shape[0]):
            _put_in_order(ring[steps[s, 0]], ring[steps[s, 1]])
        for c in range(width):
            high[r, reach + c] = ring[count - 1, c]
            low[r, reach + c] = ring[0, c]
            median[r, reach + c] = np.float32(0.5) * (ring[(count - 1) // 2, c] + ring[count // 2, c])


@njit(cache=True)
def _near_border(
    image: NDArray[np.float32], offsets: NDArray[np.int64], least: int, reach: int
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
    """The strip along the border, where some offsets leave the frame."""
    rows, columns = image.shape
    high = np.full((rows, columns), np.inf, dtype=np.float32)
    low = -high
    median = image.copy()
    ring = np.empty(offsets.shape[0], dtype=np.float32)
    for r in range(rows):
        for c in range(columns):
            if reach <= r < rows - reach and reach <= c < columns - reach:
                continue
            count = 0
            for k in range(offsets.shape[0]):
                i, j = r + offsets[k, 0], c + offsets[k, 1]
                if 0 <= i < rows and 0 <= j < columns:
                    value = image[i, j]
                    at = count
                    while at > 0 and ring[at - 1] > value:  # insertion: a dozen values at most
                        ring[at] = ring[at - 1]
                        at -= 1
                    ring[at] = value
                    count += 1
            if count > 0:
                median[r, c] = 0.5 * (ring[(count - 1) // 2] + ring[count // 2])
            if count >= least:
                high[r, c] = ring[count - 1]
                low[r, c] = ring[0]
    return high, low, median


@njit(cache=True)
def like_spread(
    departure: NDArray[np.float32],
    level: NDArray[np.float32],
    places: NDArray[np.int64],
    reach: int,
    step: int,
    share: float,
) -> NDArray[np.float32]:
    """Robust standard deviation of the departures near each place, over those whose level is most like its own.

    Parameters
    ----------
    departure, level : ndarray float32, shape (rows, columns)
    places : ndarray of int, shape (n, 2)
    reach, step : int
        Pixels within ``reach`` in rows and columns are looked at, every ``step``.
    share : float
        Part of them that counts: those of the nearest level.

    Returns
    -------
    ndarray float32, shape (n,)
        Median absolute deviation from the median, as standard deviation of a normal variable; infinite where
        fewer than 8 pixels lie within reach.
    """
    rows, columns = departure.shape
    across = 2 * (reach // step) + 1
    away = np.empty(across * across, dtype=np.float32)
    found = np.empty(across * across, dtype=np.float32)
    out = np.empty(places.shape[0], dtype=np.float32)
    for k in range(places.shape[0]):
        i, j = places[k, 0], places[k, 1]
        n = 0
        for r in range(i - (reach // step) * step, i + reach + 1, step):
            for c in range(j - (reach // step) * step, j + reach + 1, step):
                if 0 <= r < rows and 0 <= c < columns and not (r == i and c == j):
                    off = abs(level[r, c] - level[i, j])
                    if off < np.inf:
                        away[n], found[n] = off, departure[r, c]
                        n += 1
        if n < LEAST_ALIKE:
            out[k] = np.inf
            continue
        some = found[:n][np.argsort(away[:n])[: max(int(share * n), LEAST_ALIKE)]]
        middle = np.median(some)
        out[k] = np.float32(MAD) * np.median(np.abs(some - middle))
    return out
