"""The measurement equation solved for the surface, fused: temperature and sensitivities in one pass.

Works through the pixels in blocks that stay in the processor's first cache. Within a block each stage is
a loop over one work array without branches, so that the compiler uses vector instructions; only fetching
the table's coefficients goes pixel by pixel. 32-bit input is computed in 32 bits, 64-bit input in 64.

The rows of the work array are named by the constants below. A NumPy twin of the kernel is in the tests.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["INPUTS", "OUTPUTS", "invert"]

#: Pixels a block.
BLOCK = 256
#: Order of the inputs and rows of the work array that hold them.
INPUTS = (
    "radiance",
    "emissivity",
    "reflected_radiance",
    "transmittance",
    "path_radiance",
    "window_transmittance",
    "window_radiance",
)
#: Rows of the result.
OUTPUTS = ("temperature", "radiance", "emissivity", "reflected_radiance", "transmittance", "path_radiance")

L, EPS, MIRROR, TAU, PATH, TAU_W, WINDOW, GAIN, SURFACE, OFFSET = (BLOCK * row for row in range(10))
WORK = BLOCK * 10

_compiled = njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract"})


@_compiled
def _load(part: NDArray[Any], work: NDArray[Any], row: int) -> None:  # pragma: no cover - compiled
    into = work[row : row + BLOCK]
    for j in range(part.size):
        into[j] = part[j]


@_compiled
def _any_wrong(work: NDArray[Any], zero: Any, one: Any) -> bool:  # pragma: no cover - compiled
    """Whether an emissivity is outside 0..1 (NaN is not wrong, it is unknown)."""
    wrong = False
    for j in range(BLOCK):
        eps = work[EPS + j]
        wrong |= (eps > one) | (eps < zero)
    return wrong


@_compiled
def _surface_radiance(
    work: NDArray[Any], cell: NDArray[Any], one: Any, place: tuple[Any, ...]
) -> None:  # pragma: no cover - compiled
    """Black-body radiance of the surface, its gain dB/dL, and its place in the table."""
    first, shift, low, high = place
    for j in range(BLOCK):
        eps = work[EPS + j]
        through = work[TAU + j] * work[TAU_W + j]
        gain = one / (eps * through)
        own = work[L + j] - work[WINDOW + j] - work[TAU_W + j] * work[PATH + j]
        x = (own - through * (one - eps) * work[MIRROR + j]) * gain
        work[GAIN + j] = gain
        work[SURFACE + j] = x
        x = x if x > low else low
        x = x if x < high else high
        found = np.int32(np.float32(x).view(np.int32) >> shift)
        cell[j] = np.int32(found - first)
        work[OFFSET + j] = x - np.int32(found << shift).view(np.float32)


@_compiled
def _fetch(coefficients: NDArray[Any], cell: NDArray[Any], piece: NDArray[Any]) -> None:  # pragma: no cover - compiled
    """Coefficients of each pixel's piece, in two rows of pairs: wide loads and stores (unsigned: no negative index)."""
    for j in range(BLOCK):
        k = np.uint32(cell[j]) * np.uint32(4)
        u = np.uint32(j) * np.uint32(2)
        v = u + np.uint32(2 * BLOCK)
        c0, c1 = coefficients[k], coefficients[k + np.uint32(1)]
        c2, c3 = coefficients[k + np.uint32(2)], coefficients[k + np.uint32(3)]
        piece[u], piece[u + np.uint32(1)] = c0, c1
        piece[v], piece[v + np.uint32(1)] = c2, c3


@_compiled
def _temperature(
    work: NDArray[Any], piece: NDArray[Any], result: NDArray[Any], limits: tuple[Any, ...]
) -> None:  # pragma: no cover - compiled
    low, high, nan = limits
    for j in range(BLOCK):
        x, t = work[SURFACE + j], work[OFFSET + j]
        inside = (x >= low) & (x <= high)
        c2, c3 = piece[2 * BLOCK + 2 * j], piece[2 * BLOCK + 2 * j + 1]
        kelvin = piece[2 * j] + t * (piece[2 * j + 1] + t * (c2 + t * c3))
        result[j] = kelvin if inside else nan


