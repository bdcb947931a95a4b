"""A mean image taken as two halves, so that what is stable can be told from what merely averaged to something."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Halves"]

#: Fewer images than this say nothing of what is stable.
LEAST_IMAGES = 4


class Halves:
    """Running weighted means over alternate quarters of a sequence of images.

    Parameters
    ----------
    shape : tuple of int
        Of the images.
    count : int
        How many images there will be.

    Examples
    --------
    >>> halves = Halves((1, 2), 8)
    >>> for number in range(8):
    ...     halves.add(number, np.array([[3.0, -3.0]]), np.ones((1, 2)))
    >>> halves.agreed()
    (array([[ 3., -3.]], dtype=float32), 0.0)
    """

    def __init__(self, shape: tuple[int, ...], count: int) -> None:
        self.shape = shape
        self.count = count
        self._sums, self._weights = np.zeros((2, *shape)), np.zeros((2, *shape))

    def add(self, number: int, values: ArrayLike, weight: ArrayLike) -> None:
        """Take in an image: the ``number``-th of the sequence, with a weight a pixel."""
        half = (4 * number // self.count) % 2
        self._sums[half] += np.asarray(weight) * np.asarray(values)
        self._weights[half] += weight

    def agreed(self) -> tuple[NDArray[np.float32], float]:
        """The mean of all, and the standard deviation of its error.

        The mean is shrunk by the share of its variance on which the halves agree, so that a flight without a
        pattern gets none. Fewer than four images give zeros.
        """
        if self.count < LEAST_IMAGES:
            return np.zeros(self.shape, dtype=np.float32), 0.0
        tiny = np.finfo(float).tiny
        one, other = self._sums / np.maximum(self._weights, tiny)
        mean = self._sums.sum(axis=0) / np.maximum(self._weights.sum(axis=0), tiny)
        seen = np.all(self._weights > 0, axis=0)
        if not seen.any():
            return np.zeros(self.shape, dtype=np.float32), 0.0
        agreed = float(np.mean((one * other)[seen]))
        share = float(np.clip(agreed / max(float(np.mean(mean[seen] ** 2)), tiny), 0.0, 1.0))
        error = 0.5 * 1.4826 * float(np.median(np.abs(one - other)[seen]))
        return (share * mean).astype(np.float32), float(np.sqrt(share)) * error
