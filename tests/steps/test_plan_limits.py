"""Limits of height hold on the ways to, between and from the lines too: kept where the climb allows it, else told."""

from itertools import pairwise

import numpy as np
import pytest
import shapely

from groundglow.steps.plan.ask import Face
from groundglow.steps.plan.ground import Ground
from groundglow.steps.plan.make import plan_of

from .plan_cases import ask, kit

SITE = shapely.box(0.0, 0.0, 200.0, 150.0)
VALLEY = {"valley": (-600.0, 50.0)}


def terrain(height):
    """Heights by x alone."""
    x, y = np.arange(-1000.0, 1000.0, 5.0), np.arange(1000.0, -1000.0, -5.0)
    return Ground(np.broadcast_to(height(x), (len(y), len(x))).copy(), (float(x[0]), float(y[0])), (5.0, -5.0))


def ravine(half=50.0, side=80.0, floor=20.0):
    """With its bottom at a height, so wide on either side of its middle at the bottom, with sides so wide."""
    return terrain(lambda x: np.interp(np.abs(x + 250.0), [half, half + side], [floor, 150.0]))


def ridge(x):
    return 100.0 + 150.0 * np.exp(-((x + 250.0) ** 2) / (2 * 40.0**2))


def flown(plan, ground):
    """Height above ground and above the reference along all of what is flown, a point every metre."""
    points = []
    for sortie in plan.sorties:
        way = np.array([(w.x, w.y, w.z) for w in sortie.waypoints])
        for a, b in pairwise(way):
            n = max(int(np.hypot(*(b - a)[:2])), 2)
            points.append(a + np.linspace(0, 1, n)[:, None] * (b - a))
    points = np.vstack(points)
    return points[:, 2] - ground.at(points[:, 0], points[:, 1]), points[:, 2]


def test_a_ravine_on_the_way_is_followed_within_the_limit():
    ground = ravine()
    plan = plan_of(ask(shape=SITE, ground=ground, take_offs=VALLEY))
    above, _ = flown(plan, ground)
    assert plan.met, plan.unmet
    assert above.max() <= 120.0 + 0.2
    assert plan.proof.above_ground[1] == pytest.approx(above.max(), abs=0.5)
    assert any("To keep the limits of height" in note for note in plan.notes)
    for sortie in plan.sorties:
        for a, b in pairwise(sortie.waypoints):
            assert abs(b.z - a.z) <= 2.5 * (b.time - a.time) + 1e-6  # the greatest climb of the rules


def test_a_way_down_keeps_off_the_slope_beside_it():
    """Whatever limit it is held to, no way that is flown level comes nearer than 8 m to ground within a cell."""
    for highest in (95.0, 110.0, 130.0):
        for side in (5.0, 20.0, 60.0, 120.0):
            ground = ravine(60.0, side)
            plan = plan_of(ask(shape=SITE, ground=ground, take_offs=VALLEY, highest=highest))
            for sortie in plan.sorties:
                for a, b in pairwise(sortie.waypoints):
                    if np.hypot(b.x - a.x, b.y - a.y) > 1.0:
                        x, y, z = (np.linspace(getattr(a, k), getattr(b, k), 400) for k in "xyz")
                        near = [ground.at(x + dx, y + dy) for dx in (-5.0, 0.0, 5.0) for dy in (-5.0, 0.0, 5.0)]
                        assert (z - np.max(near, axis=0)).min() >= 8.0 - 1e-6


def test_a_ravine_too_narrow_to_be_followed_is_told():
    ground = ravine(5.0, 1.0, -50.0)
    plan = plan_of(ask(shape=SITE, ground=ground, take_offs=VALLEY))
    above, _ = flown(plan, ground)
    assert above.max() > 180.0
    assert plan.proof.above_ground[1] == pytest.approx(above.max(), abs=0.5)
    reason = next(r for r in plan.unmet if "Ways to and from" in r)
    assert f"{plan.proof.above_ground[1]:.0f} m above ground" in reason
    assert "allowed 120 m" in reason
    assert "take off" in reason


def test_a_ridge_above_the_ceiling_is_told():
    ground = terrain(ridge)
    plan = plan_of(ask(shape=SITE, ground=ground, take_offs=VALLEY, ceiling=220.0))
    _, tops = flown(plan, ground)
    assert tops.max() > 250.0
    reason = next(r for r in plan.unmet if "ceiling is 220 m" in r)
    assert f"reach {tops.max():.0f} m" in reason
    assert "ground is at 25" in reason


def test_a_way_is_lowered_below_the_ceiling_where_there_is_room():
    ground = terrain(lambda x: 100.0 + 60.0 * np.exp(-((x + 250.0) ** 2) / (2 * 40.0**2)))
    plan = plan_of(ask(shape=SITE, ground=ground, take_offs=VALLEY, ceiling=215.0))
    above, tops = flown(plan, ground)
    assert plan.met, plan.unmet
    assert tops.max() <= 215.0 + 0.2
    assert above[tops > 200.0].min() >= 8.0
    assert any("above ground" in note for note in plan.notes)


def test_level_ground_needs_no_word_about_limits():
    plan = plan_of(ask(shape=SITE))
    assert plan.met
    assert not plan.notes
    assert plan.proof.above_ground[1] == pytest.approx(plan.height)


def test_an_aircraft_that_cannot_stop_is_not_asked_to_climb_steeply():
    ground = ravine(5.0, 1.0, -50.0)
    plan = plan_of(ask(shape=SITE, ground=ground, take_offs=VALLEY, kit=kit("demo-wing"), sampling=0.12, highest=150.0))
    assert any("Ways to and from" in r and "allowed 150 m" in r for r in plan.unmet)


def test_the_way_over_a_faces_top_is_not_lowered_into_it():
    foot = shapely.LineString([(0, 0), (0, 40)])
    plan = plan_of(ask(kind="face", shape=foot, sampling=0.01, face=Face(30.0), ceiling=320.0))
    _, tops = flown(plan, ask().ground)
    assert tops.max() >= 330.0
    assert any("ceiling is 320 m" in r for r in plan.unmet)
