"""Water vapour in air: saturation, density, dew point.

Over liquid water throughout, also below 0 degrees Celsius: weather stations and relative humidity refer to
(supercooled) water, not to ice (WMO-No. 8, Guide to Instruments and Methods of Observation, annex 4.B).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.limits import require, require_temperature
from groundglow.model.weather import checked

__all__ = [
    "VAPOUR_GAS_CONSTANT",
    "dew_point",
    "relative_humidity_from_dew_point",
    "saturation_vapour_pressure",
    "vapour_pressure",
    "water_vapour_density",
]

Floats = NDArray[np.float64]

#: Specific gas constant of water vapour, J kg-1 K-1: 8.314462618 J mol-1 K-1 over 18.015268 g/mol.
VAPOUR_GAS_CONSTANT = 8.314462618 / 0.018015268
#: Validity of the saturation formula over supercooled and warm water, K.
COLDEST, WARMEST = 123.0, 332.0
_DEW_POINT_STEPS = 6


def _water_temperature(values: ArrayLike, name: str) -> Floats:
    kelvin = require_temperature(values, name)
    require(
        name,
        kelvin,
        (kelvin > COLDEST) & (kelvin < WARMEST),
        unit="K",
        allowed=f"{COLDEST:.0f} to {WARMEST:.0f} K",
        why="validity of the saturation formula",
        hint="Add 273.15 to degrees Celsius.",
    )
    return kelvin


def saturation_vapour_pressure(temperature: ArrayLike) -> Floats:
    """Saturation vapour pressure over plane liquid (or supercooled) water, Pa.

    Parameters
    ----------
    temperature : array_like
        Temperature, K, 123 to 332.

    Returns
    -------
    ndarray
        Pressure, Pa.

    Raises
    ------
    RangeError
        Outside the formula's validity.

    See Also
    --------
    dew_point : the inverse.

    Notes
    -----
    Pure vapour; in air at 1 atm the true value is some 0.4 % higher (enhancement factor, not applied).
    Within 0.06 % of IAPWS-95 over 0.01-50 degrees Celsius.

    References
    ----------
    D. M. Murphy and T. Koop, Q. J. R. Meteorol. Soc. 131 (2005) 1539, equation 10, doi:10.1256/qj.04.94
    (coefficients from memory, held by test against IAPWS-95 and Goff-Gratch values).

    Examples
    --------
    >>> float(saturation_vapour_pressure(293.15).round(0))
    2339.0
    """
    return _saturation(_water_temperature(temperature, "temperature"))


def _saturation(kelvin: Floats) -> Floats:
    logarithm = np.log(kelvin)
    warm = 54.842763 - 6763.22 / kelvin - 4.210 * logarithm + 0.000367 * kelvin
    cold = 53.878 - 1331.22 / kelvin - 9.44523 * logarithm + 0.014025 * kelvin
    return np.asarray(np.exp(warm + np.tanh(0.0415 * (kelvin - 218.8)) * cold))


def vapour_pressure(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Partial pressure of water vapour, Pa: relative humidity times saturation over water.

    Parameters
    ----------
    temperature : array_like
        Air temperature, K.
    relative_humidity : array_like
        0..1 over water, broadcast against ``temperature``.

    Returns
    -------
    ndarray

    Notes
    -----
    Definition of relative humidity, WMO-No. 8, annex 4.B.

    Examples
    --------
    >>> float(vapour_pressure(293.15, 0.5).round(0))
    1170.0
    """
    return np.asarray(checked("relative_humidity", relative_humidity) * saturation_vapour_pressure(temperature))


def water_vapour_density(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Mass of water vapour in a volume of air (absolute humidity), kg/m3.

    Parameters
    ----------
    temperature : array_like
        Air temperature, K.
    relative_humidity : array_like
        0..1 over water.

    Returns
    -------
    ndarray

    Notes
    -----
    Ideal gas: e / (R_v T). In g/m3 it equals the millimetres of precipitable water in 1 km of such air.

    Examples
    --------
    >>> float((1e3 * water_vapour_density(303.15, 0.8)).round(1))
    24.3
    """
    kelvin = require_temperature(temperature)
    return np.asarray(vapour_pressure(kelvin, relative_humidity) / (VAPOUR_GAS_CONSTANT * kelvin))


def dew_point(temperature: ArrayLike, relative_humidity: ArrayLike) -> Floats:
    """Dew point over (supercooled) water, K.

    Parameters
    ----------
    temperature : array_like
        Air temperature, K.
    relative_humidity : array_like
        0..1; NaN is returned for 0.

    Returns
    -------
    ndarray

    See Also
    --------
    relative_humidity_from_dew_point : the inverse.

    Notes
    -----
    Saturation at the dew point equals the vapour pressure; solved by Newton's method in ln e.

    Examples
    --------
    >>> float((dew_point(293.15, 0.5) - 273.15).round(2))
    9.27
    """
    pressure = vapour_pressure(temperature, relative_humidity)
    wanted = np.log(np.where(pressure > 0, pressure, np.nan))
    inverse = 1 / 273.15 - (wanted - np.log(611.2)) / 5423.0  # Clausius-Clapeyron start
    kelvin = np.maximum(1.0 / inverse, COLDEST)
    for _ in range(_DEW_POINT_STEPS):
        kelvin = kelvin + (wanted - np.log(_saturation(kelvin))) * kelvin**2 / 5423.0
    return np.asarray(kelvin)


def relative_humidity_from_dew_point(temperature: ArrayLike, dew_point_temperature: ArrayLike) -> Floats:
    """Relative humidity over water from air temperature and dew point, 0..1 (above 1: supersaturated).

    Parameters
    ----------
    temperature, dew_point_temperature : array_like
        K, broadcast.

    Returns
    -------
    ndarray

    See Also
    --------
    dew_point : the inverse.

    Notes
    -----
    Definition of the dew point, WMO-No. 8, annex 4.B.

    Examples
    --------
    >>> float(relative_humidity_from_dew_point(293.15, 282.42).round(2))
    0.5
    """
    dew = _water_temperature(dew_point_temperature, "dew_point_temperature")
    return np.asarray(_saturation(dew) / saturation_vapour_pressure(temperature))
