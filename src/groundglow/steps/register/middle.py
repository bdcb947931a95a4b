"""Middle scales of the fixed pattern: rings, streaks and stains too broad for a blur and too small for a polynomial.

Neighbours predict a frame where they overlap; what frames have more than their neighbours predict, always at the
same place in the picture, is pattern.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.steps.register.halves import Halves
from groundglow.steps.register.link import Link
from groundglow.steps.register.overlap import reduced_homography, warped_difference
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["Blocks", "refine_pattern"]

#: Block means of a frame by name, large-scale and fine pattern, level and slope removed.
Blocks = Callable[[str], NDArray[np.float32]]
#: Sweeps: each passes on what the one before took for the neighbours' ground.
SWEEPS = 3
#: Side of the window over which the scene's mismatch is judged, blocks.
CALM_WINDOW = 5
#: Mean square difference below which two frames count as equal.
LEAST_SQUARE = 1e-12


def refine_pattern(
    links: Sequence[Link], blocks: Blocks, shape: tuple[int, int], settings: RegisterSettings
) -> tuple[NDArray[np.float32], float]:
    """What is left of the fixed pattern on block means, and the standard deviation of its error.

    Parameters
    ----------
    links : sequence of Link
        Those that take part; at most ``settings.pattern_pairs`` are used, evenly spread.
    blocks : callable
        Block means of a frame with all that is known of pattern and level removed.
    shape : tuple of int
        Rows and columns of the block means.
    settings : RegisterSettings

    Returns
    -------
    pattern : ndarray float32, shape (rows, columns)
    standard_deviation : float
        From two estimates on alternate quarters of the flight.
    """
    chosen = [links[i] for i in _spread(len(links), settings.pattern_pairs)]
    pattern, error = np.zeros(shape, np.float32), 0.0
    for _ in range(SWEEPS):
        halves = Halves(shape, 2 * len(chosen))
        for number, link in enumerate(chosen):
            for side, difference in enumerate(_both_ways(link, blocks, pattern, settings)):
                halves.add(2 * number + side, *_weighed(difference))
        pattern, error = halves.agreed()
    return pattern, error


def _spread(count: int, most: int) -> NDArray[np.intp]:
    return np.unique(np.linspace(0, count - 1, min(count, most)).round().astype(np.intp))


def _both_ways(
    link: Link, blocks: Blocks, pattern: NDArray[np.float32], settings: RegisterSettings
) -> Iterator[NDArray[np.float32]]:
    """Both frames of a tie, each less what the other predicts."""
    there = np.array(link.tie.homography).reshape(3, 3)
    one, other = blocks(link.tie.a), blocks(link.tie.b)
    for a, b, homography in ((one, other, there), (other, one, np.linalg.inv(there))):
        reduced = reduced_homography(homography, settings.block_px)
        yield warped_difference(a, (b - pattern).astype(np.float32), reduced)


def _weighed(difference: NDArray[np.float32]) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """A difference with outliers clipped, and weights against places where the scene does not match."""
    known = np.isfinite(difference)
    value = np.where(known, difference, np.float32(0.0))
    if not known.any():
        return value, np.zeros(value.shape)
    square = cv2.blur(value * value, (CALM_WINDOW, CALM_WINDOW)).astype(np.float64)
    calm, usual = (float(x) for x in np.percentile(square[known], (20, 50)))
    limit = np.float32(4.0 * np.sqrt(usual))
    return np.clip(value, -limit, limit), np.where(known, 1.0 / (square + max(calm, LEAST_SQUARE)), 0.0)
