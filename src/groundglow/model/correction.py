"""A delivered, already corrected temperature: back to radiance, and corrected anew."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from numpy.typing import ArrayLike, NDArray

from groundglow.model.measurement import at_sensor_radiance, surface_temperature
from groundglow.model.surroundings import Surroundings, surroundings_at
from groundglow.model.table import BandTable

__all__ = ["Correction", "redo_correction", "undo_correction"]


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
