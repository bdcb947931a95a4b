"""Planted faults: enough at each level, apart from each other, large enough for the flight that must show them."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from groundglow.simulate.site.build import build_site
from groundglow.simulate.site.decoys import Decoys
from groundglow.simulate.site.faults import LEVELS, Fault, place_faults
from groundglow.simulate.site.grounds import BOUNDS
from groundglow.simulate.site.paint import Scene, paint_scene
from groundglow.simulate.site.parts import Grid
from groundglow.simulate.site.texture import make_texture

Placed = tuple[list[Fault], Decoys, Scene]
OVERVIEW_SAMPLING_M = 60.0 * 12e-6 / 13e-3


@pytest.fixture(scope="module", params=[1, 2])
def placed(request: pytest.FixtureRequest) -> Placed:
    """Faults of two sites."""
    rng = np.random.default_rng(request.param)
    site, decoys = build_site(rng)
    scene = paint_scene(site, Grid.spanning(BOUNDS, 0.05), make_texture(rng, BOUNDS), rng)
    return place_faults(scene, decoys, rng), decoys, scene


def test_there_are_enough_faults_at_each_level(placed: Placed) -> None:
    """At least four spots at 1.5, 2, 3, 5 and 10 times the limit, hot and cold, and two areas."""
    spots = [f for f in placed[0] if f.form == "spot"]
    assert LEVELS == (1.5, 2.0, 3.0, 5.0, 10.0)
    assert min(Counter(f.level for f in spots).values()) >= 4
    assert {f.sign for f in spots} == {-1, 1}
    assert sorted(f.kind for f in placed[0] if f.form == "area") == ["warm inflow", "wet roof patch"]


def test_spots_span_three_pixels_or_are_meant_for_the_close_pass(placed: Placed) -> None:
    """Sizes lie between 0.12 and 0.6 m."""
    for fault in (f for f in placed[0] if f.form == "spot"):
        assert 0.12 <= max(fault.feature.size) <= 0.6
        assert fault.flight == "close" or max(fault.feature.size) >= 3 * OVERVIEW_SAMPLING_M


def test_no_spot_lies_next_to_another_fault_or_decoy(placed: Placed) -> None:
    """At least two metres apart."""
    faults, decoys, _ = placed
    spots = [(f.feature.east, f.feature.north) for f in faults if f.form == "spot"]
    places = np.array(spots + [(b.east, b.north) for b in decoys.boxes] + [s.centre for s in decoys.soiled])
    away = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1)) + 1e3 * np.eye(len(places))
    assert away[: len(spots)].min() > 2.0


def test_a_spot_lies_on_the_surface_that_it_names(placed: Placed) -> None:
    """The painted site shows that surface under its centre."""
    faults, _, scene = placed
    for fault in faults:
        column, row = np.rint(scene.grid.cells(fault.place[:2])).astype(int)
        assert scene.site.surfaces[scene.index[row, column]].name == fault.surface
