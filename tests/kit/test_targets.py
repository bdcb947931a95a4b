"""Ready-made targets: sized, sourced, possible, found under the names that people use."""

from __future__ import annotations

from pathlib import Path

import pytest

from groundglow.errors import InputError
from groundglow.kit.fleet import check_kit, fleet_with
from groundglow.kit.targets import target, targets
from groundglow.model.ground import grounds

#: What the trade asks about, and the longest side that such a thing can have, m (common practice, no source).
ASKED = {
    "person-standing": 1.0, "person-lying": 2.1, "cattle": 3.0, "photovoltaic-cell": 0.25, "photovoltaic-module": 2.5,
    "clamp": 0.5, "insulator": 0.5, "wet-roof-patch": 5.0, "pond-leak": 10.0, "small-fire": 1.0,
}  # fmt: skip


def test_all_targets_that_are_asked_about_are_there_and_possible() -> None:
    assert set(ASKED) == set(targets())
    for name, most in ASKED.items():
        of = target(name)
        assert 0.05 < of.width <= of.length <= most, name
        assert 0.5 < of.emissivity <= 1, name
        assert of.background in {"", *grounds()}, name


def test_every_figure_says_where_it_comes_from() -> None:
    for of in targets().values():
        assert {"length_m", "width_m", "clutter_k", "emissivity"} <= set(of.sources)
        assert all(source.strip() for source in of.sources.values())


def test_what_can_hurt_carries_a_caution() -> None:
    assert "trained" in target("person").caution
    assert "licensed" in target("clamp").caution
    assert "Roofs" in target("wet-roof").caution
    assert "Fire" in target("fire").caution


def test_names_that_people_use_are_found_and_misspelt_ones_answered() -> None:
    assert target("Solar cell").id == "photovoltaic-cell"
    assert target("cow").id == "cattle"
    with pytest.raises(InputError, match="did you mean 'clamp'"):
        target("clmp")


def test_a_person_is_smaller_from_above_than_from_the_side() -> None:
    of = target("person-standing")
    assert of.sides("above") == (0.5, 0.3)
    assert of.sides("side") == (1.75, 0.5)


def test_a_target_of_ones_own_comes_from_the_kit_file(tmp_path: Path) -> None:
    text = """
[target.hive]
name = "a bee hive"
source = "measured"
material = "wood, weathered"
background = "grass"
length_m = 0.5
width_m = 0.4
height_m = 0.6
rise_k = 3
clutter_k = 0.5
"""
    path = tmp_path / "kit.toml"
    path.write_text(text)
    assert target("hive", fleet_with(path).targets).warmth.rise == 3.0
    path.write_text(text.replace("rise_k = 3", "rise_k = 3\ncore_c = 30\nshare = 0.5"))
    assert "its warmth is told by rise_k, core_c; give one" in "\n".join(check_kit(path)[1])
    path.write_text(text.replace('"grass"', '"gras"'))
    assert "did you mean 'grass'" in "\n".join(check_kit(path)[1])
    path.write_text(text.replace('"wood, weathered"', '"wod"'))
    assert "No material named 'wod'" in "\n".join(check_kit(path)[1])
