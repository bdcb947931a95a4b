"""Detection after each sortie against random targets: a segment flown in part is found in part."""

import math

import numpy as np
import pytest
import shapely

from groundglow.steps.plan.area import spacings
from groundglow.steps.plan.ask import Search
from groundglow.steps.plan.camera import footprint_sides
from groundglow.steps.plan.make import plan_of

from .plan_cases import ask, kit

TARGETS = 60_000
WEST, EAST = shapely.box(0, 0, 600, 500), shapely.box(600, 0, 1200, 500)


@pytest.fixture(scope="module")
def question():
    parts = {"west": WEST, "east": EAST}
    return ask(kind="search", shape=shapely.box(0, 0, 1200, 500), sampling=0.1, kit=kit("demo-quad-small"),
               search=Search(40.0, 0.8, parts, {"west": 0.7, "east": 0.2}), heading=0.5)  # fmt: skip


@pytest.fixture(scope="module")
def plan(question):
    return plan_of(question)


def passes_by_sortie(plan, targets, across):
    """How often pictures of each sortie's lines pass each target, by rectangles about the lines."""
    strips = {x.number: shapely.buffer(shapely.LineString(x.nodes[:, :2]), across / 2, cap_style="flat")
              for x in plan.lines}  # fmt: skip
    return [sum(shapely.contains(strips[n], targets).astype(int) for n in s.lines) for s in plan.sorties]


@pytest.mark.parametrize(("name", "shape"), [("west", WEST), ("east", EAST)])
def test_detection_after_each_sortie_against_random_targets(plan, question, name, shape):
    """Each pass finds a target in its strip with 1 - exp(-sweep width / strip), independently of the others."""
    random = np.random.default_rng(8)
    west, south, east, north = shape.bounds
    targets = shapely.points(random.uniform((west, south), (east, north), (TARGETS, 2)))
    across = footprint_sides(question.kit, plan.height)[0]
    missed, found = np.ones(TARGETS, bool), []
    for passes in passes_by_sortie(plan, targets, across):
        missed &= random.uniform(size=TARGETS) < np.exp(-passes * 40.0 / across)
        found.append(1.0 - missed.mean())
    segment = next(s for s in plan.segments if s.name == name)
    assert len(plan.sorties) >= 3
    assert segment.after == pytest.approx(found, abs=4 * math.sqrt(0.25 / TARGETS))
    assert segment.detection == segment.after[-1]


def test_no_more_is_found_than_has_been_in_a_picture(plan, question):
    random = np.random.default_rng(9)
    targets = shapely.points(random.uniform((0, 0), (600, 500), (4000, 2)))
    seen = np.zeros(4000, int)
    west = next(s for s in plan.segments if s.name == "west")
    for passes, found in zip(
        passes_by_sortie(plan, targets, footprint_sides(question.kit, plan.height)[0]), west.after, strict=True
    ):
        seen += passes
        assert found <= (seen > 0).mean() + 3 * math.sqrt(0.25 / 4000)


def test_lines_are_drawn_so_close_that_the_asked_probability_is_reached(plan, question):
    assert plan.met, plan.unmet
    assert min(s.detection for s in plan.segments) >= 0.8 - 0.002
    assert plan.spacing < spacings(question, plan.height)[0]


def test_a_sweep_wider_than_the_picture_counts_no_more_than_the_picture():
    square = shapely.box(0, 0, 300, 300)
    across = footprint_sides(kit(), plan_of(ask(shape=square, sampling=0.05)).height)[0]
    asked = {"kind": "search", "shape": square, "sampling": 0.05}
    wide, full = (plan_of(ask(**asked, search=Search(w, 0.8))) for w in (5 * across, across))
    assert wide.spacing == pytest.approx(full.spacing)
    assert wide.segments[0].detection == pytest.approx(full.segments[0].detection)
