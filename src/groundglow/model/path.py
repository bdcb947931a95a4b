"""What a uniform path of air does in a band: the arithmetic behind :mod:`groundglow.model.air`.

Checked weather, spectral transmittance, band means and their doubt; for maps of distances a table over distance in
one weather, interpolated in one compiled pass.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

from groundglow.model.absorption import absorption, columns, quadrature
from groundglow.model.haze import HAZE_RELATIVE_SD, haze_extinction
from groundglow.model.humidity import VAPOUR_GAS_CONSTANT, vapour_pressure
from groundglow.model.planck import spectral_radiance
from groundglow.model.response import Band
from groundglow.model.weather import LIMITS, checked

__all__ = ["Triple", "Weather", "interpolated", "means", "transmittance", "weather"]

Floats = NDArray[np.float64]
#: Mean transmittance, path radiance and standard uncertainty of the transmittance, each of one shape.
Triple = tuple[Floats, Floats, Floats]

#: Standard uncertainty of the transmittance: floor, and share of what is absorbed (common practice: a few per cent).
FLOOR, SHARE = 0.002, 0.05
#: Share above 40 g/m3 of water or beyond 1 km: the reference's continuum of the 1980s does not weaken above
#: 296 K, the real one does.
WIDE_SHARE, WIDE_DENSITY, WIDE_DISTANCE = 0.15, 0.040, 1000.0
#: Conditions computed at a time, so that spectra stay in the cache.
CHUNK = 256
#: Distances of the table, m: equal steps of the cube root, along which transmittance is smooth.
NODES = LIMITS["distance"].high * np.linspace(0.0, 1.0, 385) ** 3


@dataclass(frozen=True)
class Weather:
    """Checked state of the air: temperature K, vapour pressure Pa, pressure Pa, visibility m, all of one shape."""

    temperature: Floats
    vapour: Floats
    pressure: Floats
    visibility: Floats

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of the arrays."""
        return self.temperature.shape

    @property
    def fields(self) -> tuple[Floats, Floats, Floats, Floats]:
        """The arrays in order."""
        return self.temperature, self.vapour, self.pressure, self.visibility

    def spread(self, shape: tuple[int, ...]) -> Weather:
        """The same weather at every element of a shape, as 1-D arrays."""
        return Weather(*(np.broadcast_to(values, shape).ravel() for values in self.fields))

    def part(self, where: slice) -> Weather:
        """A stretch of 1-D arrays."""
        return Weather(*(values[where] for values in self.fields))


def weather(
    air_temperature: ArrayLike, relative_humidity: ArrayLike, pressure: ArrayLike, visibility: ArrayLike | None
) -> Weather:
    """Weather after checking, broadcast to one shape; no visibility means no haze.

    Examples
    --------
    >>> weather([280.0, 290.0], 0.5, 101325.0, None).shape
    (2,)
    """
    kelvin = checked("air_temperature", air_temperature)
    pascal = checked("pressure", pressure)
    vapour = vapour_pressure(kelvin, relative_humidity)
    seen = checked("visibility", np.inf if visibility is None else visibility)
    return Weather(*(np.asarray(values) for values in np.broadcast_arrays(kelvin, vapour, pascal, seen)))


def transmittance(distance: Floats, state: Weather) -> Floats:
    """Transmittance at the absorption table's wavelengths, shape (S, N), of 1-D arrays of shape (S,).

    Notes
    -----
    The band model of :mod:`groundglow.model.absorption`, times haze.

    Examples
    --------
    >>> transmittance(np.array([0.0, 100.0]), weather([280.0, 280.0], 0.5, 101325.0, None))[0].min().round(6)
    np.float64(1.0)
    """
    table = absorption()
    metre = columns(state.temperature, state.vapour, state.pressure)
    depth = table.depth(metre.stretched(distance))
    if np.isfinite(state.visibility).any():
        depth = depth + distance[:, None] * haze_extinction(table.wavelength, state.visibility[:, None])
    return np.asarray(np.exp(-depth))


def means(band: Band, distance: Floats, state: Weather, source_temperature: float) -> Triple:
    """Band mean transmittance, path radiance and doubt of 1-D arrays, chunk by chunk.

    Examples
    --------
    >>> from groundglow.model.response import ideal_band
    >>> air = weather([288.15], 0.5, 101325.0, None)
    >>> means(ideal_band(8e-6, 14e-6), np.array([100.0]), air, 300.0)[0].round(3).tolist()
    [0.945]
    """
    grid = quadrature(band)
    mean, own = np.empty(distance.shape), np.empty(distance.shape)
    weight = grid.weight * spectral_radiance(grid.wavelength, source_temperature)
    weight /= weight.sum()
    for start in range(0, distance.size, CHUNK):
        part = slice(start, start + CHUNK)
        here = state.part(part)
        tau = grid.at_nodes(transmittance(distance[part], here))
        mean[part] = np.minimum(tau @ weight, 1.0)  # weights that sum to 1 but for the last bit
        own[part] = ((1.0 - tau) * spectral_radiance(grid.wavelength, here.temperature[:, None])) @ grid.weight
    return mean, own, _doubt(band, mean, distance, state)


def _doubt(band: Band, mean: Floats, distance: Floats, state: Weather) -> Floats:
    """Standard uncertainty of the transmittance: of the gas model, and of haze where there is any."""
    wet = state.vapour / (VAPOUR_GAS_CONSTANT * state.temperature) > WIDE_DENSITY
    share = np.where(wet | (distance > WIDE_DISTANCE), WIDE_SHARE, SHARE)
    gas = np.hypot(FLOOR, share * (1.0 - mean))
    if np.isinf(state.visibility).all():
        return np.asarray(gas)
    haze = haze_extinction(0.5 * sum(band.edges), state.visibility) * distance
    return np.asarray(np.hypot(gas, HAZE_RELATIVE_SD * haze * mean))


@lru_cache(maxsize=64)
def _table(band: Band, state: tuple[float, ...], source_temperature: float) -> Floats:
    """Rows of (transmittance, radiance, doubt) at the nodes in one weather, shape (nodes, 3)."""
    same = Weather(*(np.full(NODES.shape, value) for value in state))
    return np.column_stack(means(band, NODES, same, source_temperature))


def interpolated(band: Band, distance: Floats, state: Weather, source_temperature: float) -> Triple:
    """As :func:`means` for many distances, any shape, in one weather: error of transmittance below 2e-5.

    Examples
    --------
    >>> from groundglow.model.response import ideal_band
    >>> air = weather(288.15, 0.5, 101325.0, None)
    >>> interpolated(ideal_band(8e-6, 14e-6), np.full((2, 2), 100.0), air, 300.0)[0].round(3)[0].tolist()
    [0.945, 0.945]
    """
    key = tuple(float(values.ravel()[0]) for values in state.fields)
    result = np.empty((3, distance.size))
    _interpolate(np.ascontiguousarray(distance).ravel(), _table(band, key, source_temperature), NODES[-1], result)
    tau, own, spread = result.reshape(3, *distance.shape)
    return tau, own, spread


@njit(cache=True)
def _interpolate(distance: Floats, table: Floats, longest: float, result: Floats) -> None:
    """Linear in the cube root of distance between the rows of the table."""
    last = table.shape[0] - 1
    for i in range(distance.size):
        place = np.cbrt(distance[i] / longest) * last
        if np.isnan(place):
            result[:, i] = np.nan
            continue
        row = min(int(place), last - 1)
        share = place - row
        for k in range(3):
            result[k, i] = table[row, k] + share * (table[row + 1, k] - table[row, k])