@_compiled
def _all(
    work: NDArray[Any], piece: NDArray[Any], result: NDArray[Any], limits: tuple[Any, ...]
) -> None:  # pragma: no cover - compiled
    """Temperature and the five sensitivities of a block."""
    low, high, nan = limits
    one, two, three = work.dtype.type(1.0), work.dtype.type(2.0), work.dtype.type(3.0)
    for j in range(BLOCK):
        x, t, eps, mirror = work[SURFACE + j], work[OFFSET + j], work[EPS + j], work[MIRROR + j]
        inside = (x >= low) & (x <= high)
        c1, c2, c3 = piece[2 * j + 1], piece[2 * BLOCK + 2 * j], piece[2 * BLOCK + 2 * j + 1]
        kelvin = piece[2 * j] + t * (c1 + t * (c2 + t * c3))
        slope = c1 + t * (two * c2 + t * three * c3)
        result[j] = kelvin if inside else nan
        by_radiance = (slope if inside else nan) * work[GAIN + j]
        after_window = by_radiance * work[TAU_W + j]
        after_air = after_window * work[TAU + j]
        result[BLOCK + j] = by_radiance
        result[2 * BLOCK + j] = (mirror - x) * after_air
        result[3 * BLOCK + j] = (eps - one) * after_air
        result[4 * BLOCK + j] = -(eps * x + (one - eps) * mirror) * after_window
        result[5 * BLOCK + j] = -after_window


@_compiled
def _store(result: NDArray[Any], row: int, out: NDArray[Any]) -> None:  # pragma: no cover - compiled
    source = result[row : row + out.size]
    for j in range(out.size):
        out[j] = source[j]


@_compiled
def invert(
    table: tuple[Any, ...], inputs: tuple[NDArray[Any], ...], out: NDArray[Any]
) -> bool:  # pragma: no cover - compiled
    """Solve the measurement equation for all pixels; returns whether an emissivity is outside 0..1.

    Parameters
    ----------
    table : (coefficients, first, shift, low, high)
        Of a :class:`groundglow.model.cubic.Cubic`, coefficients flat and of the result's type.
    inputs : seven flat arrays
        In the order of ``INPUTS``, each with one value for all or one a pixel, of the result's type.
    out : ndarray, shape (1 or 6, pixels)
        Filled in the order of ``OUTPUTS``; NaN where the surface's radiance is outside the table.

    Notes
    -----
    A surface with emissivity 0 gives an infinite gain and thus NaN.

    Examples
    --------
    >>> from groundglow.model.band import ideal_band, lookup
    >>> from groundglow.model.table import read_only
    >>> cubic = lookup(ideal_band(8e-6, 14e-6)).to_temperature
    >>> out = np.empty((1, 1))
    >>> values = [54.933461, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0]
    >>> table = (cubic.coefficients.ravel(), cubic.first, cubic.shift, cubic.low, cubic.high)
    >>> invert(table, tuple(read_only(np.array([v])) for v in values), out), round(float(out[0, 0]), 5)
    (False, 300.0)
    """
    coefficients, first, shift, lowest, highest = table
    kind = out.dtype.type
    zero, one, low, high = kind(0.0), kind(1.0), kind(lowest), kind(highest)
    place, limits = (np.int32(first), np.int32(shift), low, high), (low, high, kind(np.nan))
    work, result = np.ones(WORK, out.dtype), np.empty(6 * BLOCK, out.dtype)
    piece, cell = np.empty(4 * BLOCK, out.dtype), np.empty(BLOCK, np.int32)
    for i in range(7):
        if inputs[i].size == 1:
            work[i * BLOCK : (i + 1) * BLOCK] = inputs[i][0]
    wrong = False
    for start in range(0, out.shape[1], BLOCK):
        end = min(start + BLOCK, out.shape[1])
        for i in range(7):
            if inputs[i].size > 1:
                _load(inputs[i][start:end], work, i * BLOCK)
        wrong |= _any_wrong(work, zero, one)
        _surface_radiance(work, cell, one, place)
        _fetch(coefficients, cell, piece)
        if out.shape[0] == 1:
            _temperature(work, piece, result, limits)
        else:
            _all(work, piece, result, limits)
        for row in range(out.shape[0]):
            _store(result, row * BLOCK, out[row][start:end])
    return wrong
