"""The air between camera and surface: transmittance and own radiance of a path in a camera's band.

Spectral throughout: any band within 6.5-16.9 um works. The sky (:mod:`groundglow.model.sky`) and humidity
(:mod:`groundglow.model.humidity`) are re-exported here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.absorption import absorption, quadrature
from groundglow.model.band import lookup
from groundglow.model.humidity import saturation_vapour_pressure, water_vapour_density
from groundglow.model.path import interpolated, means, transmittance, weather
from groundglow.model.planck import spectral_radiance
from groundglow.model.response import Band
from groundglow.model.sky import SKY_TEMPERATURE_SD, sky_hemisphere_radiance, sky_radiance
from groundglow.model.weather import checked

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

#: From this many distances in one weather on, a table over distance is interpolated.
_TABLE_FROM = 48


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
        """Change of path radiance with transmittance, W m-2 sr-1: minus the black body of the air (0: no air)."""
        lost = 1.0 - self.transmittance
        return np.asarray(-self.radiance / np.where(lost > 1e-9, lost, np.inf))


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
    air = weather(air_temperature, relative_humidity, pressure, visibility)
    shape = np.broadcast_shapes(length.shape, air.shape)
    tau = transmittance(np.broadcast_to(length, shape).ravel(), air.spread(shape))
    return absorption().wavelength, tau.reshape(*shape, -1)


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
    length, source = checked("distance", distance), float(source_temperature)
    air = weather(air_temperature, relative_humidity, pressure, visibility)
    if length.size >= _TABLE_FROM and air.temperature.size == 1:
        return AirPath(*interpolated(band, length, air, source))
    shape = np.broadcast_shapes(length.shape, air.shape)
    found = means(band, np.broadcast_to(length, shape).ravel(), air.spread(shape), source)
    tau, own, spread = (values.reshape(shape) for values in found)
    return AirPath(tau, own, spread)


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
    air = {"air_temperature": air_temperature, "relative_humidity": relative_humidity, "pressure": pressure}
    path = air_path(band, float(distance), source_temperature=source_temperature, **air)
    grid = quadrature(band)
    tau = grid.at_nodes(spectral_transmittance(float(distance), **air)[1])
    kelvin = np.asarray(surface_temperature, dtype=np.float64)
    passed = (tau * spectral_radiance(grid.wavelength, kelvin[..., None])) @ grid.weight
    return np.asarray(lookup(band).temperature(passed / path.transmittance) - kelvin)
