"""Why a pixel has no surface temperature."""

from __future__ import annotations

from enum import IntEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.measurement import at_sensor_radiance, surface_temperature
from groundglow.model.surroundings import Surroundings
from groundglow.model.table import BandTable

__all__ = ["Reason", "no_solution"]


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
    >>> from groundglow.model.sensing import surroundings_at
    >>> table = lookup(ideal_band(8e-6, 14e-6))
    >>> around = surroundings_at(table, reflected_temperature=293.15, air_temperature=293.15, transmittance=0.9)
    >>> reasons = no_solution(table, [50.0, 5.0], [0.95, 0.95], around)
    >>> [Reason(r).name for r in reasons]
    ['SOLVED', 'TOO_LITTLE_RADIANCE']
    """
    kelvin = surface_temperature(table, radiance, emissivity, surroundings)
    given = (np.asarray(radiance), np.asarray(emissivity), *surroundings.arrays())
    known = np.logical_and.reduce(np.broadcast_arrays(*(np.isfinite(a) for a in given)))
    background = at_sensor_radiance(table, np.full((), 300.0), 0.0, surroundings)
    reflected, tau, _, window_tau, _ = surroundings.arrays()
    floor = background - window_tau * tau * given[1] * reflected
    conditions = [np.isfinite(kelvin), ~known, given[1] == 0, given[0] <= floor]
    reasons = [Reason.SOLVED, Reason.UNKNOWN_INPUT, Reason.NO_EMISSION, Reason.TOO_LITTLE_RADIANCE]
    return np.asarray(
        np.select(np.broadcast_arrays(*conditions), [int(r) for r in reasons], int(Reason.OUTSIDE_TABLE)),
        dtype=np.uint8,
    )
