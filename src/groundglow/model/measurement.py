"""The measurement equation: at-sensor radiance from surface temperature, and back with sensitivities.

The equation, its symbols and its source stand in :mod:`groundglow.model.sensing`, the public face.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError
from groundglow.model.inversion import invert
from groundglow.model.limits import require
from groundglow.model.surroundings import Surroundings
from groundglow.model.table import BandTable, read_only

__all__ = [
    "Sensitivities",
    "at_sensor_radiance",
    "surface_temperature",
    "surface_temperature_and_sensitivities",
    "window_sensitivities",
]


class Sensitivities(NamedTuple):
    """Partial derivatives of the surface temperature, each an array of the temperature's shape.

    K per W m-2 sr-1 for radiances, K per unit for emissivity and transmittance. Each holds the other
    four fixed: where the path radiance is (1 - tau) L(T_air), the whole effect of the transmittance is
    ``transmittance - L(T_air) * path_radiance``.
    """

    radiance: NDArray[Any]
    emissivity: NDArray[Any]
    reflected_radiance: NDArray[Any]
    transmittance: NDArray[Any]
    path_radiance: NDArray[Any]


def at_sensor_radiance(
    table: BandTable, surface_temperature: ArrayLike, emissivity: ArrayLike, surroundings: Surroundings
) -> NDArray[Any]:
    """Band radiance that reaches the sensor from a surface, W m-2 sr-1.

    Parameters
    ----------
    table : BandTable
    surface_temperature : array_like
        K, 150 to 1500.
    emissivity : array_like
        0..1, towards the sensor, averaged over the band.
    surroundings : Surroundings
        All broadcast against each other.

    Returns
    -------
    ndarray
        W m-2 sr-1; NaN where the temperature is NaN or outside the table.

    Raises
    ------
    RangeError
        When an emissivity is outside 0..1.

    See Also
    --------
    surface_temperature : the inverse.

    Notes
    -----
    The module's equation. Kirchhoff: reflectance = 1 - emissivity, opaque surface.

    Examples
    --------
    >>> from groundglow.model.band import ideal_band, lookup
    >>> from groundglow.model.sensing import surroundings_at
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> around = surroundings_at(table, reflected_temperature=253.15, air_temperature=293.15, transmittance=0.95)
    >>> round(float(at_sensor_radiance(table, 313.15, 0.95, around)), 4)
    63.7187
    """
    share = np.asarray(emissivity)
    _check_emissivity(share)
    reflected, tau, path, window_tau, window = surroundings.arrays()
    leaving = share * table.radiance(surface_temperature) + (1 - share) * reflected
    return np.asarray(window_tau * (tau * leaving + path) + window)[()]


def _check_emissivity(values: NDArray[Any]) -> None:
    require(
        "emissivity",
        values,
        (values >= 0) & (values <= 1),
        unit="",
        allowed="0 <= emissivity <= 1",
        why="a share of black-body emission",
        hint="Check percent against fraction.",
    )


def _prepared(values: ArrayLike, shape: tuple[int, ...], kind: Any) -> NDArray[Any]:
    array = np.asarray(values, dtype=kind)
    if array.size == 1:
        return read_only(array.reshape(1))
    return read_only(np.ascontiguousarray(np.broadcast_to(array, shape)).reshape(-1))


def _result(out: NDArray[Any] | None, shape: tuple[int, ...], kind: Any) -> NDArray[Any]:
    if out is None:
        return np.empty(shape, dtype=kind)
    if out.shape != shape or out.dtype != kind or not out.flags.c_contiguous:
        raise InputError(
            f"out has shape {out.shape} and type {out.dtype}; allowed a contiguous array of shape {shape} and "
            f"type {np.dtype(kind)}. Make it with numpy.empty."
        )
    return out


def _solve(
    table: BandTable, inputs: tuple[NDArray[Any], ...], *, rows: int, out: NDArray[Any] | None = None
) -> NDArray[Any]:
    shape = np.broadcast_shapes(*(a.shape for a in inputs))
    kind = np.float32 if inputs[0].dtype == np.float32 else np.float64
    result = _result(out, (rows, *shape), kind)
    cubic = table.to_temperature
    packed = (cubic.coefficients.astype(kind).reshape(-1), cubic.first, cubic.shift, cubic.low, cubic.high)
    if invert(packed, tuple(_prepared(a, shape, kind) for a in inputs), result.reshape(rows, -1)):
        _check_emissivity(inputs[1])
    return result


def _inputs(radiance: ArrayLike, emissivity: ArrayLike, around: Surroundings) -> tuple[NDArray[Any], ...]:
    return (np.asarray(radiance), np.asarray(emissivity), *around.arrays())


def surface_temperature(
    table: BandTable, radiance: ArrayLike, emissivity: ArrayLike, surroundings: Surroundings
) -> NDArray[Any]:
    """Surface temperature from the band radiance at the sensor, K.

    Parameters
    ----------
    table : BandTable
    radiance : array_like
        At the sensor, W m-2 sr-1. float32 gives float32, anything else float64.
    emissivity : array_like
        0..1.
    surroundings : Surroundings
        All broadcast against each other.

    Returns
    -------
    ndarray
        K; NaN where there is no solution, see :func:`no_solution` for the reason.

    Raises
    ------
    RangeError
        When an emissivity is outside 0..1.

    See Also
    --------
    at_sensor_radiance : the inverse.

    Examples
    --------
    >>> from groundglow.model.band import ideal_band, lookup
    >>> from groundglow.model.sensing import surroundings_at
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> around = surroundings_at(table, reflected_temperature=253.15, air_temperature=293.15, transmittance=0.95)
    >>> round(float(surface_temperature(table, 63.718719, 0.95, around)), 3)
    313.15
    """
    return np.asarray(_solve(table, _inputs(radiance, emissivity, surroundings), rows=1)[0])[()]


def surface_temperature_and_sensitivities(
    table: BandTable,
    radiance: ArrayLike,
    emissivity: ArrayLike,
    surroundings: Surroundings,
    *,
    out: NDArray[Any] | None = None,
) -> tuple[NDArray[Any], Sensitivities]:
    """Surface temperature, K, and its partial derivatives by all that it was computed from.

    Parameters
    ----------
    table, radiance, emissivity, surroundings
        As for :func:`surface_temperature`.
    out : ndarray, shape (6, ...), optional
        Contiguous array of the result's type to write into: saves fetching fresh memory for each frame.

    Returns
    -------
    temperature : ndarray
    sensitivities : Sensitivities
        NaN where the temperature is NaN.

    Raises
    ------
    RangeError
        When an emissivity is outside 0..1.
    InputError
        When ``out`` does not fit.

    Notes
    -----
    With B the surface's black-body radiance and S = eps B + (1 - eps) L_r what leaves it:
    dT/dL = dT/dB / (eps tau tau_w), dT/d eps = (L_r - B) tau tau_w dT/dL, dT/dL_r = -(1 - eps) tau tau_w dT/dL,
    dT/d tau = -S tau_w dT/dL, dT/dL_path = -tau_w dT/dL: the derivatives of the module's equation.

    Examples
    --------
    >>> from groundglow.model.band import ideal_band, lookup
    >>> from groundglow.model.sensing import surroundings_at
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> around = surroundings_at(table, reflected_temperature=273.15, air_temperature=300.0)
    >>> kelvin, by = surface_temperature_and_sensitivities(table, table.radiance(300.0), 1.0, around)
    >>> round(float(by.emissivity) * 0.01, 3)
    -0.236
    """
    result = _solve(table, _inputs(radiance, emissivity, surroundings), rows=6, out=out)
    return result[0], Sensitivities(*result[1:])


def window_sensitivities(
    by_radiance: NDArray[Any], radiance: ArrayLike, surroundings: Surroundings
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Partial derivatives of the surface temperature by the window's transmittance and radiance.

    Parameters
    ----------
    by_radiance : ndarray
        ``Sensitivities.radiance``.
    radiance : array_like
        At the sensor, W m-2 sr-1.
    surroundings : Surroundings

    Returns
    -------
    by_transmittance, by_radiance : ndarray
        K and K per W m-2 sr-1.

    Notes
    -----
    dT/d tau_w = -(L - L_w) / tau_w dT/dL; dT/dL_w = -dT/dL.

    Examples
    --------
    >>> window_sensitivities(np.array(1.5), 50.0, Surroundings(30.0, 1.0, 0.0, 0.9, 5.0))[0].round(6)
    np.float64(-75.0)
    """
    reach = np.asarray(radiance) - np.asarray(surroundings.window_radiance)
    return -reach / np.asarray(surroundings.window_transmittance) * by_radiance, -by_radiance
