"""What air in one weather does to band radiance, by distance and by the source: a small table, read in one pass.

Air passes some wavelengths better than others, and the warmer a body, the larger the share of its radiation at
short ones. The mean transmittance therefore depends on the temperature of the source, upwards or downwards by
the band: taken at 300 K, a surface at 60 C reads 0.2 K wrong over 100 m of ordinary air, and more over a
kilometre. The table keeps that dependence.

Its axes are those of :mod:`groundglow.model.cubic`: equal steps within each octave, found from the bits of a
float. Between the nodes it is linear.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline

from groundglow.model.absorption import quadrature
from groundglow.model.band import lookup
from groundglow.model.path import Weather, means, transmittance, weather
from groundglow.model.planck import spectral_radiance
from groundglow.model.response import Band
from groundglow.model.weather import checked

__all__ = ["AirTable", "Axis", "air_table", "patch_at", "place_on"]

Floats = NDArray[np.float64]

#: Bits of a 32-bit float's fraction.
FRACTION_BITS = 23
#: Steps an octave, as powers of two: of distance plus one metre, computed and in the table; of radiance.
COARSE_BITS, DISTANCE_BITS, RADIANCE_BITS = 3, 5, 4
#: Computed distances beyond each end of the table's, so that the spline has its bearings there.
BEYOND = 2
#: Added to a distance before its octave is taken, m: keeps the steps finite at no distance.
SHIFT = 1.0


class Axis(NamedTuple):
    """Nodes of one axis: place of the first among all floats, bits dropped, first and last argument."""

    first: int
    shift: int
    low: float
    high: float


def _cells(low: float, high: float, bits: int) -> NDArray[np.int32]:
    """Places, among all floats, of the nodes that enclose a range of positive numbers."""
    ends = np.array([low, high], dtype=np.float32).view(np.int32) >> (FRACTION_BITS - bits)
    return np.arange(ends[0], ends[1] + 2, dtype=np.int32)


def _nodes(cells: NDArray[np.int32], bits: int) -> Floats:
    return (cells << np.int32(FRACTION_BITS - bits)).view(np.float32).astype(np.float64)


def _axis(low: float, high: float, bits: int) -> tuple[Axis, Floats]:
    """Axis whose nodes enclose a range of positive numbers, and the nodes."""
    cells = _cells(low, high, bits)
    nodes = _nodes(cells, bits)
    last = float(np.nextafter(np.float32(nodes[-1]), np.float32(0)))
    return Axis(int(cells[0]), FRACTION_BITS - bits, float(nodes[0]), last), nodes


@dataclass(frozen=True, eq=False)
class AirTable:
    """Transmittance by distance and source, own radiance and doubt by distance, in one weather.

    Attributes
    ----------
    distance, radiance : Axis
        Of distance + 1 m, and of radiance, W m-2 sr-1.
    path : ndarray, shape (D, 3)
        At the nodes: the air's own radiance, W m-2 sr-1, the standard uncertainty of transmittance, and the
        distance + 1 m.
    by_source, by_arrival : ndarray, shape (D - 1, R - 1, 4)
        Transmittance for a black body of that radiance, and for the one of which that radiance arrives: a
        bilinear patch a cell, see :func:`patch_at`.
    """

    distance: Axis
    radiance: Axis
    path: Floats
    by_source: Floats
    by_arrival: Floats


def _patches(values: Floats, rows: Floats, columns: Floats) -> Floats:
    """Coefficients of bilinear patches c0 + c1 t + u (c2 + c3 t) over the cells, from the lower corners."""
    along = np.diff(values, axis=1) / np.diff(columns)
    across = np.diff(values, axis=0) / np.diff(rows)[:, None]
    both = np.diff(along, axis=0) / np.diff(rows)[:, None]
    return np.ascontiguousarray(np.stack([values[:-1, :-1], along[:-1], across[:, :-1], both], axis=-1))


class _Sources(NamedTuple):
    """Black bodies on the table's axis, refined by two: radiance (K,), shares of it at the nodes (M, K)."""

    axis: Axis
    nodes: Floats
    radiance: Floats
    share: Floats


@lru_cache(maxsize=8)
def _sources(band: Band) -> _Sources:
    table, grid = lookup(band), quadrature(band)
    low, high = table.to_temperature.low, table.to_temperature.high
    axis, nodes = _axis(low, high, RADIANCE_BITS)
    fine = np.sort(np.concatenate([nodes, 0.5 * (nodes[1:] + nodes[:-1])]))
    kelvin = table.temperature(fine.clip(low, high))
    share = grid.weight[:, None] * spectral_radiance(grid.wavelength[:, None], kelvin)
    return _Sources(axis, nodes, fine, share / share.sum(axis=0))


