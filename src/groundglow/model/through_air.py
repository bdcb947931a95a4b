"""The measurement model through air whose transmittance depends on the source: exact to some mK, one pass.

:mod:`groundglow.model.sensing` takes one transmittance for all that leaves a surface. Here emitted and
reflected radiation each have their own, that of a black body as warm as they are:

L = tau(B) eps B + tau(L_r) (1 - eps) L_r + L_path,   B = L(T)

No iteration is needed: L - L_path - tau(L_r) (1 - eps) L_r, over eps, is what arrives of B, and the table of the
air gives the transmittance by what arrives.

The reflected radiation is taken as that of a black body. A clear sky's is not: it comes from the wavelengths
that air absorbs, so that somewhat less of it arrives. That is small beside the doubt of the sky itself.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.airtable import AirTable, air_table
from groundglow.model.limits import require
from groundglow.model.measurement import Sensitivities
from groundglow.model.table import BandTable, read_only
from groundglow.model.through_kernel import BY_PATH, BY_RADIANCE, KELVIN, OWN, RESULT, SPREAD, TAU, solve, transmit

__all__ = ["ThroughAir", "at_sensor_radiance_through_air", "surface_temperature_through_air"]


class ThroughAir(NamedTuple):
    """Surface temperature through air, and all that goes with it; arrays of one shape.

    Parameters
    ----------
    temperature : ndarray
        K; NaN where there is no solution.
    sensitivities : Sensitivities
        Whole derivatives: the transmittance follows the temperature. The one by transmittance is for a change of
        all transmittances in proportion.
    transmittance : ndarray
        For the radiation that the surface emits.
    path_radiance : ndarray
        Of the air, W m-2 sr-1.
    transmittance_sd : ndarray
        Standard uncertainty of the air model, not of the weather given to it. Path radiance errs with it, by
        minus the black body of the air.
    """

    temperature: NDArray[Any]
    sensitivities: Sensitivities
    transmittance: NDArray[Any]
    path_radiance: NDArray[Any]
    transmittance_sd: NDArray[Any]


def _prepared(values: ArrayLike, shape: tuple[int, ...], kind: Any) -> NDArray[Any]:
    array = np.asarray(values, dtype=kind)
    if array.size == 1:
        return read_only(array.reshape(1))
    return read_only(np.ascontiguousarray(np.broadcast_to(array, shape)).reshape(-1))


def surface_temperature_through_air(
    table: BandTable,
    radiance: ArrayLike,
    *,
    emissivity: ArrayLike,
    reflected_radiance: ArrayLike,
    distance: ArrayLike,
    air_temperature: float,
    relative_humidity: float,
    pressure: float = 101325.0,
    visibility: float | None = None,
) -> ThroughAir:
    """Surface temperature through air, K, with a transmittance that follows the temperature, and its derivatives.

    Parameters
    ----------
    table : BandTable
        Of the camera's band.
    radiance : array_like
        At the sensor, W m-2 sr-1. float32 gives float32, anything else float64. Take a window off first.
    emissivity : array_like
        0..1.
    reflected_radiance : array_like
        Band radiance that falls on the surface and is reflected, W m-2 sr-1, as a black body's.
    distance : array_like
        m, 0 to 5000. All arrays broadcast against each other.
    air_temperature, relative_humidity, pressure, visibility : float
        As for :func:`groundglow.model.air.air_path`, one weather.

    Returns
    -------
    ThroughAir

    Raises
    ------
    RangeError
        When an emissivity is outside 0..1, or the air outside the model's domain.

    See Also
    --------
    at_sensor_radiance_through_air : the inverse.
    groundglow.model.sensing.surface_temperature_and_sensitivities : with a transmittance of one's own.

    Notes
    -----
    The module's equation; within 10 mK of the sum over wavelengths from 250 to 420 K and 1 to 1000 m, for
    emissivities from 0.4 and dew points up to 30 C (tests).
    With y = tau(B) B the derivatives of :mod:`groundglow.model.sensing` times 1 - d ln tau / d ln y.

    References
    ----------
    As :mod:`groundglow.model.air` and :mod:`groundglow.model.sensing`.

    Examples
    --------
    >>> from groundglow.model.band import lookup, nominal_band
    >>> table = lookup(nominal_band("7.5-13.5"))
    >>> air = {"air_temperature": 288.15, "relative_humidity": 0.5}
    >>> known = {"emissivity": 0.95, "reflected_radiance": table.radiance(250.0), "distance": 100.0}
    >>> radiance = at_sensor_radiance_through_air(table, 333.15, **known, **air)
    >>> round(float(surface_temperature_through_air(table, radiance, **known, **air).temperature), 2)
    333.15
    """
    found = air_table(
        table.band,
        distance,
        air_temperature=air_temperature,
        relative_humidity=relative_humidity,
        pressure=pressure,
        visibility=visibility,
    )
    kind = np.float32 if np.asarray(radiance).dtype == np.float32 else np.float64
    inputs = (radiance, emissivity, reflected_radiance, distance)
    shape = np.broadcast_shapes(*(np.shape(values) for values in inputs))
    out = np.empty((RESULT, *shape), dtype=kind)
    cubic = table.to_temperature
    packed = (cubic.coefficients, cubic.first, cubic.shift, cubic.low, cubic.high)
    flat = tuple(_prepared(values, shape, kind) for values in inputs)
    if solve(*_packed(found), packed, flat, out.reshape(RESULT, -1)):
        _refuse(np.asarray(emissivity))
    return ThroughAir(out[KELVIN], Sensitivities(*out[BY_RADIANCE : BY_PATH + 1]), out[TAU], out[OWN], out[SPREAD])


def _refuse(emissivity: NDArray[Any]) -> None:
    within = (emissivity >= 0) & (emissivity <= 1)
    hint = "Check percent against fraction."
    why = "a share of black-body emission"
    require("emissivity", emissivity, within, unit="", allowed="0 <= emissivity <= 1", why=why, hint=hint)


def _packed(found: AirTable) -> tuple[Any, Any]:
    """Axes and tables as the kernels take them."""
    return (tuple(found.distance), tuple(found.radiance)), (found.path, found.by_source, found.by_arrival)


def at_sensor_radiance_through_air(
    table: BandTable,
    surface_temperature: ArrayLike,
    *,
    emissivity: ArrayLike,
    reflected_radiance: ArrayLike,
    distance: ArrayLike,
    air_temperature: float,
    relative_humidity: float,
    pressure: float = 101325.0,
    visibility: float | None = None,
) -> NDArray[Any]:
    """Band radiance at the sensor through air whose transmittance depends on the source, W m-2 sr-1.

    Parameters
    ----------
    table : BandTable
    surface_temperature : array_like
        K.
    emissivity, reflected_radiance, distance, air_temperature, relative_humidity, pressure, visibility
        As for :func:`surface_temperature_through_air`.

    Returns
    -------
    ndarray
        W m-2 sr-1.

    See Also
    --------
    surface_temperature_through_air : the inverse.

    Notes
    -----
    The module's equation.

    References
    ----------
    As :mod:`groundglow.model.air` and :mod:`groundglow.model.sensing`.

    Examples
    --------
    >>> from groundglow.model.band import lookup, nominal_band
    >>> table = lookup(nominal_band("7.5-13.5"))
    >>> air = {"air_temperature": 288.15, "relative_humidity": 0.5}
    >>> seen = at_sensor_radiance_through_air(
    ...     table, 333.15, emissivity=1.0, reflected_radiance=0.0, distance=100.0, **air)
    >>> round(float(table.temperature(seen)), 1)
    330.7
    """
    air = {"air_temperature": air_temperature, "relative_humidity": relative_humidity, "pressure": pressure}
    found = air_table(table.band, distance, visibility=visibility, **air)
    share, glow = np.asarray(emissivity, dtype=float), np.asarray(reflected_radiance, dtype=float)
    body = np.asarray(table.radiance(surface_temperature), dtype=float)
    own_tau, own = _seen(found, body, distance)
    return np.asarray(own_tau * share * body + _seen(found, glow, distance)[0] * (1 - share) * glow + own)


def _seen(found: AirTable, body: NDArray[Any], distance: ArrayLike) -> tuple[NDArray[Any], NDArray[Any]]:
    """Transmittance for black bodies of these radiances, and the air's own radiance."""
    shape = np.broadcast_shapes(np.shape(body), np.shape(distance))
    out = np.empty((2, *shape))
    given = tuple(np.broadcast_to(np.asarray(v, dtype=np.float64), shape).ravel() for v in (body, distance))
    transmit(*_packed(found), given, out.reshape(2, -1))
    return out[0], out[1]
