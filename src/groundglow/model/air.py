"""The air between camera and surface: transmittance and own radiance of a path in a camera's band.

Spectral throughout: any band within 6.5-16.9 um works. The sky (:mod:`groundglow.model.sky`) and humidity
(:mod:`groundglow.model.humidity`) are re-exported here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.absorption import Quadrature, absorption, columns, quadrature
from groundglow.model.band import lookup
from groundglow.model.haze import HAZE_RELATIVE_SD, haze_extinction
from groundglow.model.humidity import (
    VAPOUR_GAS_CONSTANT,
    saturation_vapour_pressure,
    vapour_pressure,
    water_vapour_density,
)
from groundglow.model.planck import spectral_radiance
from groundglow.model.response import Band
from groundglow.model.sky import SKY_TEMPERATURE_SD, sky_hemisphere_radiance, sky_radiance
from groundglow.model.weather import LIMITS, checked

__all__ = [
    "SKY_TEMPERATURE_SD",
    "AirPath",
    "air_path",
    "saturation_vapour_pressure",
    "scalar_transmittance_error",
    "sky_hemisphere_radiance",
    "sky_radiance",
    "spectral_transmittance",
    "water_vapour_density",
    "with_transmittance",
]

Floats = NDArray[np.float64]

#: Standard uncertainty of the model: floor, and share of what is absorbed (common practice: a few per cent).
_FLOOR, _SHARE = 0.002, 0.05
#: Share above 40 g/m3 of water or beyond 1 km: the reference's continuum of the 1980s does not weaken above
#: 296 K, the real one does.
_WIDE_SHARE, _WIDE_DENSITY, _WIDE_DISTANCE = 0.15, 0.040, 1000.0
#: From this many distances on, a table over distance is built and interpolated.
_TABLE_FROM, _TABLE_SIZE = 48, 385
_CHUNK = 512


@dataclass(frozen=True)
class AirPath:
    """What a path of air does to band radiance: at sensor = transmittance * radiance of source + radiance.

    Attributes
    ----------
    transmittance : ndarray, shape S
        Mean over the band, weighted by the response and a black body at the source temperature, 0..1.
    radiance : ndarray, shape S
        Of the air itself, W m-2 sr-1 weighted by the response.
    transmittance_sd : ndarray, shape S
        Standard uncertainty of the model (not of the weather given to it). Path radiance errs with it by
        :attr:`radiance_slope`.
    """

    transmittance: Floats
    radiance: Floats
    transmittance_sd: Floats

    @property
    def radiance_slope(self) -> Floats:
        """Change of path radiance with transmittance, W m-2 sr-1: minus the air's black-body radiance."""
        lost = 1.0 - self.transmittance
        return np.asarray(-self.radiance / np.where(lost > 0, lost, np.nan))


@dataclass(frozen=True)
class _Weather:
    """Checked state of the air, all of one shape."""

    temperature: Floats
    vapour: Floats
    pressure: Floats
    visibility: Floats

    @property
    def wide(self) -> NDArray[np.bool_]:
        return np.asarray(self.vapour / (VAPOUR_GAS_CONSTANT * self.temperature) > _WIDE_DENSITY)

    def flat(self) -> _Weather:
        return replace(self, **{name: np.ravel(value) for name, value in vars(self).items()})

    def part(self, where: slice) -> _Weather:
        return replace(self, **{name: value[where] for name, value in vars(self).items()})


def _weather(
    temperature: ArrayLike, humidity: ArrayLike, pressure: ArrayLike, visibility: ArrayLike | None
) -> _Weather:
    kelvin = checked("air_temperature", temperature)
    pascal = checked("pressure", pressure)
    vapour = vapour_pressure(kelvin, humidity)
    seen = checked("visibility", np.inf if visibility is None else visibility)
    return _Weather(*(np.asarray(a) for a in np.broadcast_arrays(kelvin, vapour, pascal, seen)))


def _transmittance(distance: Floats, weather: _Weather) -> Floats:
    """Transmittance at the table's wavelengths, shape (S, N), of 1-D arrays."""
    table = absorption()
    metre = columns(weather.temperature, weather.vapour, weather.pressure)
    depth = table.depth(metre.stretched(distance))
    if np.isfinite(weather.visibility).any():
        depth = depth + distance[:, None] * haze_extinction(table.wavelength, weather.visibility[:, None])
    return np.asarray(np.exp(-depth))


