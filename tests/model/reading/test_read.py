"""One reading, or many: value, doubt in three parts, interval, and which way it was made."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.band import lookup, nominal_band
from groundglow.model.doubt import COVERAGE_95, combined
from groundglow.model.reading import (
    CameraDoubt,
    Situation,
    Stated,
    apparent_temperature,
    camera_doubt,
    reading_budget,
    reading_with_interval,
    sky_factor,
)
from groundglow.model.through_air import surface_temperature_through_air

BAND = nominal_band("7.5-13.5")
CAMERA = camera_doubt(BAND, noise=Stated(0.0, 0.05), calibration=Stated(0.0, 1.0), drift=Stated(0.0, 0.3))
ROOF = Situation(Stated(0.93, 0.02), Stated(245.0, 8.0), Stated(283.15, 1.0), Stated(0.6, 0.05), Stated(60.0, 2.0))
METAL = Situation(Stated(0.05, 0.02), Stated(215.0, 8.0), Stated(268.15, 1.0), Stated(0.4, 0.05), Stated(60.0, 2.0))


@pytest.mark.parametrize("metres", [1.0, 100.0, 1000.0])
@pytest.mark.parametrize("mirrored", [240.0, 300.0])
def test_values_are_those_of_the_model_through_air(metres: float, mirrored: float) -> None:
    """With the sky's factor on what is reflected: 10 mK."""
    table, kelvin = lookup(BAND), np.array([270.0, 300.0, 340.0])
    around = Situation(0.9, mirrored, 288.15, 0.6, metres)
    ours = reading_with_interval(BAND, kelvin, around, CAMERA).temperature
    theirs = surface_temperature_through_air(
        table,
        table.radiance(kelvin),
        emissivity=0.9,
        reflected_radiance=float(sky_factor(BAND, around) * table.radiance(mirrored)),
        distance=metres,
        air_temperature=288.15,
        relative_humidity=0.6,
    ).temperature
    np.testing.assert_allclose(ours, theirs, atol=0.02)


@pytest.mark.parametrize("around", [ROOF, METAL, Situation(1.0, 300.0, 300.0, 0.5, 5.0)])
def test_reading_is_the_inverse_of_what_is_shown(around: Situation) -> None:
    kelvin = np.array([250.0, 290.0, 350.0, 420.0])
    shown = apparent_temperature(BAND, kelvin, around)
    np.testing.assert_allclose(reading_with_interval(BAND, shown, around, CAMERA).temperature, kelvin, atol=0.02)


def test_even_surroundings_show_their_temperature_whatever_the_emissivity() -> None:
    even = Situation(np.array([0.1, 0.5, 1.0]), 300.0, 300.0, 0.5, 100.0)
    np.testing.assert_allclose(apparent_temperature(BAND, 300.0, even), 300.0, atol=1e-3)


def test_first_order_holds_for_a_dull_roof_and_not_for_bare_metal() -> None:
    dull = reading_with_interval(BAND, 288.0, ROOF, CAMERA)
    bare = reading_with_interval(BAND, float(apparent_temperature(BAND, 300.0, METAL)), METAL, CAMERA)
    assert bool(dull.first_order)
    assert not bool(bare.first_order)
    half = COVERAGE_95 * combined(dull.doubt)
    assert (float(dull.low), float(dull.high)) == pytest.approx((dull.temperature - half, dull.temperature + half))


def test_where_all_may_be_reflected_the_interval_is_open_below() -> None:
    dark = reading_with_interval(BAND, float(apparent_temperature(BAND, 250.0, METAL)), METAL, CAMERA)
    assert float(dark.low) == -np.inf
    assert np.isfinite(float(dark.high))


def test_a_reading_without_a_solution_keeps_an_upper_end() -> None:
    none = reading_with_interval(BAND, float(apparent_temperature(BAND, 250.0, METAL)) - 8.0, METAL, CAMERA)
    assert np.isnan(float(none.temperature))
    assert np.isnan(float(combined(none.doubt)))
    assert not bool(none.first_order)
    assert float(none.high) > 200


