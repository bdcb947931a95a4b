"""Plans: what they show, what they refuse, and how lines are shared out."""

import math

import numpy as np
import pytest
import shapely

from groundglow.errors import InputError, UnmetError
from groundglow.model.optics import ground_sampling
from groundglow.model.pose import rotation_from_yaw_pitch_roll
from groundglow.records.plan import Line
from groundglow.steps.plan.air import Wind, along_speed, ground_speed
from groundglow.steps.plan.ask import Face, Search
from groundglow.steps.plan.camera import footprint_sides
from groundglow.steps.plan.heading import glint_in_view
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.proof import surface_figures
from groundglow.steps.plan.settings import usual_ways
from groundglow.steps.plan.smear import smear_within_budget
from groundglow.steps.plan.turns import turn_path

from .plan_cases import SITE, YARD, ask, hills, kit, level


@pytest.fixture(scope="module")
def plain():
    return plan_of(ask())


def test_a_plan_over_level_ground_meets_its_brief(plain):
    assert plain.met
    assert plain.sampling == pytest.approx(0.08)
    assert plain.proof.seen[1] == 1.0
    assert plain.proof.sampling.most == pytest.approx(0.08, rel=1e-6)
    assert plain.smear <= 1.0 + 1e-9
    assert plain.forward_overlap >= 0.8 - 1e-9
    assert plain.side_overlap >= 0.7 - 1e-9


def test_frames_storage_and_time_add_up(plain):
    assert plain.frames == sum(line.frames for line in plain.lines)
    assert plain.storage == plain.frames * 640 * 512 * 2
    assert sum(line.seconds for line in plain.lines) < plain.seconds


def test_lines_run_along_the_long_side_and_a_given_heading_is_kept():
    strip = shapely.box(0, 0, 400, 60)
    assert math.degrees(plan_of(ask(shape=strip)).heading) == pytest.approx(90.0, abs=1)
    assert plan_of(ask(shape=strip, heading=0.3)).heading == 0.3


def test_a_hole_that_splits_the_site_leaves_both_parts_covered():
    split = shapely.MultiPolygon([shapely.box(0, 0, 90, 100), shapely.box(200, 0, 290, 100)])
    plan = plan_of(ask(shape=split))
    assert plan.met
    assert plan.proof.area == pytest.approx(split.area, rel=0.02)


def test_terrain_is_followed_within_climb_and_limits():
    plan = plan_of(ask(ground=hills(), ways=usual_ways(slope=0.2)))
    assert plan.met
    assert plan.proof.steepest <= 0.2 + 1e-9
    assert plan.height < plan_of(ask()).height  # room for the relief, so that the sampling holds
    assert plan.proof.sampling.high <= 0.08 * 1.02


def test_no_fly_areas_are_kept_out_of_and_the_way_home_goes_round():
    plan = plan_of(ask(no_fly=YARD))
    assert plan.met
    for sortie in plan.sorties:
        way = shapely.LineString([(w.x, w.y) for w in sortie.waypoints])
        assert way.distance(YARD) >= usual_ways().clearance - 0.1


def test_the_plan_refuses_what_cannot_be_met():
    with pytest.raises(UnmetError, match="ceiling of 290 m lies below the terrain"):
        plan_of(ask(ceiling=290.0))
    with pytest.raises(UnmetError, match="too strong"):
        plan_of(ask(wind=Wind(30.0)))
    with pytest.raises(UnmetError, match="flies no slower"):
        plan_of(ask(kit=kit("demo-wing"), sampling=0.03))
    with pytest.raises(UnmetError, match="leave nothing"):
        plan_of(ask(no_fly=shapely.box(-500, -20, 500, 500)))
    with pytest.raises(UnmetError, match="no height fits"):
        plan_of(ask(ground=hills(rise=90.0), ways=usual_ways(slope=0.05), highest=60.0))