def spectral_transmittance(
    distance: ArrayLike,
    *,
    air_temperature: ArrayLike,
    relative_humidity: ArrayLike,
    pressure: ArrayLike = 101325.0,
    visibility: ArrayLike | None = None,
) -> tuple[Floats, Floats]:
    """Wavelengths, m, and transmittance of a level path at each, at a resolution of 20 cm-1.

    Parameters
    ----------
    distance, air_temperature, relative_humidity, pressure, visibility : array_like
        As for :func:`air_path`, broadcast to shape S.

    Returns
    -------
    wavelength : ndarray, shape (N,)
        m, ascending.
    transmittance : ndarray, shape S + (N,)

    Examples
    --------
    >>> wavelength, tau = spectral_transmittance(100.0, air_temperature=288.15, relative_humidity=0.5)
    >>> float(tau[abs(wavelength - 10e-6).argmin()].round(2))
    0.99
    """
    length = checked("distance", distance)
    weather = _weather(air_temperature, relative_humidity, pressure, visibility)
    shape = np.broadcast_shapes(length.shape, weather.temperature.shape)
    weather = _spread(weather, shape)
    tau = _transmittance(np.broadcast_to(length, shape).ravel(), weather.flat())
    return absorption().wavelength, tau.reshape(*shape, -1)


def _spread(weather: _Weather, shape: tuple[int, ...]) -> _Weather:
    return replace(weather, **{name: np.broadcast_to(value, shape) for name, value in vars(weather).items()})


def air_path(
    band: Band,
    distance: ArrayLike,
    *,
    air_temperature: ArrayLike,
    relative_humidity: ArrayLike,
    pressure: ArrayLike = 101325.0,
    source_temperature: float = 300.0,
    visibility: ArrayLike | None = None,
) -> AirPath:
    """Transmittance and own radiance of a level or slant path near the ground.

    The air is taken as uniform: for a slant path give its state at the middle of the path. Do not use it
    through an inversion, smoke, rain or a plume.

    Parameters
    ----------
    band : Band
        Response within 6.5-16.9 um.
    distance : array_like
        Length of the path, m, 0 to 5000.
    air_temperature : array_like
        K, 233.15 to 328.15.
    relative_humidity : array_like
        0..1 over water.
    pressure : array_like
        Pa, 50 to 105 kPa.
    source_temperature : float
        Temperature of the black body that weights the mean, K.
    visibility : array_like, optional
        Meteorological visibility, m, adds haze; default none. All arrays broadcast to shape S.

    Returns
    -------
    AirPath
        Of shape S. Radiance is exact: the band integral of (1 - spectral transmittance) times the black
        body's radiance at air temperature.

    Raises
    ------
    RangeError
        Outside the domain.

    See Also
    --------
    scalar_transmittance_error : what one mean transmittance costs, K.
    with_transmittance : a measured transmittance instead.

    Notes
    -----
    Errors against the reference program, and why the stated doubt is wider, in docs/air.md. Beyond 1 km and
    above 40 g/m3 of water the doubt is three times as wide. More than 48 distances in one weather are
    interpolated from a table (error below 2e-5).

    References
    ----------
    See :mod:`groundglow.model.absorption`.

    Examples
    --------
    >>> from groundglow.model.response import ideal_band
    >>> path = air_path(ideal_band(8e-6, 14e-6), 100.0, air_temperature=288.15, relative_humidity=0.5)
    >>> float(path.transmittance.round(3))
    0.945
    """
    length = checked("distance", distance)
    weather = _weather(air_temperature, relative_humidity, pressure, visibility)
    if length.size >= _TABLE_FROM and weather.temperature.size == 1:
        state = tuple(float(value.ravel()[0]) for value in vars(weather).values())
        return _interpolated(band, length, _path_table(band, state, float(source_temperature)), weather)
    shape = np.broadcast_shapes(length.shape, weather.temperature.shape)
    weather = _spread(weather, shape)
    flat = np.broadcast_to(length, shape)
    mean, own = _means(quadrature(band), flat.ravel(), weather.flat(), source_temperature)
    tau = mean.reshape(shape)
    return AirPath(tau, own.reshape(shape), _doubt(band, tau, flat, weather))


def _means(grid: Quadrature, distance: Floats, weather: _Weather, source: float) -> tuple[Floats, Floats]:
    """Band transmittance and path radiance of 1-D arrays, in chunks that fit the cache."""
    mean, own = np.empty(distance.shape), np.empty(distance.shape)
    weight = grid.weight * spectral_radiance(grid.wavelength, source)
    weight /= weight.sum()
    for start in range(0, distance.size, _CHUNK):
        part = slice(start, start + _CHUNK)
        here = weather.part(part)
        tau = grid.at_nodes(_transmittance(distance[part], here))
        mean[part] = tau @ weight
        own[part] = ((1.0 - tau) * spectral_radiance(grid.wavelength, here.temperature[:, None])) @ grid.weight
    return mean, own


