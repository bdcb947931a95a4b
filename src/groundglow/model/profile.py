"""The air above a place, guessed from the weather at the ground with climatological rules.

References
----------
Vapour: A. J. Prata, Q. J. R. Meteorol. Soc. 122 (1996) 1127 (column 46.5 e/T cm hPa-1 K, that is a scale height of
2.15 km). Ozone: A. A. Lacis and J. E. Hansen, J. Atmos. Sci. 31 (1974) 118 (from memory). Temperature: a mean lapse
of 5.5 K/km, less in the lowest 2 km of cold air, where inversions are common (our choice, see docs/air.md).
Cloud base: M. G. Lawrence, Bull. Am. Meteorol. Soc. 86 (2005) 225, doi:10.1175/BAMS-86-2-225 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.model.absorption import STANDARD_PRESSURE, STANDARD_TEMPERATURE
from groundglow.model.humidity import dew_point, vapour_pressure
from groundglow.model.weather import checked_scalar

__all__ = ["Profile", "cloud_base", "profile", "slant_lengths"]

Floats = NDArray[np.float64]

#: Heights of the layer boundaries, m.
LEVELS = 1e3 * np.array(
    [0, 0.1, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 7, 8, 10, 12, 14, 17, 20, 23, 26, 30, 36, 50.0]
)
#: Fall of temperature with height, K/m, and the temperature it does not pass, K.
LAPSE, STRATOSPHERE = 5.5e-3, 215.0
#: Below this height, m, cold air has less lapse: none at 265 K and below, all from 280 K.
LOW_LAYER, ISOTHERMAL, MIXED = 2000.0, 265.0, 280.0
#: Height over which water vapour falls to 1/e, m.
VAPOUR_HEIGHT = 2150.0
#: Ozone: column m of gas, height of its peak m, width m, mole fraction near the ground.
OZONE_COLUMN, OZONE_PEAK, OZONE_WIDTH, OZONE_GROUND = 0.34e-2, 20e3, 5e3, 30e-9
#: Earth's radius, m, enlarged for refraction (7/6, usual in surveying; common practice, no source).
RADIUS = 6371e3 * 7.0 / 6.0
#: Specific gas constant of dry air, J kg-1 K-1, over standard gravity, m s-2.
SCALE_PER_KELVIN = 287.05 / 9.80665
#: Height of a convective cloud base per kelvin of dew-point depression, m/K.
BASE_PER_KELVIN = 125.0
_HIGHEST_CLOUD = 12e3


@dataclass(frozen=True)
class Profile:
    """Layers of air above the ground, lowest first.

    Attributes
    ----------
    temperature, vapour, pressure, ozone : ndarray, shape (L,)
        Mean of each layer: K, Pa, Pa, mole fraction.
    levels : ndarray, shape (L + 1,)
        Heights of the boundaries, m.
    """

    temperature: Floats
    vapour: Floats
    pressure: Floats
    ozone: Floats
    levels: Floats


def temperature_above(height: Floats, air_temperature: float) -> Floats:
    """Air temperature at heights above the ground, K.

    Examples
    --------
    >>> float(temperature_above(np.array(3000.0), 290.0))
    273.5
    """
    low = LAPSE * np.clip((air_temperature - ISOTHERMAL) / (MIXED - ISOTHERMAL), 0.0, 1.0)
    fall = low * np.minimum(height, LOW_LAYER) + LAPSE * np.maximum(height - LOW_LAYER, 0.0)
    return np.asarray(np.maximum(air_temperature - fall, min(STRATOSPHERE, air_temperature)))


def profile(air_temperature: float, relative_humidity: float, pressure: float = STANDARD_PRESSURE) -> Profile:
    """Air above a place with this weather at the ground.

    Parameters
    ----------
    air_temperature, relative_humidity, pressure : float
        At the ground: K, 0..1 over water, Pa.

    Returns
    -------
    Profile

    Raises
    ------
    RangeError
        Outside 233.15-328.15 K, 0-1, 50-105 kPa.

    Examples
    --------
    >>> layers = profile(288.15, 0.5)
    >>> column = layers.vapour / (461.5 * layers.temperature) * np.diff(layers.levels)
    >>> float(column.sum().round(1))  # precipitable water, mm
    13.8
    """
    ground = checked_scalar("air_temperature", air_temperature)
    pascal = checked_scalar("pressure", pressure)
    steps = np.diff(LEVELS)
    temperature = temperature_above(0.5 * (LEVELS[1:] + LEVELS[:-1]), ground)
    fall = steps / (SCALE_PER_KELVIN * temperature)
    lower = pascal * np.exp(-np.concatenate([[0.0], np.cumsum(fall)[:-1]]))
    mean_pressure = lower * -np.expm1(-fall) / fall
    falling = np.exp(-LEVELS / VAPOUR_HEIGHT)
    density_ratio = VAPOUR_HEIGHT * -np.diff(falling) / steps
    vapour = float(vapour_pressure(ground, relative_humidity)) * density_ratio * temperature / ground
    return Profile(temperature, vapour, mean_pressure, _ozone(mean_pressure, temperature), LEVELS)


def _ozone(pressure: Floats, temperature: Floats) -> Floats:
    """Mole fraction of ozone in each layer."""
    below = 1.0 / (1.0 + np.exp((OZONE_PEAK - LEVELS) / OZONE_WIDTH))
    metres = OZONE_COLUMN * (1.0 + np.exp(-OZONE_PEAK / OZONE_WIDTH)) * np.diff(below)
    air = pressure / STANDARD_PRESSURE * STANDARD_TEMPERATURE / temperature * np.diff(LEVELS)
    return np.asarray(np.maximum(metres / air, OZONE_GROUND))


def slant_lengths(layers: Profile, zenith: float, top: float = np.inf) -> Floats:
    """Length of a ray from the ground in each layer, m, below a height.

    Notes
    -----
    Straight ray over a sphere of enlarged radius.

    Examples
    --------
    >>> float(slant_lengths(profile(288.15, 0.5), np.radians(60.0))[0].round(0))
    200.0
    """
    reach = RADIUS + np.minimum(layers.levels, top)
    return np.diff(np.sqrt(np.maximum(reach**2 - (RADIUS * np.sin(zenith)) ** 2, 0.0)))


def cloud_base(
    air_temperature: float, relative_humidity: float, cloud_temperature: float | None
) -> tuple[float, float]:
    """Height, m, and temperature, K, of the cloud base; without a temperature, of low convective cloud.

    Examples
    --------
    >>> height, kelvin = cloud_base(293.15, 0.5, None)
    >>> round(height), round(kelvin, 1)
    (1341, 285.8)
    """
    heights = np.linspace(0.0, _HIGHEST_CLOUD, 481)
    above = temperature_above(heights, air_temperature)
    if cloud_temperature is None:
        depression = air_temperature - float(dew_point(air_temperature, max(relative_humidity, 0.01)))
        base = min(BASE_PER_KELVIN * depression, _HIGHEST_CLOUD)
        return base, float(np.interp(base, heights, above))
    kelvin = checked_scalar("cloud_temperature", cloud_temperature)
    return float(heights[np.argmax(above <= kelvin)] if (above <= kelvin).any() else _HIGHEST_CLOUD), kelvin
