"""The measurement equation both ways: shapes, types, refusals, sensitivities of the window."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError, RangeError
from groundglow.model.band import ideal_band, lookup
from groundglow.model.measurement import (
    at_sensor_radiance,
    surface_temperature,
    surface_temperature_and_sensitivities,
    window_sensitivities,
)
from groundglow.model.surroundings import Surroundings, surroundings_at

TABLE = lookup(ideal_band(8e-6, 14e-6))
AROUND = surroundings_at(TABLE, reflected_temperature=255.0, air_temperature=290.0, transmittance=0.92)


def test_emissivity_a_pixel_and_conditions_a_frame_broadcast():
    """A stack of three frames, emissivity per pixel, conditions per frame: as pixel by pixel."""
    rng = np.random.default_rng(2)
    kelvin, emissivity = rng.uniform(270, 330, (3, 4, 5)), rng.uniform(0.8, 1.0, (4, 5))
    transmittance = np.array([0.8, 0.9, 1.0]).reshape(3, 1, 1)
    around = surroundings_at(TABLE, reflected_temperature=255.0, air_temperature=290.0, transmittance=transmittance)
    radiance = at_sensor_radiance(TABLE, kelvin, emissivity, around)
    assert radiance.shape == (3, 4, 5)
    found = surface_temperature(TABLE, radiance, emissivity, around)
    assert found == pytest.approx(kelvin, abs=1e-5)
    single = surroundings_at(TABLE, reflected_temperature=255.0, air_temperature=290.0, transmittance=0.9)
    one = surface_temperature(TABLE, float(radiance[1, 2, 3]), float(emissivity[2, 3]), single)
    assert float(one) == pytest.approx(float(found[1, 2, 3]), abs=1e-12)


def test_thirty_two_bit_frames_stay_thirty_two_bit():
    radiance = np.full((2, 3), 50.0, dtype=np.float32)
    kelvin, by = surface_temperature_and_sensitivities(TABLE, radiance, 0.95, AROUND)
    assert {a.dtype for a in (kelvin, *by)} == {np.dtype(np.float32)}
    assert {a.shape for a in (kelvin, *by)} == {(2, 3)}


def test_read_only_frames_are_read():
    radiance = np.full((2, 3), 50.0)
    radiance.setflags(write=False)
    assert np.isfinite(surface_temperature(TABLE, radiance, 0.95, AROUND)).all()


def test_an_empty_frame_gives_an_empty_frame():
    assert surface_temperature(TABLE, np.empty((0, 5)), 0.95, AROUND).shape == (0, 5)


@pytest.mark.parametrize("emissivity", [95.0, 1.001, -0.01])
def test_an_emissivity_that_is_no_share_is_refused_both_ways(emissivity):
    with pytest.raises(RangeError, match="percent"):
        surface_temperature(TABLE, 50.0, emissivity, AROUND)
    with pytest.raises(RangeError, match="percent"):
        at_sensor_radiance(TABLE, 300.0, emissivity, AROUND)
    with pytest.raises(RangeError, match=r"1 of 2 values, the first at index \(1,\)"):
        surface_temperature(TABLE, [50.0, 50.0], [0.9, emissivity], AROUND)


def test_a_mirror_sends_only_what_it_reflects():
    """Emissivity zero, forwards: the surface's temperature has no effect; backwards there is no answer."""
    hot, cold = (at_sensor_radiance(TABLE, t, 0.0, AROUND) for t in (400.0, 200.0))
    assert hot == cold
    assert np.isnan(surface_temperature(TABLE, hot, 0.0, AROUND))


def test_less_radiance_than_air_and_reflection_is_no_temperature():
    dark = at_sensor_radiance(TABLE, 300.0, 0.0, AROUND) * 0.9
    assert np.isnan(surface_temperature(TABLE, dark, 0.1, AROUND))


def test_results_go_into_a_given_array():
    radiance = np.full((2, 3), 50.0, dtype=np.float32)
    out = np.empty((6, 2, 3), dtype=np.float32)
    kelvin, by = surface_temperature_and_sensitivities(TABLE, radiance, 0.95, AROUND, out=out)
    assert np.shares_memory(kelvin, out)
    assert np.shares_memory(by.path_radiance, out)
    assert np.array_equal(kelvin, surface_temperature(TABLE, radiance, 0.95, AROUND))


@pytest.mark.parametrize(
    "out", [np.empty((6, 3, 2)), np.empty((6, 2, 3), np.float32), np.empty((12, 2, 3))[::2], np.empty((1, 2, 3))]
)
def test_an_array_that_does_not_fit_is_refused(out):
    with pytest.raises(InputError, match="out has shape"):
        surface_temperature_and_sensitivities(TABLE, np.full((2, 3), 50.0), 0.95, AROUND, out=out)


def test_window_sensitivities_are_the_derivatives():
    around = Surroundings(25.0, 0.9, 4.0, 0.85, 6.0)
    kelvin, by = surface_temperature_and_sensitivities(TABLE, 45.0, 0.9, around)
    by_transmittance, by_radiance = window_sensitivities(by.radiance, 45.0, around)
    step = 1e-4

    def moved(transmittance, radiance):
        return surface_temperature(TABLE, 45.0, 0.9, Surroundings(25.0, 0.9, 4.0, 0.85 + transmittance, 6.0 + radiance))

    assert np.isfinite(kelvin)
    assert by_transmittance == pytest.approx((moved(step, 0) - moved(-step, 0)) / (2 * step), rel=1e-4)
    assert by_radiance == pytest.approx((moved(0, step) - moved(0, -step)) / (2 * step), rel=1e-4)
