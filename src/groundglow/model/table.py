"""Lookup table of one band: temperature to radiance, back, and the slope, fast on arrays.

Build it with :func:`groundglow.model.band.lookup`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

from groundglow.model.cubic import Cubic, cubic_at
from groundglow.model.response import Band

__all__ = ["TABLE_RANGE", "BandTable", "flat", "read_only"]

#: Temperatures that a table covers, K.
TABLE_RANGE = (150.0, 1500.0)


@njit(cache=True, nogil=True, error_model="numpy")
def _fill(
    cubic: tuple[Any, ...], x: NDArray[Any], value: NDArray[Any], slope: NDArray[Any]
) -> None:  # pragma: no cover - compiled
    coefficients, first, shift, low, high = cubic
    for i in range(x.size):
        argument = np.float64(x[i])
        if low <= argument <= high:
            value[i], slope[i] = cubic_at(coefficients, first, shift, argument)
        else:
            value[i] = slope[i] = np.nan


def flat(values: ArrayLike) -> NDArray[Any]:
    """Flat, contiguous, read-only view or copy: float32 where float32 was given, float64 otherwise.

    Read-only, so that a compiled kernel meets one type of array, whether or not the caller's is writable.

    Examples
    --------
    >>> flat([[1, 2], [3, 4]])
    array([1., 2., 3., 4.])
    """
    array = np.asarray(values)
    kind = np.float32 if array.dtype == np.float32 else np.float64
    return read_only(np.ascontiguousarray(array, dtype=kind).reshape(-1))


def read_only(array: NDArray[Any]) -> NDArray[Any]:
    """Read-only view of an array; the array itself stays as it is.

    Examples
    --------
    >>> read_only(np.zeros(2)).flags.writeable
    False
    """
    view = array.view()
    view.setflags(write=False)
    return view


def _apply(cubic: Cubic, values: ArrayLike) -> tuple[Any, Any]:
    x = flat(values)
    value, slope = np.empty(x.shape, x.dtype), np.empty(x.shape, x.dtype)
    _fill((cubic.coefficients, cubic.first, cubic.shift, cubic.low, cubic.high), x, value, slope)
    shape = np.shape(values)
    return value.reshape(shape)[()], slope.reshape(shape)[()]


@dataclass(frozen=True, eq=False)
class BandTable:
    """Band radiance of a black body as a table, 150 to 1500 K.

    Arrays of any shape, or scalars; float32 in gives float32 out, anything else float64. Outside the
    range the result is NaN.

    Attributes
    ----------
    band : Band
        The response.
    to_radiance, to_temperature : Cubic
        The two directions, each fitted to exact values and slopes.
    error : float
        Largest difference from the exact integral at the middles of all pieces, both directions, K.

    Examples
    --------
    >>> from groundglow.model.band import ideal_band, lookup
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> round(float(table.radiance(300.0)), 4), round(float(table.temperature(54.933461)), 4)
    (54.9335, 300.0)
    """

    band: Band
    to_radiance: Cubic
    to_temperature: Cubic
    error: float

    def radiance(self, temperature: ArrayLike) -> NDArray[Any]:
        """Band radiance, W m-2 sr-1, of a black body at a temperature, K."""
        return np.asarray(_apply(self.to_radiance, temperature)[0])[()]

    def temperature(self, radiance: ArrayLike) -> NDArray[Any]:
        """Temperature, K, of the black body with a band radiance, W m-2 sr-1."""
        return np.asarray(_apply(self.to_temperature, radiance)[0])[()]

    def slope(self, temperature: ArrayLike) -> NDArray[Any]:
        """Change of band radiance with temperature, W m-2 sr-1 K-1, at a temperature, K."""
        return np.asarray(_apply(self.to_radiance, temperature)[1])[()]
