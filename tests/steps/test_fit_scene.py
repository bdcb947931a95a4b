"""Through the hours: what is warm when, and what is said where place or date are not known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.kit.targets import target
from groundglow.records.fit import Ask, Sky, Work
from groundglow.steps.fit.air import band_of, seen_through
from groundglow.steps.fit.scene import SUN_WITHOUT_PLACE, scene_of

BASE = Ask(
    "q", target("cell"), "detect", 0.9, None, 30.0, 5.0, 120.0, Work("point", ""), Sky(280.0, 292.0), lat_deg=44.0,
    lon_deg=7.0, day=1782907200.0,
)  # fmt: skip


def test_a_cell_rises_with_the_sun_and_not_at_night() -> None:
    rise = scene_of(BASE).rise
    assert rise[0] == rise[23] == 0.0
    assert rise.argmax() in (11, 12, 13)
    assert 5.0 < rise.max() < 15.0  # 15 K at 1000 W/m2, some cloud


def test_the_load_counts_by_its_square() -> None:
    clamp = replace(BASE, target=target("clamp"), sky=replace(BASE.sky, load_fraction=0.5))
    assert scene_of(clamp).rise == pytest.approx(np.full(24, 20.0 * 0.25))


def test_a_person_lies_between_air_and_skin() -> None:
    scene = scene_of(replace(BASE, target=target("person")))
    assert (scene.target > scene.air).all()
    assert (scene.target < 306.15).all()
    assert (scene.rise_sd > 0.5).all()


def test_the_sun_warms_a_person_by_8_k_at_1000_w_m2_and_not_at_night() -> None:
    """The table's own figure; without it a person in the sun would be as warm as one in the shade."""
    person = target("person")
    shaded = replace(person, warmth=replace(person.warmth, sun=0.0))
    scene, other = (scene_of(replace(BASE, target=of)) for of in (person, shaded))
    assert scene.target - other.target == pytest.approx(8.0 * scene.sun / 1000.0)
    assert scene.sun.max() > 600.0
    assert scene.target[0] == other.target[0]


def test_the_doubt_of_a_persons_warmth_by_hand() -> None:
    """At night 10 C: share 0.35 of 1.5 K, and 0.1 of 23 K between air and skin: 2.36 K."""
    ask = replace(BASE, target=target("person"), day=None, sky=Sky(283.15, 283.15))
    assert scene_of(ask).rise_sd == pytest.approx(np.hypot(0.35 * 1.5, 0.1 * 23.0))


def test_the_spread_of_a_roof_is_what_a_hundredth_of_emissivity_makes_at_night() -> None:
    """Felt from sheet to sheet: 0.01 of emissivity (common practice, no source) before a clear night sky."""
    ask = replace(BASE, target=target("wet-roof"), sky=Sky(281.0, 293.0, cloud_fraction=0.0))
    scene = scene_of(ask)
    band = band_of((7.5e-6, 13.5e-6))
    level = replace(ask.target, only_at="")
    seen = [
        seen_through(replace(ask, target=replace(level, emissivity=scene.background_emissivity + by)), plain, band).rise
        for by in (0.01, 0.0)
        for plain in (replace(scene, target=scene.background, kept={}),)
    ]
    night = scene.sun == 0
    assert np.abs(seen[0] - seen[1])[night].mean() == pytest.approx(ask.target.clutter, abs=0.1)


def test_a_roof_is_looked_for_at_night_alone() -> None:
    """ASTM C1153, scope: night imaging."""
    ask = replace(BASE, target=target("wet-roof"))
    scene = scene_of(ask)
    seen = seen_through(ask, scene, band_of((7.5e-6, 13.5e-6)))
    assert (seen.sure_rise[scene.sun > 0] == 0).all()
    assert np.abs(seen.sure_rise[scene.sun == 0]).max() > 0.5
    assert scene.hidden(ask.target).sum() == (scene.sun > 0).sum() > 8


def test_errors_that_both_bodies_share_leave_the_rise_of_a_wet_roof() -> None:
    wet = scene_of(replace(BASE, target=target("wet-roof")))
    dry = scene_of(replace(BASE, target=replace(target("person"), background="flat roof, bitumen on dry insulation")))
    assert (wet.rise_sd < dry.rise_sd).all()
    assert wet.rise[13] < 0 < wet.rise[21]  # wet insulation warms and cools later


def test_without_place_or_date_one_hour_stands_for_all_and_says_so() -> None:
    scene = scene_of(replace(BASE, day=None))
    assert not scene.known
    assert scene.size == 1
    assert scene.sun[0] == SUN_WITHOUT_PLACE
    assert scene.rise[0] == pytest.approx(15.0 * SUN_WITHOUT_PLACE / 1000.0)
    assert "place or date unknown" in scene.notes[0]


def test_a_target_of_the_ground_model_needs_place_and_date() -> None:
    with pytest.raises(InputError, match="say lon_deg, lat_deg and date"):
        scene_of(replace(BASE, target=target("wet-roof"), lat_deg=None))


def test_the_doubt_of_the_ground_is_taken_off_the_rise_and_never_turns_it() -> None:
    ask = replace(BASE, target=target("person"))
    scene = scene_of(ask)
    seen = seen_through(ask, scene, band_of((7.5e-6, 13.5e-6)))
    assert (np.abs(seen.sure_rise) <= np.abs(seen.rise)).all()
    assert (seen.sure_rise * seen.rise >= 0).all()


def test_equal_questions_share_one_scene() -> None:
    assert scene_of(BASE) is scene_of(replace(BASE, name="other", distance=80.0))
    assert scene_of(BASE) is not scene_of(replace(BASE, sky=Sky(281.0, 292.0)))