def test_lines_beyond_a_batterys_reach_are_named():
    plan = plan_of(ask(take_offs={"far": (2900.0, 2900.0)}, wind=Wind(9.0)))
    flown = plan_of(ask())
    assert not plan.met or len(plan.sorties) > len(flown.sorties)
    plan = plan_of(ask(ground=level(), take_offs={"far": (2950.0, -2950.0)}, wind=Wind(11.0, math.pi / 2)))
    assert all(s.duration <= s.available for s in plan.sorties)


def test_wrong_questions_are_told():
    with pytest.raises(InputError, match="one of sampling"):
        ask(height=50.0, sampling=None).__class__(**(ask().__dict__ | {"height": 50.0}))
    with pytest.raises(InputError, match="no take-off point"):
        ask(take_offs={})
    with pytest.raises(InputError, match="lies in or too near a no-fly area"):
        plan_of(ask(no_fly=shapely.box(-80, -80, -40, -40)))
    with pytest.raises(InputError, match="terrain file does not reach"):
        plan_of(ask(ground=hills(), shape=shapely.box(600, 500, 900, 900)))


def test_days_aircraft_and_batteries_are_scheduled():
    big = shapely.box(0, 0, 900, 900)
    one, two = plan_of(ask(shape=big)), plan_of(ask(shape=big, aircraft=2))
    assert {s.aircraft for s in two.sorties} == {"demo-quad-work 1", "demo-quad-work 2"}
    assert max(s.start + s.duration for s in two.sorties) < max(s.start + s.duration for s in one.sorties)
    short = plan_of(ask(shape=big, hours=1.0, days=1))
    assert max(s.day for s in short.sorties) > 1
    assert any("days" in reason for reason in short.unmet)


def test_a_power_line_is_looked_at_from_both_sides():
    plan = plan_of(ask(kind="along", shape=shapely.LineString([(0, 0), (200, 0), (260, 120)]), sampling=0.03))
    assert plan.met
    first, second = plan.lines
    assert np.sign(first.nodes[0, 1]) != np.sign(second.nodes[-1, 1])
    assert np.rad2deg(plan.lines[0].pitch) == pytest.approx(-45.0, abs=0.5)
    slant = np.hypot(first.nodes[0, 1], first.nodes[0, 2] - 300.0)
    assert slant == pytest.approx(plan.height, rel=1e-3)


def test_inside_a_bend_the_path_does_not_run_to_and_fro():
    plan = plan_of(ask(kind="along", shape=shapely.LineString([(0, 0), (200, 0), (260, 120)]), sampling=0.03))
    for line in plan.lines:
        steps = np.diff(line.nodes[:, :2], axis=0)
        assert (np.einsum("ij,ij->i", steps[1:], steps[:-1]) > 0).all()


def test_an_aircraft_that_cannot_stop_turns_without_entering_a_no_fly_area():
    far = shapely.box(520.0, 100.0, 560.0, 150.0)
    plan = plan_of(ask(kit=kit("demo-wing"), sampling=0.16, highest=200.0, no_fly=far))
    assert plan.met, plan.unmet
    assert any("cannot stop" in note for note in plan.notes)
    for sortie in plan.sorties:
        assert shapely.LineString([(w.x, w.y) for w in sortie.waypoints]).distance(far) >= usual_ways().clearance - 0.1


def test_what_an_aircraft_that_cannot_stop_leaves_out_is_no_plan_met():
    plan = plan_of(ask(kit=kit("demo-wing"), sampling=0.16, highest=200.0, no_fly=YARD))
    assert any("turning circle" in reason for reason in plan.unmet)


def test_around_a_point_every_frame_looks_at_it():
    plan = plan_of(ask(kind="around", shape=shapely.Point(50, 50), sampling=0.03))
    line = plan.lines[0]
    radius = np.hypot(*(line.nodes[:, :2] - 50).T)
    assert radius == pytest.approx(radius[0], rel=0.02)
    aim = np.arctan2(50 - line.nodes[:, 0], 50 - line.nodes[:, 1])
    assert np.cos(aim - line.yaw) == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize(("tilt", "pitch"), [(90.0, 0.0), (30.0, -60.0)])
