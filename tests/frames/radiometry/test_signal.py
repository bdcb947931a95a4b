"""Stored numbers become band radiance by what flight.toml says, with masks and a stated doubt."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from groundglow.errors import FrameError
from groundglow.frames.radiometry import to_signal
from groundglow.model.band import lookup, nominal_band
from groundglow.model.sensing import Surroundings, surface_temperature
from groundglow.records.field import Reason
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Frame, Stamp, ValueKind

Flight = Callable[..., FlightSpec]

TABLE = lookup(nominal_band("7.5-13.5"))
LINEAR = {"form": "linear", "unit": "K", "coefficients": [20.0, 0.04]}


def frame(values: Any, spec: FlightSpec, **tags: Any) -> Frame:
    return Frame("a.tif", np.asarray(values), ValueKind(spec.values.kind), Stamp(), tags)


def uint16(*values: int) -> np.ndarray:
    return np.array([values], np.uint16)


def float32(*values: float) -> np.ndarray:
    return np.array([values], np.float32)


def test_counts_without_calibration_stay_counts(flight: Flight) -> None:
    """No slope, no kelvin, no doubt of a calibration that is not there."""
    spec = flight(values={"kind": "counts", "scale": 2.0, "offset": 1.0})
    signal = to_signal(frame(uint16(5000, 6000), spec), spec, TABLE)
    assert signal.unit == "counts"
    assert signal.slope is None
    assert signal.flight == {}
    np.testing.assert_array_equal(signal.value, [[10001, 12001]])
    assert any("no temperature can be stated" in note for note in signal.notes)


def test_calibrated_counts_are_black_body_radiance(flight: Flight) -> None:
    """20 + 0.04 x 7000 = 300 K."""
    spec = flight(calibration=LINEAR | {"standard_uncertainty_k": 1.5})
    signal = to_signal(frame(uint16(7000), spec), spec, TABLE)
    assert signal.unit == "W m-2 sr-1"
    assert float(TABLE.temperature(signal.value)[0, 0]) == pytest.approx(300.0, abs=1e-3)
    assert signal.slope is not None
    kelvin = signal.flight["calibration"] / signal.slope
    assert float(kelvin[0, 0]) == pytest.approx(1.5, rel=1e-6)
    assert signal.notes == ()


@pytest.mark.parametrize(
    ("values", "stored", "kelvin"),
    [
        ({"kind": "apparent_temperature", "unit": "C"}, float32(26.85), 300.0),
        ({"kind": "apparent_temperature", "unit": "K"}, float32(300.0), 300.0),
        ({"kind": "apparent_temperature", "unit": "K", "scale": 0.01}, uint16(30000), 300.0),
        ({"kind": "apparent_temperature", "unit": "C", "scale": 0.1, "offset": -100.0}, uint16(1268), 299.95),
    ],
)
def test_apparent_temperature_by_scale_offset_and_unit(
    flight: Flight, values: dict[str, Any], stored: np.ndarray, kelvin: float
) -> None:
    """quantity = scale x stored + offset, in the stated unit."""
    spec = flight(values=values)
    signal = to_signal(frame(stored, spec), spec, TABLE)
    assert float(TABLE.temperature(signal.value)[0, 0]) == pytest.approx(kelvin, abs=1e-3)


def test_radiance_passes_through(flight: Flight) -> None:
    """Delivered radiance is the signal."""
    spec = flight(values={"kind": "radiance", "unit": "W m-2 sr-1"})
    np.testing.assert_allclose(to_signal(frame(float32(50.0, 60.0), spec), spec, TABLE).value, [[50, 60]])


def test_a_calibration_of_unstated_doubt_gets_a_wide_one_and_a_note(flight: Flight) -> None:
    """5 K at most, rectangular: 2.9 K. A stated doubt or covariance needs no default."""
    spec = flight(calibration=LINEAR)
    signal = to_signal(frame(uint16(7000), spec), spec, TABLE)
    assert signal.slope is not None
    assert float((signal.flight["calibration"] / signal.slope)[0, 0]) == pytest.approx(5 / np.sqrt(3), rel=1e-6)
    assert any("not stated" in note for note in signal.notes)
    covered = flight(calibration=LINEAR | {"covariance": [[1.0, 0.0], [0.0, 1e-8]]})
    assert to_signal(frame(uint16(7000), covered), covered, TABLE).notes == ()


def test_ends_of_the_count_range_are_saturated(flight: Flight) -> None:
    """The camera's own ends where they are known, the file's ends always; values are kept as bounds."""
    spec = flight(calibration=LINEAR, camera={"saturation_counts": [100, 16383]})
    stored = uint16(0, 100, 7000, 16383, 65535)
    signal = to_signal(frame(stored, spec), spec, TABLE)
    saturated = Reason.SATURATED
    assert signal.mask.tolist() == [[saturated, saturated, Reason.GOOD, saturated, saturated]]
    assert np.isfinite(signal.value[0, 2:4]).all()
    plain = flight()
    mask = to_signal(frame(stored, plain), plain, TABLE).mask
    assert mask.tolist() == [[saturated, Reason.GOOD, Reason.GOOD, Reason.GOOD, saturated]]


def test_outside_the_calibrated_range_is_masked_and_kept(flight: Flight) -> None:
    """valid_c is in Celsius; 7000 counts are 26.85 C."""
    spec = flight(calibration=LINEAR | {"valid_c": [20.0, 30.0]})
    signal = to_signal(frame(uint16(6500, 7000, 7500), spec), spec, TABLE)
    assert signal.mask.tolist() == [[Reason.OUT_OF_RANGE, Reason.GOOD, Reason.OUT_OF_RANGE]]
    assert np.isfinite(signal.value).all()


def test_numbers_that_are_none_are_bad_pixels(flight: Flight) -> None:
    """NaN, infinity and the file's nodata have no value at all."""
    spec = flight(values={"kind": "apparent_temperature", "unit": "K"})
    signal = to_signal(frame(float32(300, np.nan, np.inf, -1), spec, nodata=-1.0), spec, TABLE)
    assert signal.mask.tolist() == [[Reason.GOOD, *[Reason.BAD_PIXEL] * 3]]
    assert np.isnan(signal.value[0, 1:]).all()
    assert np.isnan(signal.flight["calibration"][0, 1:]).all()


