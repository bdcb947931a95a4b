"""Checks of physical limits on arrays: how many values are wrong, where the first is, what to do."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import RangeError

__all__ = ["require", "require_temperature"]


def _place(wrong: NDArray[np.bool_]) -> str:
    if wrong.ndim == 0:
        return ""
    first = tuple(int(i) for i in np.argwhere(wrong)[0])
    return f"{int(wrong.sum())} of {wrong.size} values, the first at index {first}. "


def require(name: str, values: ArrayLike, within: ArrayLike, *, unit: str, allowed: str, why: str, hint: str) -> None:
    """Raise unless all finite values are within their limit; NaN passes, it means unknown.

    Parameters
    ----------
    name : str
        Name of the quantity.
    values : array_like
        The values.
    within : array_like of bool, same shape
        Where a value is allowed.
    unit, allowed, why, hint : str
        Parts of the message.

    Raises
    ------
    RangeError
        With the first wrong value, its index and the number of wrong values.

    Examples
    --------
    >>> require("emissivity", [0.9, 1.2], [True, False], unit="", allowed="0 to 1", why="a share", hint="")
    Traceback (most recent call last):
    groundglow.errors.RangeError: emissivity out of range: emissivity is 1.2; allowed 0 to 1 (a share). \
1 of 2 values, the first at index (1,).
    """
    array = np.asarray(values, dtype=float)
    wrong = ~(np.asarray(within) | np.isnan(array))
    if wrong.any():
        raise RangeError(name, float(array[wrong][0]), unit, allowed, why, _place(wrong) + hint)


def require_temperature(values: ArrayLike, name: str = "temperature") -> NDArray[np.float64]:
    """Temperatures as a float64 array, K, after checking that all are above absolute zero.

    Examples
    --------
    >>> require_temperature([293.15, 300.0]).tolist()
    [293.15, 300.0]
    """
    array = np.asarray(values, dtype=np.float64)
    require(
        name,
        array,
        (array > 0) & np.isfinite(array),
        unit="K",
        allowed="above 0 K",
        why="absolute temperature",
        hint="Add 273.15 to degrees Celsius.",
    )
    return array