def test_a_face_is_looked_at_square_on(tilt, pitch):
    foot = shapely.LineString([(0, 0), (0, 40)])
    face = Face(6.0, math.radians(tilt), 12.0)
    plan = plan_of(ask(kind="face", shape=foot, sampling=0.02, face=face))
    assert plan.met
    assert np.rad2deg(plan.lines[0].pitch) == pytest.approx(pitch, abs=0.1)
    assert np.rad2deg(plan.lines[0].yaw) % 360 == pytest.approx(270.0)
    assert plan.proof.incidence.middle < math.radians(20)


def test_a_search_spaces_lines_by_sweep_width_and_adds_up():
    parts = {"meadow": shapely.box(0, 40, 75, 200), "wood": shapely.box(170, 60, 270, 200)}
    search = Search(30.0, 0.8, parts, {"meadow": 0.7, "wood": 0.2})
    plan = plan_of(ask(kind="search", sampling=0.1, search=search))
    meadow = next(s for s in plan.segments if s.name == "meadow")
    # Never more than by random search with the same effort spread evenly: 1 - exp(-coverage).
    assert 0.8 - 0.02 <= meadow.detection <= 1 - math.exp(-meadow.coverage)
    assert list(meadow.after) == sorted(meadow.after)
    assert meadow.remains == pytest.approx(0.7 * (1 - meadow.detection))


def test_detection_of_a_search_against_random_targets():
    """Targets at random places; each pass finds one within half the sweep width: never fewer than the formula says."""
    plan = plan_of(ask(kind="search", sampling=0.1, search=Search(30.0, 0.8), shape=shapely.box(0, 0, 300, 300)))
    random = np.random.default_rng(3)
    targets = shapely.points(random.uniform(0, 300, (4000, 2)))
    ways = shapely.MultiLineString([x.nodes[:, :2] for x in plan.lines])
    found = (shapely.distance(ways, targets) <= 15.0).mean()
    assert found >= plan.segments[0].detection - 3 * math.sqrt(0.25 / 4000)


def test_effort_at_random_finds_what_the_formula_says():
    """Random short tracks of the planned length, as the formula of random search supposes: Monte Carlo of targets."""
    plan = plan_of(ask(kind="search", sampling=0.1, search=Search(30.0, 0.8), shape=shapely.box(0, 0, 300, 300)))
    width, side = 30.0, 300.0
    coverage = plan.segments[0].coverage
    length = coverage * side**2 / width
    random = np.random.default_rng(4)
    piece = 15.0
    hits = []
    for _ in range(20):
        count = round(length / piece)
        centre, turn = random.uniform(0, side, (count, 2)), random.uniform(0, math.pi, count)
        targets = random.uniform(0, side, (300, 2))
        d = (targets[:, None] - centre[None] + side / 2) % side - side / 2  # no borders
        along = d[..., 0] * np.sin(turn) + d[..., 1] * np.cos(turn)
        across = d[..., 0] * np.cos(turn) - d[..., 1] * np.sin(turn)
        hits.append(((np.abs(along) <= piece / 2) & (np.abs(across) <= width / 2)).any(axis=1))
    found = np.concatenate(hits)
    assert 1 - math.exp(-coverage) == pytest.approx(found.mean(), abs=3 * math.sqrt(0.25 / found.size))
    assert 0.8 - 0.02 <= plan.segments[0].detection <= 1 - math.exp(-coverage)


