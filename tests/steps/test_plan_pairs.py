"""Ready-made pairs of plan against the ready-made targets of fit: one thing has one clutter."""

import pytest

from groundglow.kit.targets import targets
from groundglow.steps.plan.pairs import pair, pairs

SAME = {
    "person-on-grass": ("person-standing", "person-lying"),
    "wet-on-dry-roof": ("wet-roof-patch",),
    "faulty-module": ("photovoltaic-module",),
    "hot-clamp": ("clamp",),
    "leak-in-pond": ("pond-leak",),
    "cattle-on-pasture": ("cattle",),
}
NO_TARGET = {"buried-pipe"}


def test_every_pair_is_held_against_its_target_or_named_as_having_none() -> None:
    assert set(SAME) | NO_TARGET == set(pairs())


@pytest.mark.parametrize(("id", "name"), [(id, name) for id, names in SAME.items() for name in names])
def test_clutter_of_a_pair_is_that_of_its_target(id: str, name: str) -> None:
    assert pair(id).number("clutter_k") == targets()[name].clutter
