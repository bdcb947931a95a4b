"""What a plan says about what it leaves out, why it is lower than asked, and what shuts lines off."""

from dataclasses import replace

import pytest
import shapely

from groundglow.frames.vectors import write_csv
from groundglow.job.plans.plan import OUTPUTS, write_files
from groundglow.paper.drawing import Sheet
from groundglow.steps.plan.ground import flat_ground
from groundglow.steps.plan.layers import frame_rows
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.map import MOST_LINES, MOST_NUMBERED, plan_map
from groundglow.steps.plan.proof import frame_poses

from .plan_cases import ask, hills

SITE = shapely.box(0.0, 0.0, 200.0, 150.0)
BELT = shapely.box(80.0, -10.0, 120.0, 160.0)
RING = shapely.difference(shapely.box(-50, -50, 250, 200), shapely.box(-30, -30, 230, 180))
OUTSIDE = {"gate": (-100.0, 0.0)}


def test_what_no_fly_areas_shut_off_is_said_with_its_share():
    plan = plan_of(ask(shape=SITE, no_fly=BELT))
    assert plan.met
    # 40 m and the usual clearance of 5 m on either side, of 200 m.
    shut = next(c for c in plan.cautions if "shut off" in c)
    assert float(shut.split(" % ")[0].split()[-1]) == pytest.approx(25.0, abs=0.3)
    assert plan.proof.reachable == pytest.approx(22_500.0, rel=0.01)


def test_no_fly_areas_beside_the_site_are_no_matter():
    plan = plan_of(ask(shape=SITE, no_fly=shapely.box(300, 0, 340, 40)))
    assert not any("shut off" in c for c in plan.cautions)


@pytest.mark.parametrize(("asked", "limit"), [
    ({"highest": 20.0}, "the limit of 20 m above ground holds"), ({"ceiling": 340.0}, "the ceiling of 340 m holds"),
])  # fmt: skip
def test_a_lower_height_on_level_ground_is_laid_to_the_limit(asked, limit):
    plan, free = plan_of(ask(shape=SITE, **asked)), plan_of(ask(shape=SITE))
    note = next(n for n in plan.notes if n.startswith("Flown"))
    assert limit in note
    assert "terrain" not in note
    assert f"{free.height - plan.height:.1f} m lower" in note
    assert f"takes {plan.frames - free.frames} frames more" in note


def test_a_lower_height_over_hills_is_laid_to_the_terrain():
    plan = plan_of(ask(ground=hills()))
    assert any("the terrain below the lines varies" in n and "frames more" in n for n in plan.notes)


def test_an_asked_height_above_the_limit_is_told():
    plan = plan_of(ask(shape=SITE, height=80.0, highest=60.0))
    assert any("20.0 m lower than asked: the limit of 60 m above ground holds" in n for n in plan.notes)


def test_lines_within_a_ring_of_no_fly_have_one_right_reason():
    plan = plan_of(ask(shape=SITE, no_fly=RING, take_offs=OUTSIDE))
    assert len(plan.unmet) == 1
    assert "shut off from every take-off point by no-fly areas" in plan.unmet[0]
    assert "battery" not in plan.unmet[0]
    assert plan_of(ask(shape=SITE, no_fly=RING, take_offs=OUTSIDE | {"within": (-10.0, -10.0)})).met


def test_a_plan_without_lines_is_written_all_the_same(tmp_path):
    plan = plan_of(ask(shape=SITE, no_fly=RING, take_offs=OUTSIDE))
    assert not plan.lines
    assert [a.shape for a in frame_poses(plan.lines)] == [(0, 3), (0, 2)]
    write_files(plan, tuple(tmp_path / name.format(1) for name in OUTPUTS))
    write_csv(tmp_path / "frames.csv", frame_rows(plan))
    assert plan_map(plan).startswith(b"\x89PNG")


def test_lines_that_are_too_far_have_one_reason_with_their_number():
    ground = flat_ground((-2e4, -2e4, 2e4, 2e4), 300.0)
    plan = plan_of(ask(shape=SITE, ground=ground, take_offs={"far": (-15_000.0, 0.0)}))
    assert not plan.lines
    (reason,) = plan.unmet
    assert "too far from every take-off point for a battery" in reason
    lines, length = (float(reason.split(" m together")[0].split()[i]) for i in (0, -1))
    assert lines >= 5
    assert length == pytest.approx(200.0 * lines, rel=0.01)


def test_a_map_of_very_many_sorties_leaves_their_numbers_out_and_says_so(monkeypatch):
    few = plan_of(ask(shape=SITE))
    many = replace(few, sorties=few.sorties * (MOST_NUMBERED + 1))
    said: list[str] = []
    monkeypatch.setattr(
        Sheet, "text", lambda self, at, words, size, **_: said.append(words + " in a dot" * (size == 11))
    )
    plan_map(few)
    assert "1 in a dot" in said
    assert not any("left out" in words for words in said)
    said.clear()
    plan_map(many)
    assert not any("in a dot" in words for words in said)
    assert f"{MOST_NUMBERED + 1} sorties: numbers and ways are left out, lines alone are drawn" in said
    plan_map(replace(many, lines=many.lines * MOST_LINES))
    assert f"{MOST_NUMBERED + 1} sorties: numbers and ways are left out, lines too" in said
