"""One way to find a thing by its id or another name: for targets, pairs and whatever else a table holds."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from groundglow.errors import InputError
from groundglow.kit.fleet import check_kit, fleet_with
from groundglow.kit.lookup import named
from groundglow.kit.targets import target


@dataclass(frozen=True)
class Thing:
    id: str
    aliases: tuple[str, ...] = ()


THINGS = {"hot-clamp": Thing("hot-clamp", ("clamp", "hot clamp/conductor")), "clamp-body": Thing("clamp-body")}


@pytest.mark.parametrize("written", ["hot-clamp", "Hot clamp", " HOT-CLAMP ", "clamp", "Hot Clamp/Conductor"])
def test_ids_and_other_names_are_found_as_people_write_them(written: str) -> None:
    assert named(written, THINGS, what="pair").id == "hot-clamp"


def test_an_id_comes_before_another_name() -> None:
    every = {**THINGS, "clamp": Thing("clamp")}
    assert named("clamp", every, what="pair").id == "clamp"


def test_what_is_not_there_is_answered_with_the_near_name_and_what_to_do() -> None:
    with pytest.raises(InputError) as told:
        named("clampp", THINGS, what="pair", else_=" Or write one.")
    assert str(told.value) == "pair 'clampp' is not known; did you mean 'clamp'? Or write one."


def test_other_names_of_a_target_of_ones_own_are_found_and_checked(tmp_path: Path) -> None:
    text = """
[target.hive]
name = "a bee hive"
source = "measured"
aliases = ["beehive"]
material = "wood, weathered"
length_m = 0.5
width_m = 0.4
height_m = 0.6
rise_k = 3
clutter_k = 0.5
"""
    path = tmp_path / "kit.toml"
    path.write_text(text)
    assert target("Beehive", fleet_with(path).targets).id == "hive"
    path.write_text(text.replace('["beehive"]', '"beehive"'))
    assert "a list of names is wanted" in "\n".join(check_kit(path)[1])