def test_proof_has_the_models_own_ground_sampling_for_an_oblique_frame():
    """The compiled loop against `model.optics.ground_sampling`, on sloping ground."""
    normal = np.array([-0.2, 0.1, 1.0]) / np.linalg.norm([-0.2, 0.1, 1.0])
    line = Line(1, "", np.array([[0.0, 0.0, 60.0]]), np.zeros(1), np.array([0.7]), np.array([-1.1]), np.zeros(1), 5.0)
    x, y = np.meshgrid(np.linspace(-20, 40, 25), np.linspace(-20, 40, 25))
    points = np.stack([x, y, 0.2 * x - 0.1 * y], axis=-1)
    counts, figures = surface_figures(points, np.broadcast_to(normal, points.shape).copy(), np.ones(x.shape, bool),
                                      [line], kit())  # fmt: skip
    rotation = rotation_from_yaw_pitch_roll(0.7, -1.1, 0.0)
    known = ground_sampling(points, [0.0, 0.0, 60.0], rotation, 13.0 / 0.012, normal=normal)
    seen = counts > 0
    assert seen.sum() > 50
    assert figures[seen][:, 0] == pytest.approx(known.coarsest[seen], rel=1e-9)
    assert np.arccos(figures[seen][:, 1]) == pytest.approx(known.incidence[seen], abs=1e-7)


