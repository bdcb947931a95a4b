"""Questions as people write them: units, contradictions, the shape of the work, places that cannot be meant."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.frames.outline import Zone
from groundglow.records.brief import FitQuestion, Limits, Site
from groundglow.records.fit import Ask
from groundglow.steps.fit import Setting, ask_of


def asked(setting: Setting | None = None, **fields: Any) -> Ask:
    return ask_of(FitQuestion.parse({"target": "clamp", "name": "q", **fields}, "brief.toml"), setting)


def box(lon: float, lat: float, east: float, north: float, name: str = "field") -> Zone:
    ring = np.array([[lon, lat], [lon + east, lat], [lon + east, lat + north], [lon, lat + north], [lon, lat]])
    return Zone(name, "", ((ring,),))


HERE = Site(name="s", lon_deg=11.0005, lat_deg=48.0005)


def test_feet_and_metres_ask_the_same() -> None:
    assert asked(distance="100 ft").distance == pytest.approx(asked(distance="30.48 m").distance)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"distance": "80"}, "q: distance: '80' has no unit"),
        ({"distance": 80}, "q: distance: 80.* has no unit"),
        ({"task": "measure"}, "accuracy is missing"),
        ({"task": "measure", "accuracy": "0 K"}, "no measurement is exact"),
        ({"probability": 1.0}, "nothing is seen for certain"),
        ({"probability": "95"}, "outside 0 to 1"),
        ({"nearest": "80 m", "highest": "60 m"}, "limits contradict each other: nearest 80 m is above highest 60 m"),
        ({"distance": "80 m", "highest": "60 m"}, "distance 80 m contradicts the limits"),
        ({"distance": "5 m", "nearest": "10 m"}, "distance 5 m contradicts the limits"),
        ({"area": "5 ha", "length_of_line": "3 km"}, "area and length contradict each other"),
        ({"area": "0 ha"}, "area is 0"),
        ({"rise": "5 K", "temperature": "40 C"}, "both rise and temperature are given"),
        ({"air_lowest": "20 C", "air_highest": "10 C"}, "air_lowest is above air_highest"),
        ({"hour": 22}, "no hours can be told apart without a place and a date"),
        ({"date": "21/6/2026"}, "is no date; write for example 2026-06-21"),
        ({"recording": "raw fames"}, "did you mean 'raw frames'"),
        ({"zone": "roof"}, "there is no zone 'roof'"),
        ({"target": None}, "length and width with a material"),
        ({"target": None, "length": "1 m", "width": "1 m"}, "material is missing"),
        ({"target": None, "length": "1 m", "width": "1 m", "material": "wood"}, "neither rise nor temperature"),
        ({"target": None, "length": "0 m", "width": "1 m", "material": "wood", "rise": "1 K"}, "sides above 0"),
        ({"clutter": "0 K"}, "clutter is 0"),
        ({"background": "gras"}, "Near names: grass"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_said(fields: dict[str, Any], said: str) -> None:
    with pytest.raises(InputError, match=said):
        asked(**fields)


def test_a_misspelt_field_is_answered_with_the_near_one() -> None:
    with pytest.raises(InputError, match="did you mean distance"):
        asked(distanse="3 m")


@pytest.mark.parametrize(
    ("site", "zones", "land", "said"),
    [
        (Site(name="s", lon_deg=0.0, lat_deg=0.0), (), (), "lies in the sea off Africa"),
        (Site(name="s", lon_deg=48.0, lat_deg=11.0), (box(11, 48, 0.001, 0.001),), (), "swapped it would lie there"),
        (
            Site(name="s", lon_deg=-11.0, lat_deg=48.0),
            (box(11, 48, 0.001, 0.001),),
            (),
            "check the order, and",
        ),
        (HERE, (), (box(12, 47, 2, 2, "land"),), "lies outside of the land that you gave: in the water"),
        (HERE, (box(11, 48, 0.001, 0.001),), (box(11.0003, 47, 2, 2, "land"),), "30 % of zone 'field' lies outside"),
    ],
)
def test_a_place_in_the_sea_or_swapped_is_refused(site: Site, zones: Any, land: Any, said: str) -> None:
    with pytest.raises(InputError, match=said):
        asked(Setting(site=site, zones=zones, land=land))


def test_a_place_on_the_land_that_was_given_passes() -> None:
    ask = asked(Setting(site=HERE, zones=(box(11, 48, 0.001, 0.001),), land=(box(10, 47, 2, 2, "land"),)))
    assert (ask.lon_deg, ask.lat_deg) == (11.0005, 48.0005)


def test_the_shape_of_the_work_is_deduced() -> None:
    """A degree of latitude is 111.17 km at 47 to 48 degrees (WGS 84): the boxes' sizes follow."""
    field = asked(Setting(site=HERE, zones=(box(11, 48, 0.001, 0.001),))).work
    line = asked(Setting(site=HERE, zones=(box(11, 48, 0.1, 0.001),))).work
    assert (field.shape, line.shape) == ("area", "line")
    assert field.area == pytest.approx(111.2 * 74.6, rel=0.01)
    assert line.length == pytest.approx(7460, rel=0.01)
    assert asked(face=["30 m", "20 m"]).work.face == (30.0, 20.0)
    assert asked().work.shape == "point"


def test_numbers_win_over_an_outline() -> None:
    assert asked(Setting(site=HERE, zones=(box(11, 48, 0.001, 0.001),)), area="2 ha").work.area == 20000.0


def test_an_upright_face_is_seen_from_the_side() -> None:
    assert asked(target="wet-roof").view == "above"
    assert asked(target="wet-roof", face=["30 m", "20 m"]).view == "side"


def test_limits_of_the_brief_hold_where_the_question_says_nothing() -> None:
    ask = asked(Setting(limits=Limits(highest_m=60.0, people_near=True, live_parts=True)))
    assert (ask.highest, ask.people_near, ask.live_parts) == (60.0, True, True)
    assert asked(Setting(limits=Limits(live_parts=True)), live_parts=False).live_parts is False


def test_what_nobody_said_is_listed() -> None:
    assert "air of 10 °C at its coldest" in asked().notes[0]
    full = asked(air_lowest="1 C", air_highest="9 C", humidity="50 %", wind="2 m/s", cloud="0 %", load="80 %")
    assert full.notes == ()
    assert full.sky.load_fraction == 0.8


def test_a_target_told_by_its_rise_is_measured_by_its_rise() -> None:
    assert asked(task="measure", accuracy="5 K").of == "rise"
    assert asked(target="person", task="measure", accuracy="5 K").of == "temperature"
