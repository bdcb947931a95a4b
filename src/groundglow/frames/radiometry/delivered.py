"""Surface temperatures that were corrected before they reached us: undone when we know with what.

A recorder or its software may have corrected for emissivity, reflection and air. Given what it assumed,
the radiance at the sensor is computed forwards again. When that is lost, the temperatures are taken as
delivered, with a doubt so wide that nobody mistakes them for a measurement of ours.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.frames.units import ZERO_CELSIUS
from groundglow.model.air import air_path
from groundglow.model.sensing import Correction, undo_correction
from groundglow.model.table import BandTable
from groundglow.records.flight import ValuesSpec

__all__ = ["AS_DELIVERED_SD_K", "UNKNOWN_TRANSMITTANCE_SD", "Delivered", "delivered_radiance"]

Floats = NDArray[np.floating]

#: Of a delivered temperature whose correction is unknown: emissivity wrong by 0.05 against a sky 60 K
#: colder is some 3 K, the air and the recorder's own model the rest (common practice, no source).
AS_DELIVERED_SD_K = 5.0
#: Of the transmittance that a recorder assumed without telling: some 100 m of ordinary air.
UNKNOWN_TRANSMITTANCE_SD = 0.05


@dataclass(frozen=True)
class Delivered:
    """Band radiance behind a delivered temperature; ``corrected`` when it could not be undone."""

    radiance: Floats
    flight: dict[str, Floats]
    corrected: bool
    notes: tuple[str, ...]


def delivered_radiance(kelvin: Floats, values: ValuesSpec, table: BandTable) -> Delivered:
    """Band radiance at the sensor behind delivered surface temperatures.

    Parameters
    ----------
    kelvin : ndarray
        As delivered, K.
    values : ValuesSpec
        Emissivity and reflected temperature that the recorder assumed, and air, humidity and distance.
    table : BandTable

    Returns
    -------
    Delivered
        W m-2 sr-1. Without emissivity and reflected temperature: the black-body radiance of the delivered
        temperature itself, ``corrected``.
    """
    if values.emissivity is None or values.reflected_c is None:
        return _as_delivered(kelvin, table)
    transmittance, transmittance_sd, notes = _assumed_air(values, table)
    air = values.reflected_c if values.air_c is None else values.air_c
    assumed = Correction(values.emissivity, values.reflected_c + ZERO_CELSIUS, air + ZERO_CELSIUS, transmittance)
    radiance = undo_correction(table, kelvin, assumed)
    by_transmittance = (radiance - table.radiance(air + ZERO_CELSIUS)) / transmittance
    return Delivered(radiance, {"delivered correction": by_transmittance * transmittance_sd}, False, notes)


def _as_delivered(kelvin: Floats, table: BandTable) -> Delivered:
    note = (
        "surface temperatures are taken as delivered: the emissivity and reflected temperature they were "
        f"corrected with are not said, so a doubt of +-{AS_DELIVERED_SD_K:g} K (standard uncertainty) is added"
    )
    doubt: dict[str, Floats] = {"delivered correction": table.slope(kelvin) * AS_DELIVERED_SD_K}
    return Delivered(np.asarray(table.radiance(kelvin)), doubt, True, (note,))


def _assumed_air(values: ValuesSpec, table: BandTable) -> tuple[float, float, tuple[str, ...]]:
    """Transmittance that the recorder assumed, its standard uncertainty, and a note when it is unknown."""
    air, humidity, distance = values.air_c, values.relative_humidity_pct, values.distance_m
    if air is None or humidity is None or distance is None:
        note = (
            "the air that the delivered temperatures were corrected for is not said (air_c, "
            "relative_humidity_pct, distance_m): taken as none, with a wide doubt"
        )
        return 1.0, UNKNOWN_TRANSMITTANCE_SD, (note,)
    path = air_path(table.band, distance, air_temperature=air + ZERO_CELSIUS, relative_humidity=humidity / 100)
    return float(path.transmittance), float(path.transmittance_sd), ()
