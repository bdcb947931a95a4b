"""Sites and faces that are small against a picture: the proof looks at points enough, or says that it cannot."""

import math

import pytest
import shapely

from groundglow.errors import InputError, UnmetError
from groundglow.steps.plan.ask import Face, Search
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.proof import MOST_FINE, NARROW

from .plan_cases import ask


@pytest.mark.parametrize("height", [0.4, 1.5, 4.0])
def test_a_row_lower_than_a_pictures_cells_is_proved(height):
    foot = shapely.LineString([(0, 0), (60, 0)])
    plan = plan_of(ask(kind="face", shape=foot, sampling=0.05, face=Face(height, math.radians(23.0))))
    assert plan.met, plan.unmet
    assert plan.proof.seen[1] == 1.0
    assert plan.proof.sampling.most > 0
    assert min(plan.proof.counts.shape) >= min(NARROW, 0.9 * math.sqrt(MOST_FINE * height / 60.0))
    assert plan.proof.counts.size <= 1.2 * MOST_FINE
    assert plan.proof.reachable == pytest.approx(60.0 * height, rel=1e-3)


@pytest.mark.parametrize("side", [0.1, 1.0, 5.0])
def test_a_site_smaller_than_a_cell_is_proved(side):
    plan = plan_of(ask(shape=shapely.box(0.0, 0.0, side, side), sampling=0.05))
    assert plan.met, plan.unmet
    assert plan.proof.seen[1] == 1.0
    assert min(plan.proof.counts.shape) >= NARROW
    assert plan.proof.reachable == pytest.approx(side**2)


def test_a_slanting_strip_narrower_than_a_cell_is_proved():
    strip = shapely.buffer(shapely.LineString([(0, 0), (200, 140)]), 0.6, cap_style="flat")
    plan = plan_of(ask(shape=strip, sampling=0.08))
    assert plan.met, plan.unmet
    inside = int((plan.proof.counts >= 0).sum())
    assert inside >= NARROW * 100
    assert inside * plan.proof.cell**2 == pytest.approx(strip.area, rel=0.05)


def test_what_no_point_can_lie_in_is_told():
    thread = shapely.Polygon([(0, 0), (900, 700), (900, 700.000001)])
    with pytest.raises(InputError, match="nothing can be proved"):
        plan_of(ask(shape=thread, heading=math.atan2(900, 700)))


def test_a_face_that_no_frame_shows_is_told():
    foot = shapely.LineString([(0, 0), (60, 0)])
    with pytest.raises(UnmetError, match="no planned frame shows any"):
        plan_of(ask(kind="face", shape=foot, sampling=0.05, face=Face(4.0, math.radians(90.0), aside=math.pi)))


@pytest.mark.parametrize("probability", [0.0, 1.0])
def test_a_search_for_nothing_or_certainty_is_refused(probability):
    with pytest.raises(InputError, match="above 0 and below 100"):
        Search(20.0, probability)
