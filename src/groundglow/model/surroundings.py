"""What lies between a surface and the sensor, and what the surface reflects, as band radiances."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.limits import require
from groundglow.model.table import BandTable

__all__ = ["Surroundings", "surroundings_at"]


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

    def arrays(self) -> tuple[NDArray[Any], ...]:
        """The five quantities as arrays, in the order of the fields.

        Examples
        --------
        >>> [float(a) for a in Surroundings(10.0, 0.95, 2.0).arrays()]
        [10.0, 0.95, 2.0, 1.0, 0.0]
        """
        return (
            np.asarray(self.reflected_radiance),
            np.asarray(self.transmittance),
            np.asarray(self.path_radiance),
            np.asarray(self.window_transmittance),
            np.asarray(self.window_radiance),
        )


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
