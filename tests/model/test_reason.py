"""Each pixel without a temperature says why."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.band import ideal_band, lookup
from groundglow.model.reason import Reason, no_solution
from groundglow.model.sensing import Surroundings, at_sensor_radiance, surface_temperature, surroundings_at

TABLE = lookup(ideal_band(8e-6, 14e-6))
AROUND = surroundings_at(TABLE, reflected_temperature=290.0, air_temperature=290.0, transmittance=0.9)
BACKGROUND = float(at_sensor_radiance(TABLE, 300.0, 0.0, AROUND))


@pytest.mark.parametrize(
    ("radiance", "emissivity", "reason"),
    [
        (50.0, 0.95, Reason.SOLVED),
        (np.nan, 0.95, Reason.UNKNOWN_INPUT),
        (np.inf, 0.95, Reason.UNKNOWN_INPUT),
        (50.0, np.nan, Reason.UNKNOWN_INPUT),
        (50.0, 0.0, Reason.NO_EMISSION),
        (BACKGROUND * 0.4, 0.5, Reason.TOO_LITTLE_RADIANCE),
        (-1.0, 1.0, Reason.TOO_LITTLE_RADIANCE),
        (1e5, 0.95, Reason.OUTSIDE_TABLE),
    ],
)
def test_reason(radiance, emissivity, reason):
    assert no_solution(TABLE, radiance, emissivity, AROUND) == reason


def test_colder_than_the_table_is_not_too_little_radiance():
    """A surface at 100 K sends more than nothing."""
    clear = Surroundings(0.0, 1.0, 0.0)
    assert no_solution(TABLE, 0.5 * TABLE.radiance(150.0), 1.0, clear) == Reason.OUTSIDE_TABLE


def test_unknown_conditions_are_named():
    assert no_solution(TABLE, 50.0, 0.95, Surroundings(np.nan, 0.9, 1.0)) == Reason.UNKNOWN_INPUT


def test_reasons_stand_exactly_where_temperatures_are_missing():
    rng = np.random.default_rng(8)
    radiance, emissivity = rng.uniform(0, 200, (50, 40)), rng.uniform(0, 1, (50, 40))
    reasons = no_solution(TABLE, radiance, emissivity, AROUND)
    assert reasons.dtype == np.uint8
    missing = np.isnan(surface_temperature(TABLE, radiance, emissivity, AROUND))
    assert np.array_equal(reasons != 0, missing)
    assert 0.05 < missing.mean() < 0.95