def test_limits_of_error_that_rule_give_a_narrower_interval_than_a_normal_error() -> None:
    """A rectangle of standard deviation u ends at 1.73 u and holds 95 % within 1.65 u; 1.96 u would be too wide."""
    black = Situation(1.0, 300.0, 300.0, 0.5, 0.0)
    found = reading_with_interval(BAND, 300.0, black, CameraDoubt(calibration=Stated(0.0, 2.0, "rectangular")))
    assert not bool(found.first_order)
    assert float(found.high - found.low) / 2 == pytest.approx(0.95 * 3**0.5 * 2.0, rel=0.02)


def test_an_emissivity_near_one_cannot_be_above_one() -> None:
    """The upper end of 0.99 +- 0.02 is 1: a warm surface cannot be much colder than it shows."""
    warm = Situation(Stated(0.99, 0.02), Stated(230.0, 1.0), 263.15, 0.3, 0.0)
    found = reading_with_interval(BAND, 300.0, warm, CameraDoubt(calibration=Stated(0.0, 0.05)))
    assert not bool(found.first_order)
    assert float(found.low) > 299.8
    assert float(found.high) - float(found.temperature) > 2 * (float(found.temperature) - float(found.low))


def test_humidity_near_saturation_is_cut_there() -> None:
    wet = Situation(0.95, 290.0, Stated(293.15, 0.1), Stated(0.99, 0.1), 500.0)
    found = reading_with_interval(BAND, 330.0, wet, CameraDoubt())
    assert np.isfinite([float(found.low), float(found.high)]).all()
    assert float(found.low) < float(found.temperature) < float(found.high)


def test_doubt_is_kept_in_its_three_parts() -> None:
    doubt = reading_with_interval(BAND, 288.0, ROOF, CAMERA).doubt
    assert set(doubt.frame) == {"drift"}
    assert "calibration" in doubt.flight
    assert {"emissivity", "reflected temperature", "spectra", "transmittance"} < set(doubt.flight)
    assert float(doubt.independent) == pytest.approx(0.05 * abs(float(doubt.flight["calibration"])), rel=1e-6)


def test_many_readings_are_as_each_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    """Solved in blocks, of any shape."""
    shown = np.linspace(275.0, 300.0, 6).reshape(2, 3)
    monkeypatch.setattr("groundglow.model.reading.read.AT_ONCE", 4)
    many = reading_with_interval(BAND, shown, ROOF, CAMERA)
    assert many.temperature.shape == many.low.shape == many.doubt.flight["emissivity"].shape == (2, 3)
    one = reading_with_interval(BAND, shown[1, 2], ROOF, CAMERA)
    assert float(many.temperature[1, 2]) == pytest.approx(float(one.temperature))
    assert float(many.high[1, 2]) == pytest.approx(float(one.high))


def test_a_budget_adds_up_to_the_doubt() -> None:
    budget = reading_budget(BAND, 288.0, ROOF, CAMERA)
    found = reading_with_interval(BAND, 288.0, ROOF, CAMERA)
    assert budget.value == pytest.approx(float(found.temperature))
    assert budget.standard_uncertainty == pytest.approx(float(combined(found.doubt)))
    assert sum(line.share for line in budget.lines) == pytest.approx(1.0)
    parts = {line.quantity.name: line.quantity.part for line in budget.lines}
    assert (parts["noise"], parts["drift"], parts["calibration"]) == ("independent", "frame", "flight")


def test_a_measured_response_leaves_no_doubt_of_it() -> None:
    known = CameraDoubt(noise=Stated(0.0, 0.05), calibration=Stated(0.0, 1.0))
    lines = {line.quantity.name: line.contribution for line in reading_budget(BAND, 288.0, ROOF, known).lines}
    assert [lines[f"response, {part}"] for part in ("short edge", "long edge", "tilt")] == [0.0] * 3


def test_only_a_sky_has_a_passage_of_its_own() -> None:
    warm, sky = Situation(0.9, 300.0, 288.15, 0.6, 200.0), Situation(0.9, 240.0, 288.15, 0.6, 200.0)
    assert float(sky_factor(BAND, warm)) == 1.0
    assert float(sky_factor(BAND, sky)) < 0.95
