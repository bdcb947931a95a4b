"""Compiled loops of finding. Their NumPy twins live in the tests."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["DIRECTIONS", "ring_offsets", "ring_statistics"]

DIRECTIONS = 12


def ring_offsets(radius: float) -> NDArray[np.int64]:
    """Row and column offsets of points every 30 degrees around a place, shape (12, 2)."""
    angle = np.arange(DIRECTIONS) * (2 * np.pi / DIRECTIONS)
    return np.rint(radius * np.stack([np.sin(angle), np.cos(angle)], axis=1)).astype(np.int64)


@njit(cache=True)
def ring_statistics(
    image: NDArray[np.float32], offsets: NDArray[np.int64], least: int
) -> tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float32]]:
    """Highest, lowest and median value over the offsets around each pixel.

    Offsets outside the frame are left out. Where fewer than ``least`` stay within it, highest and lowest
    are infinite: nothing can stand out there.
    """
    rows, columns = image.shape
    high = np.full((rows, columns), np.inf, dtype=np.float32)
    low = -high
    median = image.copy()
    ring = np.empty(offsets.shape[0], dtype=np.float32)
    for r in range(rows):
        for c in range(columns):
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