def test_temperatures_that_no_table_holds_are_out_of_range(flight: Flight) -> None:
    """Celsius read as kelvin shows at once."""
    spec = flight(values={"kind": "apparent_temperature", "unit": "K"})
    assert to_signal(frame(float32(20.0), spec), spec, TABLE).mask.tolist() == [[Reason.OUT_OF_RANGE]]


def test_a_picture_has_no_signal(flight: Flight) -> None:
    """The reason of the reader is handed on."""
    spec = flight(values={"kind": "picture"})
    with pytest.raises(FrameError, match="no temperature can be stated"):
        to_signal(frame(np.zeros((2, 2), np.uint8), spec), spec, TABLE)


SURFACE = {"kind": "surface_temperature", "unit": "C"}


def test_a_delivered_temperature_without_its_inputs_is_taken_as_it_is_with_wide_doubt(flight: Flight) -> None:
    """It is marked as corrected, so that nobody corrects it twice, and the note says why the doubt is wide."""
    spec = flight(values=SURFACE)
    signal = to_signal(frame(float32(20.0), spec), spec, TABLE)
    assert signal.corrected
    assert float(TABLE.temperature(signal.value)[0, 0]) == pytest.approx(293.15, abs=1e-3)
    assert signal.slope is not None
    assert float((signal.flight["delivered correction"] / signal.slope)[0, 0]) == pytest.approx(5.0, rel=1e-4)
    assert any("taken as delivered" in note for note in signal.notes)


def test_a_delivered_temperature_with_all_its_inputs_is_undone(flight: Flight) -> None:
    """Corrected again with the same inputs, the delivered temperature comes out."""
    said = {"emissivity": 0.9, "reflected_c": -20.0, "air_c": 10.0, "relative_humidity_pct": 50.0, "distance_m": 0.0}
    spec = flight(values=SURFACE | said)
    signal = to_signal(frame(float32(20.0, 35.0), spec), spec, TABLE)
    assert not signal.corrected
    around = Surroundings(TABLE.radiance(253.15), 1.0, 0.0)
    again = surface_temperature(TABLE, signal.value.astype(float), 0.9, around)
    np.testing.assert_allclose(again, [[293.15, 308.15]], atol=2e-3)


def test_the_air_that_a_recorder_assumed_is_undone_too(flight: Flight) -> None:
    """A warm roof through cold air: the camera saw less than the corrected value says; its doubt is small."""
    said = {"emissivity": 1.0, "reflected_c": 10.0, "air_c": 10.0, "relative_humidity_pct": 60.0}
    near, far = (flight(values=SURFACE | said | {"distance_m": d}) for d in (0.0, 300.0))
    at_surface, at_camera = (to_signal(frame(float32(40.0), s), s, TABLE) for s in (near, far))
    assert at_camera.value[0, 0] < at_surface.value[0, 0]
    assert at_camera.slope is not None
    kelvin = abs(at_camera.flight["delivered correction"] / at_camera.slope)
    assert 0 < float(kelvin[0, 0]) < 1.5


def test_air_that_was_not_told_is_taken_as_none_with_doubt(flight: Flight) -> None:
    """Emissivity alone undoes the reflection; the air stays a doubt and a note."""
    spec = flight(values=SURFACE | {"emissivity": 0.95, "reflected_c": -20.0})
    signal = to_signal(frame(float32(20.0), spec), spec, TABLE)
    expected = 0.95 * TABLE.radiance(293.15) + 0.05 * TABLE.radiance(253.15)
    assert float(signal.value[0, 0]) == pytest.approx(float(expected), rel=1e-5)
    assert any("is not said (air_c" in note for note in signal.notes)
    assert abs(float(signal.flight["delivered correction"][0, 0])) > 0


def test_levelled_values_are_masked_by_what_was_recorded(flight: Flight) -> None:
    """Taking a level off must not hide that a pixel was at the end of its range, nor make one saturated."""
    spec = flight(calibration=LINEAR | {"coefficients": [280.0, 0.004]}, camera={"saturation_counts": [100, 16383]})
    recorded = frame(uint16(7000, 16383, 120), spec)
    levelled = frame(recorded.values.astype(np.float32) - 40, spec)
    assert to_signal(levelled, spec, TABLE).mask[0, 1:].tolist() == [Reason.GOOD, Reason.SATURATED]
    signal = to_signal(levelled, spec, TABLE, recorded=recorded)
    assert signal.mask.tolist() == [[Reason.GOOD, Reason.SATURATED, Reason.GOOD]]
    assert float(TABLE.temperature(signal.value)[0, 0]) == pytest.approx(280 + 0.004 * 6960, abs=1e-3)