_NODES = LIMITS["distance"].high * np.linspace(0.0, 1.0, _TABLE_SIZE) ** 3


@lru_cache(maxsize=64)
def _path_table(band: Band, state: tuple[float, ...], source: float) -> tuple[Floats, Floats]:
    """Transmittance and path radiance at the nodes, one weather."""
    weather = _Weather(*(np.full(_NODES.shape, value) for value in state))
    return _means(quadrature(band), _NODES, weather, source)


def _interpolated(band: Band, distance: Floats, table: tuple[Floats, Floats], weather: _Weather) -> AirPath:
    tau, own = (np.interp(distance, _NODES, values) for values in table)
    return AirPath(tau, own, _doubt(band, tau, distance, weather))


def _doubt(band: Band, tau: Floats, distance: Floats, weather: _Weather) -> Floats:
    """Standard uncertainty of the transmittance: of the gas model, and of haze where there is any."""
    share = np.where(weather.wide | (distance > _WIDE_DISTANCE), _WIDE_SHARE, _SHARE)
    gas = np.hypot(_FLOOR, share * (1.0 - tau))
    if np.isinf(weather.visibility).all():
        return np.asarray(gas)
    middle = 0.5 * (band.edges[0] + band.edges[1])
    haze = haze_extinction(middle, weather.visibility) * distance
    return np.asarray(np.hypot(gas, HAZE_RELATIVE_SD * haze * tau))


def with_transmittance(path: AirPath, transmittance: ArrayLike, transmittance_sd: ArrayLike) -> AirPath:
    """The same air with a measured band transmittance in place of the computed one.

    Parameters
    ----------
    path : AirPath
        Computed for the same distance and weather.
    transmittance : array_like
        Measured band transmittance, 0..1.
    transmittance_sd : array_like
        Its standard uncertainty.

    Returns
    -------
    AirPath
        Path radiance is scaled with the share absorbed.

    Notes
    -----
    What is not transmitted is emitted at air temperature (Kirchhoff; scattering neglected).

    Examples
    --------
    >>> clear = AirPath(np.array(0.95), np.array(2.0), np.array(0.01))
    >>> float(with_transmittance(clear, 0.90, 0.02).radiance.round(3))
    4.0
    """
    tau = checked("transmittance", transmittance)
    spread = np.broadcast_to(np.asarray(transmittance_sd, dtype=np.float64), tau.shape)
    return AirPath(tau, np.asarray(path.radiance + path.radiance_slope * (tau - path.transmittance)), spread)


def scalar_transmittance_error(
    band: Band,
    distance: float,
    *,
    surface_temperature: ArrayLike,
    air_temperature: float,
    relative_humidity: float,
    pressure: float = 101325.0,
    source_temperature: float = 300.0,
) -> Floats:
    """Error of the surface temperature from using one mean transmittance for all wavelengths, K.

    Parameters
    ----------
    band, distance, air_temperature, relative_humidity, pressure, source_temperature
        As for :func:`air_path`, scalars.
    surface_temperature : array_like, shape S
        Temperatures of a black surface, K.

    Returns
    -------
    ndarray, shape S
        Temperature computed with the mean, minus the true one, K: budget it, or set the source temperature
        near that of the surfaces.

    Notes
    -----
    The spectral radiance at the sensor is the band integral of tau B(T_s) + (1 - tau) B(T_air); the mean
    transmittance weighted at the source temperature is then used to invert it.

    Examples
    --------
    >>> from groundglow.model.response import ideal_band
    >>> error = scalar_transmittance_error(ideal_band(8e-6, 14e-6), 100.0, surface_temperature=[300.0, 350.0],
    ...                                    air_temperature=288.15, relative_humidity=0.5)
    >>> error.round(1).tolist()
    [0.0, 0.3]
    """
    weather = {"air_temperature": air_temperature, "relative_humidity": relative_humidity, "pressure": pressure}
    path = air_path(band, float(distance), source_temperature=source_temperature, **weather)
    grid = quadrature(band)
    tau = grid.at_nodes(spectral_transmittance(float(distance), **weather)[1])
    kelvin = np.asarray(surface_temperature, dtype=np.float64)
    passed = (tau * spectral_radiance(grid.wavelength, kelvin[..., None])) @ grid.weight
    return np.asarray(lookup(band).temperature(passed / path.transmittance) - kelvin)
