"""What is known of a reading: checked by name, broadcast, and the doubt of a band that is only nominal."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError, RangeError
from groundglow.model.band import ideal_band, nominal_band
from groundglow.model.reading import (
    NOMINAL_EDGE_SD,
    NOMINAL_TILT_SD,
    CameraDoubt,
    Situation,
    Stated,
    camera_doubt,
)

GOOD = {
    "emissivity": 0.95,
    "reflected_temperature": 250.0,
    "air_temperature": 288.15,
    "relative_humidity": 0.5,
    "distance": 50.0,
}


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("emissivity", 95.0),
        ("emissivity", 0.0),
        ("reflected_temperature", -20.0),
        ("air_temperature", 15.0),
        ("relative_humidity", 50.0),
        ("distance", -1.0),
    ],
)
def test_a_slip_of_units_is_named(name: str, value: float) -> None:
    with pytest.raises(RangeError, match=name):
        Situation(**{**GOOD, name: value})


def test_inputs_broadcast_and_are_cut_into_parts() -> None:
    around = Situation(**{**GOOD, "distance": Stated(np.array([[10.0], [20.0]]), 1.0), "visibility": [1e4, 2e4, 3e4]})
    assert around.shape == (2, 3)
    part = around.flat((2, 3)).part(slice(3, 5))
    assert part.of("distance").arrays[0].tolist() == [20.0, 20.0]
    assert np.asarray(part.visibility).tolist() == [1e4, 2e4]


def test_only_a_nominal_band_is_in_doubt() -> None:
    known = camera_doubt(ideal_band(8e-6, 14e-6), noise=Stated(0.0, 0.05), calibration=0.0)
    assert not any(known.of(name).arrays[1] for name in ("short_edge", "long_edge", "tilt"))
    guessed = camera_doubt(nominal_band("8-14"), noise=0.0, calibration=0.0)
    spreads = [float(guessed.of(name).arrays[1]) for name in ("short_edge", "long_edge", "tilt")]
    assert spreads == [NOMINAL_EDGE_SD, NOMINAL_EDGE_SD, NOMINAL_TILT_SD]


def test_a_response_known_to_be_moved_is_another_band() -> None:
    with pytest.raises(InputError, match="another band"):
        CameraDoubt(long_edge=0.1e-6)


def test_errors_of_the_camera_broadcast() -> None:
    errors = CameraDoubt(noise=Stated(0.0, [0.1, 0.2]), drift=Stated([[0.0], [1.0]], 0.3))
    assert errors.shape == (2, 2)
    assert errors.flat((2, 2)).part(slice(2, 4)).of("noise").arrays[1].tolist() == [0.1, 0.2]
