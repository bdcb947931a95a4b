"""What a reading is computed with: as said, as recorded, or a wide default that says so."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError, RangeError
from groundglow.model.surface import emissivity_at_angle, material
from groundglow.records.visit import CONDITION_DEFAULTS, Conditions
from groundglow.steps.measure.asking.knowns import (
    Known,
    Said,
    distance_said,
    emissivity_said,
    reflected_said,
    weather_said,
)

RECORDED = Conditions(
    np.array([0.0, 100.0]), {"air_temperature": np.array([280.0, 290.0])}, {"air_temperature": np.array([0.5, 0.5])}
)


def test_what_nobody_said_gets_the_wide_default_and_is_called_assumed() -> None:
    air = weather_said(Said())
    for name, quantity in (("air temperature", "air_temperature"), ("relative humidity", "relative_humidity")):
        known = air[name]
        assert (known.value, known.standard_uncertainty) == CONDITION_DEFAULTS[quantity]
        assert known.assumed


def test_recorded_weather_is_taken_at_the_frames_time_with_its_own_doubt() -> None:
    air = weather_said(Said(), RECORDED, 50.0)["air temperature"]
    assert (air.value, air.standard_uncertainty, air.origin) == (285.0, 0.5, "conditions.csv")


def test_what_is_said_wins_over_what_is_recorded() -> None:
    air = weather_said(Said(air_c=3.0, air_sd_k=0.2), RECORDED, 50.0)["air temperature"]
    assert (air.value, air.standard_uncertainty, air.origin) == (276.15, 0.2, "given")


def test_a_doubt_alone_changes_only_the_doubt() -> None:
    air = weather_said(Said(air_sd_k=2.5), RECORDED, 50.0)["air temperature"]
    assert (air.value, air.standard_uncertainty, air.origin, air.doubt_origin) == (
        285.0,
        2.5,
        "conditions.csv",
        "given",
    )


def test_a_value_without_a_doubt_gets_one_that_is_called_assumed() -> None:
    known = weather_said(Said(humidity_pct=80.0))["relative humidity"]
    assert known.doubt_origin == "assumed"
    assert known.standard_uncertainty > 0


def test_a_posed_distance_holds_until_another_is_said() -> None:
    posed = Known("distance", 42.0, 1.5, "m", "poses", "poses")
    assert distance_said(Said(), posed) == posed
    assert distance_said(Said(distance_m=20.0), posed).origin == "given"
    assert distance_said(Said()).assumed


def test_a_material_brings_its_emissivity_at_the_view_angle() -> None:
    seen = emissivity_said(Said(material="water", view_angle_deg=60.0), "7.5-13.5")
    assert seen is not None
    assert seen.emissivity.value == pytest.approx(
        float(emissivity_at_angle(material("water"), np.deg2rad(60.0), band="7.5-13.5"))
    )
    assert seen.mirror_like
    # A level mirror seen at 60 degrees mirrors the sky 60 degrees from the zenith: twice this tilt.
    assert seen.tilt == pytest.approx(np.deg2rad(30.0))


def test_a_level_matt_surface_faces_the_whole_sky_however_it_is_seen() -> None:
    seen = emissivity_said(Said(material="concrete", view_angle_deg=50.0), "7.5-13.5")
    assert seen is not None
    assert seen.tilt == 0.0


def test_nothing_said_of_the_surface_is_no_surface() -> None:
    assert emissivity_said(Said(), "7.5-13.5") is None


def test_without_a_reflected_temperature_it_is_the_skys() -> None:
    assert reflected_said(Said()) is None
    known = reflected_said(Said(reflected_c=-10.0))
    assert known is not None
    assert known.value == pytest.approx(263.15)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (Said(emissivity=95.0), "percent"),
        (Said(emissivity=0.0), "above 0"),
        (Said(emissivity=0.9, emissivity_sd=-0.1), "0 or more"),
        (Said(emissivity=0.9, tilt_deg=10.0, view_angle_deg=10.0), "not both"),
        (Said(emissivity=0.9, view_angle_deg=90.0), "view angle"),
        (Said(material="conrete"), "concrete"),
    ],
)
def test_a_surface_that_cannot_be_is_refused_in_words(said: Said, words: str) -> None:
    with pytest.raises(InputError, match=words):
        emissivity_said(said, "7.5-13.5")


def test_weather_beyond_the_air_model_is_refused() -> None:
    with pytest.raises(RangeError, match="air_temperature"):
        weather_said(Said(air_c=285.0))
    with pytest.raises(RangeError, match="distance"):
        distance_said(Said(distance_m=-3.0))