@lru_cache(maxsize=64)
def _computed(band: Band, state: tuple[float, ...], first: int, count: int) -> tuple[Floats, Floats, Floats, Floats]:
    """At a run of computed distances: distance + 1 m, own radiance, doubt, transmittance by source."""
    nodes = _nodes(np.arange(first, first + count, dtype=np.int32), COARSE_BITS)
    metres, air = nodes - SHIFT, Weather(*(np.full(count, value) for value in state))
    _, own, doubt = means(band, metres, air, 300.0)
    tau = quadrature(band).at_nodes(transmittance(metres, air))
    # Not the matrix product: its threads wait for each other longer than this sum takes.
    return nodes, own, doubt, np.einsum("dm,mk->dk", tau, _sources(band).share)


@lru_cache(maxsize=64)
def _made(band: Band, state: tuple[float, ...], low: float, high: float) -> tuple[Axis, Floats, Floats, Floats]:
    """Axis of distance, path, transmittance by source and by arrival between two distances."""
    coarse = _cells(low + SHIFT, high + SHIFT, COARSE_BITS)
    first = max(int(coarse[0]) - BEYOND, int(_cells(SHIFT, SHIFT, COARSE_BITS)[0]))
    at, own, doubt, by_source = _computed(band, state, first, int(coarse[-1]) + BEYOND + 1 - first)
    axis, nodes = _axis(low + SHIFT, high + SHIFT, DISTANCE_BITS)
    passed = CubicSpline(np.log(at), by_source)(np.log(nodes))
    path = np.column_stack([CubicSpline(np.log(at), own)(np.log(nodes)), np.interp(nodes, at, doubt), nodes])
    sources = _sources(band)
    seen = np.log(sources.nodes)
    arrived = np.array([np.interp(seen, np.log(tau * sources.radiance), tau) for tau in passed])
    at_source, at_arrival = (_patches(values, nodes, sources.nodes) for values in (passed[:, ::2], arrived))
    return axis, path, at_source, at_arrival


def air_table(
    band: Band,
    distance: ArrayLike,
    *,
    air_temperature: float,
    relative_humidity: float,
    pressure: float = 101325.0,
    visibility: float | None = None,
) -> AirTable:
    """Table of the air for all distances between the least and the greatest given.

    Parameters
    ----------
    band : Band
    distance : array_like
        m, 0 to 5000; NaN is passed over.
    air_temperature, relative_humidity, pressure, visibility : float
        As for :func:`groundglow.model.air.air_path`, one weather.

    Returns
    -------
    AirTable

    Raises
    ------
    RangeError
        Outside the domain of the air model.

    Notes
    -----
    Computed at 8 distances an octave, a cubic spline over the logarithm to 32, linear between; 16 steps an octave
    of radiance. Over 1 km of tropical air 6 mK, in ordinary air 1 mK (tests). The last 64 tables are kept.

    Examples
    --------
    >>> from groundglow.model.response import nominal_band
    >>> table = air_table(nominal_band("7.5-13.5"), [60.0, 70.0], air_temperature=288.15, relative_humidity=0.5)
    >>> bool(table.by_source[0, 120, 0] < table.by_source[0, 20, 0])  # this band sees a warmer body worse
    True
    """
    given = np.asarray(distance)
    ends = checked("distance", [np.fmin.reduce(given, axis=None), np.fmax.reduce(given, axis=None)])
    state = weather(air_temperature, relative_humidity, pressure, visibility)
    low, high = (float(end) for end in np.nan_to_num(ends))
    key = tuple(float(values) for values in state.fields)
    axis, *tables = _made(band, key, low, high)
    return AirTable(axis, _sources(band).axis, *tables)


@njit(cache=True, nogil=True, error_model="numpy")
def place_on(axis: Any, value: float) -> tuple[int, float]:  # pragma: no cover - compiled
    """Cell of a value on an axis and its height above the cell's lower end; held at the ends, NaN at the first.

    Examples
    --------
    >>> place_on(tuple(_axis(1.0, 2.0, 2)[0]), 1.375)
    (1, 0.125)
    """
    first, shift, low, high = axis
    inside = min(value if value > low else low, high)
    cell = np.float32(inside).view(np.int32) >> shift
    return cell - first, inside - np.float64(np.int32(cell << shift).view(np.float32))


@njit(cache=True, nogil=True, error_model="numpy")
def patch_at(
    patches: NDArray[np.float64], row: tuple[int, float], column: tuple[int, float]
) -> tuple[float, float]:  # pragma: no cover - compiled
    """Value of a bilinear patch at places on both axes, and its slope along the columns' axis.

    Examples
    --------
    >>> patch_at(np.array([[[0.9, 0.01, -0.1, 0.0]]]), (0, 0.5), (0, 2.0))
    (0.87, 0.01)
    """
    (i, u), (k, t) = row, column
    slope = patches[i, k, 1] + u * patches[i, k, 3]
    return patches[i, k, 0] + u * patches[i, k, 2] + t * slope, slope
