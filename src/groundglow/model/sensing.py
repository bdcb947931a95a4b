"""The measurement model, forwards and backwards: surface temperature <-> radiance at the sensor.

L = tau_w { tau [ eps L(T) + (1 - eps) L_r ] + L_path } + L_w

with the surface's emissivity eps and temperature T, the radiance L_r that falls on it and is reflected,
the transmittance tau and own radiance L_path of the air between, and transmittance tau_w and own radiance
L_w of a window before the lens. All radiances are band radiances, W m-2 sr-1. Everything broadcasts:
emissivity per pixel, conditions per frame.

Not for: transparent or fluorescent surfaces, and specular surfaces unless L_r is the radiance from the
mirror direction.

References
----------
Kirchhoff's law and the balance at an opaque surface: common textbook form, e.g. M. F. Modest and
S. Mazumder, Radiative Heat Transfer, chapter 3 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.inversion import invert
from groundglow.model.limits import require
from groundglow.model.table import BandTable, read_only

__all__ = [
    "Correction",
    "Reason",
    "Sensitivities",
    "Surroundings",
    "at_sensor_radiance",
    "no_solution",
    "redo_correction",
    "surface_temperature",
    "surface_temperature_and_sensitivities",
    "surroundings_at",
    "undo_correction",
    "window_sensitivities",
]


class Reason(IntEnum):
    """Why a pixel has no surface temperature."""

    SOLVED = 0
    #: An input is NaN or infinite.
    UNKNOWN_INPUT = 1
    #: Emissivity zero: nothing of the surface's own radiation is seen.
    NO_EMISSION = 2
    #: The air, the window and the reflection alone give more radiance than was measured.
    TOO_LITTLE_RADIANCE = 3
    #: The temperature lies outside the table.
    OUTSIDE_TABLE = 4


def _share(name: str, values: ArrayLike) -> None:
    array = np.asarray(values)
    require(
        name,
        array,
        (array > 0) & (array <= 1),
        unit="",
        allowed=f"0 < {name} <= 1",
        why="a share of the radiation",
        hint="Check percent against fraction.",
    )


def _not_negative(name: str, values: ArrayLike) -> None:
    array = np.asarray(values)
    require(
        name,
        array,
        (array >= 0) & np.isfinite(array),
        unit="W m-2 sr-1",
        allowed=">= 0",
        why="a radiance",
        hint="Check the calibration.",
    )


@dataclass(frozen=True, eq=False)
class Surroundings:
    """What lies between the surface and the sensor, and what the surface reflects.

    Parameters
    ----------
    reflected_radiance : array_like
        Band radiance that falls on the surface and is reflected, W m-2 sr-1.
    transmittance : array_like
        Of the air path, 0 < tau <= 1.
    path_radiance : array_like
        Band radiance that the air path adds at its end, W m-2 sr-1: (1 - tau) L(T_air) in uniform air.
    window_transmittance : array_like
        Of a window before the lens, default 1: none.
    window_radiance : array_like
        Band radiance that the window adds, W m-2 sr-1: (1 - tau_w) L(T_w) without reflection.

    Raises
    ------
    RangeError
        When a transmittance is outside 0..1 or a radiance negative.

    Examples
    --------
    >>> Surroundings(10.0, 0.95, 2.0).window_transmittance
    1.0
    """

    reflected_radiance: ArrayLike
    transmittance: ArrayLike
    path_radiance: ArrayLike
    window_transmittance: ArrayLike = 1.0
    window_radiance: ArrayLike = 0.0

    def __post_init__(self) -> None:
        _share("transmittance", self.transmittance)
        _share("window_transmittance", self.window_transmittance)
        for name in ("reflected_radiance", "path_radiance", "window_radiance"):
            _not_negative(name, getattr(self, name))


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


def surroundings_at(
    table: BandTable,
    *,
    reflected_temperature: ArrayLike,
    air_temperature: ArrayLike,
    transmittance: ArrayLike = 1.0,
    window_temperature: ArrayLike | None = None,
    window_transmittance: ArrayLike = 1.0,
) -> Surroundings:
    """Surroundings from temperatures: black-body radiances weighted with what is not transmitted.

    Parameters
    ----------
    table : BandTable
    reflected_temperature : array_like
        Reflected apparent temperature, K.
    air_temperature : array_like
        K, uniform along the path.
    transmittance : array_like
        Of the air path.
    window_temperature, window_transmittance : array_like
        Of a window that absorbs and does not reflect; default none.

    Returns
    -------
    Surroundings

    Examples
    --------
    >>> from groundglow.model.band import ideal_band, lookup
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> around = surroundings_at(table, reflected_temperature=300.0, air_temperature=300.0, transmittance=0.9)
    >>> round(float(around.path_radiance), 4)
    5.4933
    """
    window = air_temperature if window_temperature is None else window_temperature
    return Surroundings(
        table.radiance(reflected_temperature),
        transmittance,
        (1 - np.asarray(transmittance)) * table.radiance(air_temperature),
        window_transmittance,
        (1 - np.asarray(window_transmittance)) * table.radiance(window),
    )


def _arrays(around: Surroundings) -> tuple[NDArray[Any], ...]:
    return (
        np.asarray(around.reflected_radiance),
        np.asarray(around.transmittance),
        np.asarray(around.path_radiance),
        np.asarray(around.window_transmittance),
        np.asarray(around.window_radiance),
    )


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
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> around = surroundings_at(table, reflected_temperature=253.15, air_temperature=293.15, transmittance=0.95)
    >>> round(float(at_sensor_radiance(table, 313.15, 0.95, around)), 4)
    63.7187
    """
    share = np.asarray(emissivity)
    _check_emissivity(share)
    reflected, tau, path, window_tau, window = _arrays(surroundings)
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
    return (np.asarray(radiance), np.asarray(emissivity), *_arrays(around))


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