def test_proof_tells_a_plan_with_a_missing_line():
    """The proof does not trust the layout: without one line of three the middle of the site is unseen."""
    from groundglow.steps.plan.proof import proof_of_area

    question = ask(side=0.05, forward=0.6)
    plan = plan_of(question)
    lines = [line for line in plan.lines if line.number != len(plan.lines) // 2]
    proof = proof_of_area(SITE, None, question.ground, lines, plan.sorties, question.kit,
                          footprint=footprint_sides(question.kit, plan.height), reachable=SITE)  # fmt: skip
    assert plan.proof.seen[1] > 0.999
    assert proof.seen[1] < 0.95


def test_wind_triangle():
    """A head wind is taken off, a side wind by Pythagoras, and too much wind is no speed."""
    assert ground_speed(10.0, 0.0, Wind(4.0, 0.0)) == pytest.approx(6.0)
    assert ground_speed(10.0, 0.0, Wind(4.0, math.pi)) == pytest.approx(14.0)
    assert ground_speed(10.0, 0.0, Wind(6.0, math.pi / 2)) == pytest.approx(8.0)
    assert math.isnan(ground_speed(5.0, 0.0, Wind(6.0, math.pi / 2)))
    assert along_speed(5.0, 0.0, Wind(4.0, 0.0), kit().aircraft) == 5.0
    assert along_speed(17.0, 0.0, Wind(4.0, 0.0), kit().aircraft) == pytest.approx(14.0)


def test_glint_depends_on_the_heading():
    """Sun 75 degrees high in the south: mirrored 15 degrees from the vertical, in view across but not along."""
    sun = (math.pi, math.radians(75.0))
    assert glint_in_view(math.pi / 2, sun, (0.30, 0.20))
    assert not glint_in_view(0.0, sun, (0.30, 0.20))
    assert not glint_in_view(math.pi / 2, (math.pi, math.radians(30.0)), (0.30, 0.20))
    assert glint_in_view(
        math.pi / 2, (math.pi, math.radians(60.0)), (0.30, 0.20), tilt=math.radians(15), azimuth=math.pi
    )


def test_a_turn_is_no_tighter_than_its_radius():
    """To the next line 20 m away with a radius of 30 m: the way swings out and comes back on it."""
    path = turn_path(np.array([[0.0, 0.0], [20.0, 0.0]]), 0.0, math.pi, 30.0)
    steps = np.diff(path, axis=0)
    course = np.unwrap(np.arctan2(steps[:, 0], steps[:, 1]))
    length = np.linalg.norm(steps, axis=1)
    tight = np.abs(np.diff(course)) / ((length[1:] + length[:-1]) / 2)
    assert tight.max() <= 1 / 30.0 * 1.05
    assert path[-1] == pytest.approx([20.0, 0.0])


def test_smear_within_a_budget():
    """A looser budget or larger target bears more lag; at the answer the peak has lost a fifth of the budget."""
    from groundglow.model.pointspread import point_spread
    from groundglow.model.targetsize import target_response

    found = smear_within_budget(kit(), 3.0, 20.0, 3.0)
    assert 0 < found < smear_within_budget(kit(), 3.0, 20.0, 6.0) <= 3.0
    assert found < smear_within_budget(kit(), 6.0, 20.0, 3.0)

    def peak(lag):
        return target_response(3.0, 3.0, point_spread(12e-6, kit().lens.f_number, aberration=kit().lens.aberration,
                               velocity=(0.0, lag / 0.01), time_constant=0.01), shape="rectangle").share  # fmt: skip

    assert 20.0 * (peak(0.0) - peak(found)) == pytest.approx(0.6, abs=0.05)


def test_a_face_taller_than_a_picture_is_seen_from_foot_to_top():
    foot = shapely.LineString([(0, 0), (0, 40)])
    plan = plan_of(ask(kind="face", shape=foot, sampling=0.02, face=Face(18.0), ways=usual_ways(lowest=2.0)))
    assert plan.met, plan.unmet
    assert plan.proof.seen[1] == 1.0
    assert len(plan.proof.places) == plan.proof.counts.size


def test_the_way_between_lines_clears_the_top_of_a_face():
    foot = shapely.LineString([(0, 0), (0, 40)])
    plan = plan_of(ask(kind="face", shape=foot, sampling=0.01, face=Face(30.0)))
    for sortie in plan.sorties:
        crossing = [w.above_ground for w in sortie.waypoints if w.kind == "transit"]
        assert max(crossing) >= 30.0 + usual_ways().clearance - 1e-6


def test_stopping_for_each_frame_takes_its_time_and_smears_nothing():
    moving, still = plan_of(ask()), plan_of(ask(hold=0.5))
    assert still.smear == 0.0
    assert still.interval == pytest.approx(still.base / still.speed + 0.5 + still.speed / usual_ways().acceleration)
    assert still.speed <= math.sqrt(usual_ways().acceleration * still.base) + 1e-9
    assert still.seconds > moving.seconds
    for sortie in still.sorties:
        assert sortie.duration <= sortie.available + 1e-6
        assert sortie.waypoints[-1].time == pytest.approx(sortie.duration, abs=1e-6)
    line = still.lines[0]
    assert np.diff(line.times) == pytest.approx(still.interval, rel=0.02)
    with pytest.raises(UnmetError, match="cannot stop for each frame"):
        plan_of(ask(kit=kit("demo-wing"), hold=0.5, sampling=0.16, highest=200.0))


def test_rules_of_ones_own_change_the_plan():
    coarse = plan_of(ask(no_fly=YARD, ways=usual_ways(clearance=20.0)))
    for sortie in coarse.sorties:
        assert shapely.LineString([(w.x, w.y) for w in sortie.waypoints]).distance(YARD) >= 20.0 - 1e-6


def test_of_several_take_off_points_the_nearer_one_is_used():
    long = shapely.box(0, 0, 2400, 250)
    one = plan_of(ask(shape=long, take_offs={"west": (-50.0, 100.0)}))
    two = plan_of(ask(shape=long, take_offs={"west": (-50.0, 100.0), "east": (2450.0, 100.0)}, heading=0.0))
    assert {s.take_off for s in two.sorties} == {"west", "east"}
    only = plan_of(ask(shape=long, take_offs={"west": (-50.0, 100.0)}, heading=0.0))
    assert two.seconds < only.seconds
    assert one.met
    assert two.met
    for sortie in two.sorties:
        x = sortie.waypoints[0].x
        assert x == {"west": -50.0, "east": 2450.0}[sortie.take_off] == sortie.waypoints[-1].x
        line = two.lines[sortie.lines[0] - 1]
        assert abs(line.nodes[0, 0] - x) <= abs(line.nodes[0, 0] - (2400.0 - x)) + 1e-6


def test_take_off_points_stand_on_their_own_ground():
    ground = hills(rise=20.0)
    homes = {"low": (-200.0, -100.0), "high": (500.0, 400.0)}
    plan = plan_of(ask(ground=ground, take_offs=homes))
    for sortie in plan.sorties:
        home = homes[sortie.take_off]
        for end in (sortie.waypoints[0], sortie.waypoints[-1]):
            assert (end.x, end.y) == home
            assert end.z == pytest.approx(float(ground.at(*home)))
            assert end.above_ground == pytest.approx(0.0, abs=1e-9)
