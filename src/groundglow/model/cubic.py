"""Fast one-variable function: cubic pieces whose place follows from the bits of a float.

The nodes are the floats whose lower bits are zero: ``2**refine`` equal steps between one power of two
and the next. The step is thus a nearly constant share of the value, and finding the piece needs a shift
instead of a logarithm. Each piece is the cubic Hermite polynomial of the exact values and slopes at its
two nodes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["Cubic", "cubic_at", "fit_cubic", "midpoints"]

#: Bits of a 32-bit float's fraction.
FRACTION_BITS = 23

Function = Callable[[NDArray[np.float64]], tuple[NDArray[np.float64], NDArray[np.float64]]]


@dataclass(frozen=True, eq=False)
class Cubic:
    """Piecewise cubic function of a positive number.

    Parameters
    ----------
    coefficients : ndarray, shape (pieces, 4)
        Polynomial of the distance from the piece's lower node, constant first.
    first : int
        Bit pattern of the first node, shifted.
    shift : int
        Bits dropped to find the piece.
    low, high : float
        Range of the argument; outside the function is NaN.
    """

    coefficients: NDArray[np.float64]
    first: int
    shift: int
    low: float
    high: float


def _cells(low: float, high: float, shift: int) -> NDArray[np.int32]:
    ends = np.array([low, high], dtype=np.float32).view(np.int32) >> shift
    return np.arange(ends[0], ends[1] + 2, dtype=np.int32)


def _nodes(cells: NDArray[np.int32], shift: int) -> NDArray[np.float64]:
    return (cells << np.int32(shift)).view(np.float32).astype(np.float64)


def _hermite(x: NDArray[np.float64], y: NDArray[np.float64], slope: NDArray[np.float64]) -> NDArray[np.float64]:
    step = np.diff(x)
    secant = np.diff(y) / step
    second = (3 * secant - 2 * slope[:-1] - slope[1:]) / step
    third = (slope[:-1] + slope[1:] - 2 * secant) / step**2
    return np.ascontiguousarray(np.stack([y[:-1], slope[:-1], second, third], axis=1))


def fit_cubic(function: Function, low: float, high: float, refine: int) -> Cubic:
    """Piecewise cubic through the exact values and slopes of a function of a positive number.

    Parameters
    ----------
    function : callable
        Array of arguments -> (values, slopes).
    low, high : float
        Range, both positive and normal 32-bit floats.
    refine : int
        ``2**refine`` pieces an octave.

    Returns
    -------
    Cubic

    Notes
    -----
    The error of a piece of width h is at most h^4/384 max|f''''| (P. M. Prenter, Splines and Variational
    Methods, 1975, theorem on cubic Hermite interpolation; citation from memory).

    Examples
    --------
    >>> root = fit_cubic(lambda x: (np.sqrt(x), 0.5 / np.sqrt(x)), 1.0, 100.0, 5)
    >>> value, slope = cubic_at(root.coefficients, root.first, root.shift, 49.5)
    >>> bool(abs(value - 49.5**0.5) < 1e-8)
    True
    """
    shift = FRACTION_BITS - refine
    cells = _cells(low, high, shift)
    x = _nodes(cells, shift)
    return Cubic(_hermite(x, *function(x)), int(cells[0]), shift, low, high)


def midpoints(cubic: Cubic) -> NDArray[np.float64]:
    """Middle of each piece, where a cubic Hermite polynomial is farthest from a smooth function.

    Examples
    --------
    >>> line = fit_cubic(lambda x: (x, np.ones_like(x)), 1.0, 1.5, 1)
    >>> midpoints(line).tolist()
    [1.25, 1.75]
    """
    cells = np.arange(cubic.first, cubic.first + len(cubic.coefficients) + 1, dtype=np.int32)
    x = _nodes(cells, cubic.shift)
    return np.asarray(0.5 * (x[:-1] + x[1:]))


@njit(cache=True, nogil=True, error_model="numpy", inline="always")
def cubic_at(
    coefficients: NDArray[np.float64], first: int, shift: int, x: float
) -> tuple[float, float]:  # pragma: no cover - compiled; its NumPy twin is in the tests
    """Value and slope of a piecewise cubic at one argument inside its range (not checked).

    Examples
    --------
    >>> line = fit_cubic(lambda x: (2 * x, np.full_like(x, 2.0)), 1.0, 2.0, 3)
    >>> cubic_at(line.coefficients, line.first, line.shift, 1.7)
    (3.4, 2.0)
    """
    cell = np.float32(x).view(np.int32) >> shift
    t = x - np.float64(np.int32(cell << shift).view(np.float32))
    k = cell - first
    c1, c2, c3 = coefficients[k, 1], coefficients[k, 2], coefficients[k, 3]
    value = coefficients[k, 0] + t * (c1 + t * (c2 + t * c3))
    slope = c1 + t * (2.0 * c2 + t * 3.0 * c3)
    return value, slope
