"""The fast table: its error, range, types and shapes."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.band import band_radiance, band_slope, ideal_band, lookup, nominal_band
from groundglow.model.response import Band
from groundglow.model.table import TABLE_RANGE

BANDS = [
    ideal_band(8e-6, 14e-6),
    nominal_band("7.5-13.5"),
    nominal_band("8-14"),
    ideal_band(3e-6, 5e-6),
    ideal_band(10e-6, 10.1e-6),
    Band("ragged", np.array([7.9, 8.0, 9.1, 9.15, 12.7, 14.2]) * 1e-6, [0.0, 0.8, 1.0, 0.3, 0.9, 0.0]),
]


@pytest.mark.parametrize("band", BANDS, ids=lambda band: band.name)
def test_error_is_below_a_hundredth_of_a_millikelvin_over_the_whole_range(band):
    """Both directions at 20,000 temperatures that are no nodes, against the exact integral."""
    table = lookup(band)
    kelvin = np.random.default_rng(3).uniform(*TABLE_RANGE, 20_000)
    exact, slope = band_radiance(band, kelvin), band_slope(band, kelvin)
    assert np.abs((table.radiance(kelvin) - exact) / slope).max() < 1e-5
    assert np.abs(table.temperature(exact) - kelvin).max() < 1e-5
    assert table.slope(kelvin) == pytest.approx(slope, rel=3e-5)


@pytest.mark.parametrize("band", BANDS, ids=lambda band: band.name)
def test_stated_error_covers_what_is_met(band):
    table = lookup(band)
    kelvin = np.random.default_rng(4).uniform(*TABLE_RANGE, 5_000)
    met = np.abs(table.temperature(band_radiance(band, kelvin)) - kelvin).max()
    assert met <= table.error * 1.05 + 1e-9


def test_round_trip_at_the_ends_of_the_range():
    table = lookup(BANDS[0])
    assert table.temperature(table.radiance(np.array(TABLE_RANGE))) == pytest.approx(TABLE_RANGE, abs=1e-5)


def test_outside_the_range_is_nan_and_inside_is_not():
    table = lookup(BANDS[0])
    assert np.isnan(table.radiance([149.9, 1500.1, np.nan, -1.0, np.inf])).all()
    assert np.isnan(table.temperature([0.0, -1.0, 1e6, np.nan, np.inf])).all()
    assert np.isfinite(table.radiance([150.0, 1500.0])).all()


def test_radiance_rises_with_temperature_everywhere():
    table = lookup(BANDS[0])
    assert (np.diff(table.radiance(np.linspace(150.0, 1500.0, 200_001))) > 0).all()


def test_types_and_shapes_come_back():
    table = lookup(BANDS[0])
    frame = np.full((3, 4), 300.0, dtype=np.float32)
    assert table.radiance(frame).dtype == np.float32
    assert table.radiance(frame).shape == (3, 4)
    assert table.radiance(300).dtype == np.float64
    assert np.ndim(table.radiance(300.0)) == 0
    assert table.radiance([]).shape == (0,)


def test_strided_and_read_only_arrays_are_read_as_they_are():
    table = lookup(BANDS[0])
    frame = np.linspace(280.0, 320.0, 48).reshape(6, 8)
    turned = frame.T[::2]
    turned.setflags(write=False)
    one_by_one = np.array([[float(table.radiance(v)) for v in row] for row in turned])
    assert table.radiance(turned) == pytest.approx(one_by_one, rel=1e-15)
