"""Heat and vapour that the air takes from a surface.

Open ground: logarithmic profile with the stability of the air, and free convection when there is little wind.
A plate (roof, module, clamp): convection with a constant and a share of the wind. Evaporation: a wet share, a
resistance of leaves, or a share of the heat that rises.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt

import numpy as np
from numba import njit
from numpy.typing import NDArray

from groundglow.model.humidity import saturation_vapour_pressure

__all__ = ["Exchange", "evaporated_share", "latent_flux", "sensible_conductance"]

Array = NDArray[np.float64]

LATENT_HEAT = 2.5e6  # J/kg, water at 0 C
HEAT_CAPACITY = 1005.0  # J kg-1 K-1, dry air at constant pressure
GAS_CONSTANT = 287.05  # J kg-1 K-1, dry air
VAPOUR_GAS_CONSTANT = 461.5  # J kg-1 K-1
MASS_RATIO = 0.622  # vapour to dry air
_GRAVITY = 9.80665
_KARMAN = 0.4
_LOUIS = 5.0  # b = c = d of Louis, Tiedtke & Geleyn 1982
_PRIESTLEY_TAYLOR = 1.26
_MOST_LATENT = 0.6  # chosen on two flux towers
_ROUGH_HEAT = 0.1  # roughness length for heat over that for momentum
#: Free convection over a rough plane, m s-1 K-1/3 (Kondo & Ishida 1997, from memory).
FREE_ROUGH = 0.0038


@dataclass(frozen=True)
class Exchange:
    """How a surface trades heat and vapour with the air.

    Either open ground (``roughness`` > 0, m) with wind and temperature measured at ``wind_height`` and
    ``air_height`` m, or a plate (``roughness`` = 0) with conductance ``still + per_wind * wind`` W m-2 K-1.
    ``wet_share`` 0..1 evaporates as open water does, through ``resistance`` s/m of leaves;
    ``latent_per_sensible`` adds evaporation in proportion to the sensible heat that rises (one over the Bowen
    ratio). ``factor`` multiplies the conductance.
    """

    roughness: float = 0.03
    wind_height: float = 10.0
    air_height: float = 2.0
    still: float = 2.8
    per_wind: float = 3.0
    wet_share: float = 0.0
    resistance: float = 0.0
    latent_per_sensible: float = 0.0
    factor: float = 1.0

    def law(self) -> Array:
        """The numbers in the order that the compiled functions read."""
        return np.array(
            [
                self.roughness,
                self.wind_height,
                self.air_height,
                self.still,
                self.per_wind,
                self.wet_share,
                self.resistance,
                self.latent_per_sensible,
                self.factor,
            ]
        )


def evaporated_share(air_temperature: float, relative_humidity: float, pressure: float) -> float:
    """Share of the heat available to the air that evaporates water, from land that nobody has described.

    Priestley and Taylor's share of a wet surface, 1.26 s / (s + g), times the mean relative humidity, which stands for
    the wetness of the land that the air has passed over; at most 0.6. Crude: two flux towers (an irrigated field,
    a ploughed plain) had monthly means between 0.25 and 0.9.

    Parameters
    ----------
    air_temperature, relative_humidity, pressure : float
        Means of a day or more, K, 0..1, Pa.

    References
    ----------
    Priestley & Taylor 1972, Mon. Weather Rev. 100:81 (1.26, from memory). Humidity for wetness: common practice, no
    source.

    Examples
    --------
    >>> round(evaporated_share(273.15, 0.6, 1e5), 2), round(evaporated_share(303.15, 0.2, 1e5), 2)
    (0.31, 0.2)
    """
    saturation = float(saturation_vapour_pressure(air_temperature))
    slope = LATENT_HEAT * saturation / (VAPOUR_GAS_CONSTANT * air_temperature**2)
    psychrometric = HEAT_CAPACITY * pressure / (MASS_RATIO * LATENT_HEAT)
    return min(_PRIESTLEY_TAYLOR * slope / (slope + psychrometric) * relative_humidity, _MOST_LATENT)


@njit(cache=True)
def sensible_conductance(rise: float, air: float, wind: float, pressure: float, law: Array) -> float:
    """Conductance between surface and air for sensible heat, W m-2 K-1.

    Parameters
    ----------
    rise : float
        Surface minus air temperature, K.
    air : float
        Air temperature, K.
    wind : float
        m/s.
    pressure : float
        Pa.
    law : array
        `Exchange.law`.

    References
    ----------
    Louis, Tiedtke & Geleyn 1982, ECMWF workshop on boundary layer parameterization (stability); Kondo & Ishida
    1997, J. Atmos. Sci. 54:498 (free convection); Watmuff et al. 1977 (2.8 + 3.0 V, plates). From memory.

    Examples
    --------
    >>> plate = Exchange(roughness=0.0).law()
    >>> round(sensible_conductance(10.0, 288.15, 2.0, 101325.0, plate), 3)
    8.8
    """
    if law[0] <= 0:
        return float(law[8] * (law[3] + law[4] * wind))
    density_heat = law[8] * pressure / (GAS_CONSTANT * air) * HEAT_CAPACITY
    speed = max(wind, 0.1)
    zu, zt = log(law[1] / law[0]), log(law[2] / (law[0] * _ROUGH_HEAT))
    neutral = _KARMAN**2 / (zu * zt)
    richardson = -_GRAVITY * law[2] * rise / (air * speed**2)
    if richardson > 0:
        stability = 1 / (1 + 3 * _LOUIS * richardson * sqrt(1 + _LOUIS * richardson))
        return float(density_heat * neutral * speed * stability)
    root = sqrt(-richardson * law[1] / law[0])
    stability = 1 - 3 * _LOUIS * richardson / (1 + 3 * _LOUIS**2 * neutral * root)
    return float(density_heat * max(neutral * speed * stability, FREE_ROUGH * max(rise, 0.0) ** (1 / 3)))


@njit(cache=True)
def latent_flux(surface: float, sensible: float, conductance: float, air: float, moisture: Array, law: Array) -> float:
    """Latent heat that leaves the surface, W/m2; negative for dew.

    Parameters
    ----------
    surface, air : float
        Temperatures, K.
    sensible, conductance : float
        Sensible heat W/m2 and its conductance W m-2 K-1.
    moisture : array
        Vapour pressure of the air, its saturation and the pressure, Pa.
    law : array
        `Exchange.law`.

    Notes
    -----
    Lewis' relation gives vapour the conductance of heat; saturation at the surface follows Clausius and Clapeyron
    from that of the air.

    References
    ----------
    Monteith & Unsworth, Principles of Environmental Physics, chapters 11 and 13 (from memory).

    Examples
    --------
    >>> wet = Exchange(wet_share=1.0).law()
    >>> round(latent_flux(293.15, 0.0, 10.0, 293.15, np.array([1170.0, 2339.0, 101325.0]), wet), 1)
    178.5
    """
    flux = float(law[7] * max(sensible, 0.0))
    if law[5] <= 0 or conductance <= 0:
        return flux
    saturated = moisture[1] * exp(LATENT_HEAT / VAPOUR_GAS_CONSTANT * (1 / air - 1 / surface))
    excess = saturated - moisture[0]
    density_heat = moisture[2] / (GAS_CONSTANT * air) * HEAT_CAPACITY
    resistance = density_heat / conductance + (law[6] if excess > 0 else 0.0)
    per_pascal = density_heat / resistance * LATENT_HEAT * MASS_RATIO / (HEAT_CAPACITY * moisture[2])
    return float(flux + law[5] * per_pascal * excess)
