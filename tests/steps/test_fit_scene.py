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
