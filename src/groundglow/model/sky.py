"""Downwelling radiance of the sky in a camera's band, from the weather at the ground alone.

A clear sky is much colder in 8-14 um than its total longwave radiation tells: that flux is in
:mod:`groundglow.model.longwave`, and the two must not be mixed.

The air above is built from temperature and humidity at the ground with climatological rules
(:mod:`groundglow.model.profile`); its radiance is summed layer by layer with the band model of
:mod:`groundglow.model.absorption`.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.absorption import Columns, absorption, columns, quadrature
from groundglow.model.planck import spectral_radiance
from groundglow.model.profile import Profile, cloud_base, profile, slant_lengths
from groundglow.model.response import Band
from groundglow.model.weather import checked, checked_scalar

__all__ = ["SKY_TEMPERATURE_SD", "sky_hemisphere_radiance", "sky_radiance", "spectral_sky_radiance"]

Floats = NDArray[np.float64]

#: Standard uncertainty of a real clear sky's apparent temperature in the band, K: two to three times the
#: largest difference from the reference atmospheres, because real air is layered otherwise (our choice).
SKY_TEMPERATURE_SD = 8.0
#: Angles from the zenith at which a sky is computed, rad, closer together towards the horizon.
_ZENITHS = 0.5 * np.pi * (1.0 - np.linspace(1.0, 0.0, 29) ** 1.8)


def spectral_sky_radiance(layers: Profile, zenith: ArrayLike, top: float = np.inf) -> tuple[Floats, Floats]:
    """Radiance of the air below ``top`` seen from the ground, and transmittance up to it.

    Parameters
    ----------
    layers : Profile
        Air above.
    zenith : array_like, shape S
        Angle from the zenith, rad, 0 to pi/2.
    top : float
        Height of a cloud base, m; default none.

    Returns
    -------
    radiance, transmittance : ndarray, shape S + (N,)
        W m-2 sr-1 m-1 and 0..1 at the wavelengths of the absorption table.

    Notes
    -----
    Sum over layers of B(T) times the fall of transmittance from the ground, with scaled columns added along
    the path (Curtis-Godson).

    Examples
    --------
    >>> radiance, tau = spectral_sky_radiance(profile(288.15, 0.5), [0.0, 1.0])
    >>> radiance.shape == tau.shape
    True
    """
    metre = columns(layers.temperature, layers.vapour, layers.pressure, ozone=layers.ozone)
    glow = spectral_radiance(absorption().wavelength, layers.temperature[:, None])
    angles = checked("zenith", zenith)
    rays = [_ray(metre, glow, slant_lengths(layers, angle, top)) for angle in angles.ravel()]
    radiance, tau = (np.array(part).reshape(*angles.shape, -1) for part in zip(*rays, strict=True))
    return radiance, tau


def _ray(metre: Columns, glow: Floats, lengths: Floats) -> tuple[Floats, Floats]:
    path = metre.stretched(lengths)
    below = Columns(np.cumsum(path.lines, axis=0), np.cumsum(path.continuum, axis=0))
    tau = np.exp(-absorption().depth(below))
    lost = -np.diff(tau, axis=0, prepend=1.0)
    return (glow * lost).sum(axis=0), tau[-1]


@lru_cache(maxsize=128)
def _clear(band: Band, air_temperature: float, relative_humidity: float, pressure: float) -> Floats:
    """Band radiance of the clear sky at the tabulated zenith angles."""
    layers, grid = profile(air_temperature, relative_humidity, pressure), quadrature(band)
    return np.asarray(grid.at_nodes(spectral_sky_radiance(layers, _ZENITHS)[0]) @ grid.weight)


@lru_cache(maxsize=128)
def _overcast(
    band: Band, air_temperature: float, relative_humidity: float, pressure: float, cloud: float | None
) -> Floats:
    """Band radiance of a closed cloud deck and the air below it at the tabulated zenith angles."""
    layers, grid = profile(air_temperature, relative_humidity, pressure), quadrature(band)
    base, kelvin = cloud_base(air_temperature, relative_humidity, cloud)
    radiance, tau = spectral_sky_radiance(layers, _ZENITHS, base)
    deck = grid.at_nodes(tau) * spectral_radiance(grid.wavelength, kelvin)
    return np.asarray((grid.at_nodes(radiance) + deck) @ grid.weight)


def _mixture(
    band: Band, weather: tuple[float, float, float], cloud_fraction: float, cloud_temperature: float | None
) -> Floats:
    share = checked_scalar("cloud_fraction", cloud_fraction)
    clear = _clear(band, *weather) if share < 1 else np.zeros(_ZENITHS.shape)
    if share == 0:
        return clear
    return np.asarray((1 - share) * clear + share * _overcast(band, *weather, cloud_temperature))


def sky_radiance(
    band: Band,
    zenith: ArrayLike,
    *,
    air_temperature: float,
    relative_humidity: float,
    pressure: float = 101325.0,
    cloud_fraction: float = 0.0,
    cloud_temperature: float | None = None,
) -> Floats:
    """Radiance of the sky in the band at an angle from the zenith, W m-2 sr-1 (response-weighted).

    Parameters
    ----------
    band : Band
        Response within 6.5-16.9 um.
    zenith : array_like, shape S
        Angle from the zenith, rad, 0 to pi/2.
    air_temperature, relative_humidity, pressure : float
        At the ground: K, 0..1 over water, Pa.
    cloud_fraction : float
        Share of the sky that is overcast, 0..1, alike at all angles.
    cloud_temperature : float, optional
        Of the cloud base, K; default from the dew point (low convective cloud: a high cloud is colder).

    Returns
    -------
    ndarray, shape S

    Raises
    ------
    RangeError
        Outside the domain.

    Notes
    -----
    Standard uncertainty of the apparent temperature of a real clear sky: :data:`SKY_TEMPERATURE_SD`.
    Errors against reference atmospheres in docs/air.md. Cloud is black.

    Examples
    --------
    >>> from groundglow.model.band import band_temperature
    >>> from groundglow.model.response import ideal_band
    >>> band = ideal_band(8e-6, 14e-6)
    >>> overhead = sky_radiance(band, 0.0, air_temperature=288.2, relative_humidity=0.46)
    >>> float(band_temperature(band, overhead).round(0))
    223.0
    """
    angle = checked("zenith", zenith)
    weather = float(air_temperature), float(relative_humidity), float(pressure)
    table = _mixture(band, weather, cloud_fraction, cloud_temperature)
    return np.asarray(np.interp(angle, _ZENITHS, table))


def sky_hemisphere_radiance(
    band: Band,
    *,
    air_temperature: float,
    relative_humidity: float,
    pressure: float = 101325.0,
    cloud_fraction: float = 0.0,
    cloud_temperature: float | None = None,
) -> float:
    """Cosine-weighted mean radiance of the whole sky in the band, W m-2 sr-1: what a level matt surface reflects.

    Parameters
    ----------
    band, air_temperature, relative_humidity, pressure, cloud_fraction, cloud_temperature
        As for :func:`sky_radiance`.

    Returns
    -------
    float

    Notes
    -----
    Integral of L over sin^2 of the zenith angle; pi times it is the band irradiance.

    Examples
    --------
    >>> from groundglow.model.response import ideal_band
    >>> weather = {"air_temperature": 288.2, "relative_humidity": 0.46}
    >>> mean = sky_hemisphere_radiance(ideal_band(8e-6, 14e-6), **weather)
    >>> bool(mean > sky_radiance(ideal_band(8e-6, 14e-6), 0.0, **weather))
    True
    """
    weather = float(air_temperature), float(relative_humidity), float(pressure)
    table = _mixture(band, weather, cloud_fraction, cloud_temperature)
    return float(np.trapezoid(table, np.sin(_ZENITHS) ** 2))
