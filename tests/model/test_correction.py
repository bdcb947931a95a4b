"""A delivered surface temperature: undone, and corrected anew."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.band import ideal_band, lookup
from groundglow.model.correction import Correction, redo_correction, undo_correction
from groundglow.model.sensing import at_sensor_radiance, surface_temperature, surroundings_at

TABLE = lookup(ideal_band(7.5e-6, 13.5e-6))
KELVIN = np.linspace(260.0, 360.0, 12).reshape(3, 4)


def _around(reflected, air, transmittance=1.0):
    return surroundings_at(TABLE, reflected_temperature=reflected, air_temperature=air, transmittance=transmittance)


def test_undoing_returns_the_radiance_that_the_sensor_saw():
    """Someone corrected with wrong assumptions: the radiance comes back whatever they were."""
    seen = at_sensor_radiance(TABLE, KELVIN, 0.9, _around(250.0, 285.0, 0.93))
    for assumed in (Correction(0.95, 293.15, 293.15), Correction(1.0, 293.15, 280.0, 0.98)):
        delivered = surface_temperature(
            TABLE,
            seen,
            assumed.emissivity,
            _around(assumed.reflected_temperature, assumed.air_temperature, assumed.transmittance),
        )
        assert undo_correction(TABLE, delivered, assumed) == pytest.approx(seen, rel=1e-7)


def test_correcting_anew_with_the_truth_gives_the_truth():
    truth = _around(250.0, 285.0, 0.93)
    seen = at_sensor_radiance(TABLE, KELVIN, 0.9, truth)
    delivered = surface_temperature(TABLE, seen, 0.95, _around(293.15, 293.15))
    assert np.abs(delivered - KELVIN).max() > 1.0
    again = redo_correction(TABLE, delivered, Correction(0.95, 293.15, 293.15), emissivity=0.9, surroundings=truth)
    assert again == pytest.approx(KELVIN, abs=1e-4)


def test_correcting_anew_with_the_same_changes_nothing():
    again = redo_correction(
        TABLE,
        KELVIN,
        Correction(0.8, 260.0, 290.0, 0.9),
        emissivity=0.8,
        surroundings=_around(260.0, 290.0, 0.9),
    )
    assert again == pytest.approx(KELVIN, abs=1e-5)


def test_uncorrected_means_black_body_without_air():
    """Emissivity 1 and transmittance 1: the delivered temperature is the apparent one."""
    assert undo_correction(TABLE, KELVIN, Correction(1.0, 200.0, 200.0)) == pytest.approx(TABLE.radiance(KELVIN))
