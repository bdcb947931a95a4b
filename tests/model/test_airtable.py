"""The table of the air: it holds what the air model computes, at the places it says."""

from __future__ import annotations

import numpy as np

from groundglow.model.air import air_path
from groundglow.model.airtable import SHIFT, air_table, patch_at, place_on
from groundglow.model.band import lookup, nominal_band

BAND = nominal_band("7.5-13.5")
AIR = {"air_temperature": 288.15, "relative_humidity": 0.5}


def test_a_place_on_an_axis_is_held_at_the_ends_and_nan_goes_to_the_first_cell() -> None:
    axis = tuple(air_table(BAND, [50.0, 200.0], **AIR).distance)
    assert place_on(axis, 1.0) == (0, 0.0)
    assert place_on(axis, float("nan")) == (0, 0.0)
    assert place_on(axis, 1e6)[0] == place_on(axis, axis[3])[0]


def test_transmittance_by_source_is_the_air_models_at_that_source() -> None:
    found = air_table(BAND, [50.0, 200.0], **AIR)
    table = lookup(BAND)
    for kelvin in (250.0, 300.0, 400.0):
        for metres in (50.0, 123.0, 200.0):
            row = place_on(tuple(found.distance), metres + SHIFT)
            column = place_on(tuple(found.radiance), float(table.radiance(kelvin)))
            tau = patch_at(found.by_source, row, column)[0]
            truth = air_path(BAND, metres, source_temperature=kelvin, **AIR).transmittance
            np.testing.assert_allclose(tau, truth, atol=1e-5)


def test_transmittance_by_arrival_is_that_of_the_source_it_came_from() -> None:
    found = air_table(BAND, 800.0, **AIR)
    row = place_on(tuple(found.distance), 800.0 + SHIFT)
    for radiance in (20.0, 45.0, 120.0):
        tau = patch_at(found.by_source, row, place_on(tuple(found.radiance), radiance))[0]
        back = patch_at(found.by_arrival, row, place_on(tuple(found.radiance), tau * radiance))[0]
        np.testing.assert_allclose(back, tau, atol=1e-5)


def test_the_table_covers_only_the_distances_asked_for() -> None:
    near, wide = air_table(BAND, [60.0, 63.0], **AIR), air_table(BAND, [5.0, 900.0], **AIR)
    assert len(near.by_source) < 8
    assert len(wide.by_source) > 100
