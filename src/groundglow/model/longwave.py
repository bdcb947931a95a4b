"""Total longwave radiation of the sky (3.5-200 um) on level ground: for energy balances only.

Not for what a camera sees reflected: in 8-14 um a clear sky is 20 to 40 K colder than this flux tells. For that
see :mod:`groundglow.model.sky`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.humidity import vapour_pressure
from groundglow.model.planck import black_body_exitance
from groundglow.model.weather import checked

__all__ = ["FLUX_SD", "sky_longwave_flux"]

#: Standard uncertainty of the clear-sky flux, W/m2 (our choice; six reference atmospheres: 7).
FLUX_SD = 12.0


def sky_longwave_flux(
    air_temperature: ArrayLike, relative_humidity: ArrayLike, *, cloud_fraction: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Downwelling longwave flux of the sky on level ground, W/m2, all wavelengths.

    Parameters
    ----------
    air_temperature : array_like
        At the ground, K.
    relative_humidity : array_like
        0..1 over water.
    cloud_fraction : array_like
        0..1. All broadcast.

    Returns
    -------
    ndarray
        Never more than a black body at air temperature.

    Notes
    -----
    Clear: 59.38 + 113.7 (T/273.16)^6 + 96.96 sqrt(w/25), w = 465 e/T kg/m2 (e in hPa). Cloud multiplies by
    1 + 0.0224 N - 0.0035 N^2 + 0.00028 N^3, N in tenths of the sky.

    References
    ----------
    A. C. Dilley and D. M. O'Brien, Q. J. R. Meteorol. Soc. 124 (1998) 1391; w after Prata (1996). Cloud factor:
    EnergyPlus Engineering Reference, Climate Calculations (after Clark and Allen, 1978).

    Examples
    --------
    >>> float(sky_longwave_flux(293.15, 0.5).round(1))
    316.6
    """
    kelvin = checked("air_temperature", air_temperature)
    tenths = 10.0 * checked("cloud_fraction", cloud_fraction)
    column = 4.65 * vapour_pressure(kelvin, relative_humidity) / kelvin
    clear = 59.38 + 113.7 * (kelvin / 273.16) ** 6 + 96.96 * np.sqrt(column / 25.0)
    cloudy = clear * (1 + 0.0224 * tenths - 0.0035 * tenths**2 + 0.00028 * tenths**3)
    return np.asarray(np.minimum(cloudy, black_body_exitance(kelvin)))
