"""What the surfaces of simulated readings mirror: black surroundings, or the layered sky as warm as drawn.

A sky that is warmer than the layered one holds more cloud, black and as warm as the air. A colder one is that of
drier air: all optical depths are smaller in proportion, so that where air is opaque it still glows as warm as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from groundglow.model.air import spectral_transmittance
from groundglow.model.planck import spectral_radiance
from groundglow.model.profile import cloud_base, profile
from groundglow.model.response import Band
from groundglow.model.sky import spectral_sky_radiance

__all__ = ["WAVELENGTH", "Weather", "surroundings"]

Floats = NDArray[np.float64]

#: Wavelengths of the sum, m.
WAVELENGTH = np.arange(6.60e-6, 14.92e-6, 0.02e-6)
#: Mean slant of the hemisphere: the sky's spectrum there stands for that of the whole sky, rad.
DIFFUSE_ZENITH = np.radians(53.0)
#: Number of the weather without a sky, and of the overcast one.
WALLS, OVERCAST = 3, 2
#: Least part of the optical depths, and greatest share of a black body's radiance that a sky is taken to have.
DRIEST, BLACKEST = 1e-6, 1 - 1e-9


class Weather(NamedTuple):
    """Stated air of one sky of a seed: K, 0..1, Pa."""

    air_temperature: float
    relative_humidity: float
    pressure: float


def surroundings(
    weather: NDArray[np.intp], zenith: Floats, stated: Sequence[Weather], band: Band, true: Mapping[str, Floats]
) -> Floats:
    """True spectrum of what each reading reflects, as warm in the assumed band as ``true`` says.

    ``zenith`` is where a mirror looks, NaN for what is dull.
    """
    found = spectral_radiance(WAVELENGTH, true["reflected_temperature"][:, None])
    response = np.interp(WAVELENGTH, band.wavelength, band.response, left=0, right=0)
    for number in range(WALLS):
        here = np.flatnonzero(weather == number)
        angle = np.where(np.isnan(zenith), DIFFUSE_ZENITH, zenith)[here]
        sky = _sky(stated[number], overcast=number == OVERCAST, zenith=angle)
        black = spectral_radiance(WAVELENGTH, stated[number].air_temperature)
        wanted, base, most = (part @ response for part in (found[here], sky, black))
        colder = wanted < base
        sky[colder] = _drier(sky[colder] / black, black, response, wanted[colder])
        more = np.clip((wanted - base) / (most - base), 0, 1)[:, None] * (black - sky)
        warmer = np.where(colder[:, None], sky, sky + more)
        found[here] = warmer * (wanted / (warmer @ response))[:, None]
    return found


def _drier(share: Floats, black: Floats, response: Floats, wanted: Floats) -> Floats:
    """Skies, given as shares of a black body, with all depths smaller in proportion until the band sees ``wanted``."""
    depth = -np.log1p(-np.minimum(share, BLACKEST))
    low, high = np.full(wanted.shape, np.log(DRIEST)), np.zeros(wanted.shape)
    for _ in range(40):
        middle = 0.5 * (low + high)
        seen = (-np.expm1(-np.exp(middle)[:, None] * depth) * black) @ response
        low, high = np.where(seen < wanted, middle, low), np.where(seen < wanted, high, middle)
    return np.asarray(-np.expm1(-np.exp(high)[:, None] * depth) * black)


def _sky(weather: Weather, *, overcast: bool, zenith: Floats) -> Floats:
    """Spectral radiance of the sky at WAVELENGTH for each angle."""
    air, humidity, _ = weather
    layers, angles = profile(*weather), np.radians([0, 20, 35, 45, 53, 60])
    base, cloud = cloud_base(air, humidity, None) if overcast else (np.inf, air)
    known = spectral_transmittance(0.0, air_temperature=air, relative_humidity=humidity)[0]
    radiance, through = spectral_sky_radiance(layers, angles, base)
    if overcast:
        radiance = radiance + through * spectral_radiance(known, cloud)
    by_angle = np.array([np.interp(WAVELENGTH, known, row) for row in radiance])
    place = np.interp(zenith, angles, np.arange(angles.size))
    cell = np.minimum(place.astype(int), angles.size - 2)
    return by_angle[cell] + (place - cell)[:, None] * (by_angle[cell + 1] - by_angle[cell])
