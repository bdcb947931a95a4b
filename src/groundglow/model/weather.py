"""Where the air model holds: one table of limits, checked by name."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.limits import require

__all__ = ["LIMITS", "Limit", "checked", "checked_scalar"]


class Limit(NamedTuple):
    """Lowest and highest value of a quantity, its unit, the reason and a hint."""

    low: float
    high: float
    unit: str
    why: str
    hint: str


_VALIDITY = "the air model was tested there"
_SHARE = Limit(0.0, 1.0, "", "a share", "Divide per cent by 100.")
#: Limits by the name of the parameter.
LIMITS = {
    "air_temperature": Limit(233.15, 328.15, "K", _VALIDITY, "Add 273.15 to degrees Celsius."),
    "relative_humidity": _SHARE,
    "pressure": Limit(50e3, 105e3, "Pa", _VALIDITY, "Multiply hectopascals by 100."),
    "distance": Limit(0.0, 5000.0, "m", _VALIDITY, "Give the slant distance in metres."),
    "visibility": Limit(50.0, np.inf, "m", "nothing is measured through thicker fog", "Multiply kilometres by 1000."),
    "cloud_fraction": _SHARE,
    "cloud_temperature": Limit(180.0, 330.0, "K", "clouds of the troposphere", "Add 273.15 to degrees Celsius."),
    "transmittance": _SHARE,
    "zenith": Limit(0.0, 0.5 * np.pi + 1e-9, "rad", "the ground, not sky, is below", "Convert degrees to radians."),
}


def checked(name: str, values: ArrayLike) -> NDArray[np.float64]:
    """Values as an array, after checking them against the limits of that name; NaN passes.

    Parameters
    ----------
    name : str
        A key of :data:`LIMITS`.
    values : array_like

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError
        Naming the first value outside.

    Examples
    --------
    >>> checked("relative_humidity", 50.0)
    Traceback (most recent call last):
    groundglow.errors.RangeError: relative_humidity out of range: relative_humidity is 50.0; allowed 0 to 1 \
(a share). Divide per cent by 100.
    """
    array, limit = np.asarray(values, dtype=np.float64), LIMITS[name]
    inside = (array >= limit.low) & (array <= limit.high)
    words = f"{limit.low:g} to {limit.high:g} {limit.unit}".strip()
    require(name, array, inside, unit=limit.unit, allowed=words, why=limit.why, hint=limit.hint)
    return array


def checked_scalar(name: str, value: float) -> float:
    """One value, after checking it against the limits of that name.

    Examples
    --------
    >>> checked_scalar("pressure", 101325)
    101325.0
    """
    return float(checked(name, value))