def no_solution(
    table: BandTable, radiance: ArrayLike, emissivity: ArrayLike, surroundings: Surroundings
) -> NDArray[np.uint8]:
    """Why each pixel has no surface temperature: a :class:`Reason` a pixel, zero where it has one.

    Parameters
    ----------
    table, radiance, emissivity, surroundings
        As for :func:`surface_temperature`.

    Returns
    -------
    ndarray of uint8

    Examples
    --------
    >>> from groundglow.model.band import ideal_band, lookup
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> around = surroundings_at(table, reflected_temperature=293.15, air_temperature=293.15, transmittance=0.9)
    >>> reasons = no_solution(table, [50.0, 5.0], [0.95, 0.95], around)
    >>> [Reason(r).name for r in reasons]
    ['SOLVED', 'TOO_LITTLE_RADIANCE']
    """
    kelvin = surface_temperature(table, radiance, emissivity, surroundings)
    given = _inputs(radiance, emissivity, surroundings)
    known = np.logical_and.reduce(np.broadcast_arrays(*(np.isfinite(a) for a in given)))
    background = at_sensor_radiance(table, np.full((), 300.0), 0.0, surroundings)
    reflected, tau, _, window_tau, _ = _arrays(surroundings)
    floor = background - window_tau * tau * given[1] * reflected
    conditions = [np.isfinite(kelvin), ~known, given[1] == 0, given[0] <= floor]
    reasons = [Reason.SOLVED, Reason.UNKNOWN_INPUT, Reason.NO_EMISSION, Reason.TOO_LITTLE_RADIANCE]
    return np.asarray(
        np.select(np.broadcast_arrays(*conditions), [int(r) for r in reasons], int(Reason.OUTSIDE_TABLE)),
        dtype=np.uint8,
    )


@dataclass(frozen=True, eq=False)
class Correction:
    """What somebody assumed when turning radiance into surface temperature.

    Parameters
    ----------
    emissivity : array_like
    reflected_temperature, air_temperature : array_like
        K.
    transmittance : array_like
        Of the air path, default 1.

    Examples
    --------
    >>> Correction(0.95, 293.15, 293.15).transmittance
    1.0
    """

    emissivity: ArrayLike
    reflected_temperature: ArrayLike
    air_temperature: ArrayLike
    transmittance: ArrayLike = 1.0


def undo_correction(table: BandTable, temperature: ArrayLike, assumed: Correction) -> NDArray[Any]:
    """At-sensor band radiance behind a delivered surface temperature, W m-2 sr-1.

    Parameters
    ----------
    table : BandTable
        Of the camera's band.
    temperature : array_like
        Delivered, already corrected surface temperature, K.
    assumed : Correction
        What the delivered temperature was corrected with.

    Returns
    -------
    ndarray

    See Also
    --------
    redo_correction : corrects anew.

    Notes
    -----
    The forward model with the assumed conditions. It undoes exactly a correction that used the module's
    equation in this band; another equation leaves a difference, so give it a doubt.

    Examples
    --------
    >>> from groundglow.model.band import ideal_band, lookup
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> round(float(undo_correction(table, 313.15, Correction(0.95, 293.15, 293.15))), 4)
    65.7512
    """
    around = surroundings_at(
        table,
        reflected_temperature=assumed.reflected_temperature,
        air_temperature=assumed.air_temperature,
        transmittance=assumed.transmittance,
    )
    return at_sensor_radiance(table, temperature, assumed.emissivity, around)


def redo_correction(
    table: BandTable,
    temperature: ArrayLike,
    assumed: Correction,
    *,
    emissivity: ArrayLike,
    surroundings: Surroundings,
) -> NDArray[Any]:
    """Surface temperature, K, when a delivered one is corrected anew with better knowledge.

    Parameters
    ----------
    table, temperature, assumed
        As for :func:`undo_correction`.
    emissivity, surroundings
        As for :func:`surface_temperature`.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> from groundglow.model.band import ideal_band, lookup
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> assumed = Correction(0.96, 293.15, 293.15)
    >>> around = surroundings_at(table, reflected_temperature=293.15, air_temperature=293.15)
    >>> delivered = 313.15 - 0.1915  # emissivity was taken 0.01 too high
    >>> kelvin = redo_correction(table, delivered, assumed, emissivity=0.95, surroundings=around)
    >>> round(float(kelvin), 3)
    313.15
    """
    return surface_temperature(table, undo_correction(table, temperature, assumed), emissivity, surroundings)
