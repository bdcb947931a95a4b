"""Random sites and terrains: every reachable point is covered, no way enters a no-fly area, batteries and climbs hold.

Coverage is counted here by rectangles of the picture's size around planned places: no code of the proof is used.
"""

import math

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from groundglow.errors import UnmetError
from groundglow.steps.plan.area import kept_out
from groundglow.steps.plan.camera import footprint_sides
from groundglow.steps.plan.cover import parallel_runs
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.proof import frame_poses
from groundglow.steps.plan.runs import Layout, looks_at_border
from groundglow.steps.plan.settings import usual_ways

from ..steps.plan_cases import ask, hills

SLOW = settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)


@st.composite
def polygons(draw, *, radius=120.0, centre=(0.0, 0.0)):
    """A star-shaped polygon, not convex as a rule."""
    corners = draw(st.integers(5, 9))
    radii = np.array([draw(st.floats(0.35, 1.0)) for _ in range(corners)]) * radius
    angle = np.linspace(0, 2 * math.pi, corners, endpoint=False) + draw(st.floats(0, 1))
    return shapely.Polygon(np.c_[centre[0] + radii * np.sin(angle), centre[1] + radii * np.cos(angle)])


@st.composite
def sites(draw):
    """A polygon with up to two holes, and up to two no-fly areas."""
    site = draw(polygons())
    places = st.floats(-60.0, 60.0)
    for _ in range(draw(st.integers(0, 2))):
        hole = draw(polygons(radius=20.0, centre=(draw(places), draw(places))))
        site = shapely.difference(site, hole)
    shut = [draw(polygons(radius=30.0, centre=(draw(places), draw(places)))) for _ in range(draw(st.integers(0, 2)))]
    return site, shapely.union_all(shut) if shut else None


def points_of(shape, cell=4.0):
    west, south, east, north = shape.bounds
    x, y = (a.ravel() for a in np.meshgrid(np.arange(west, east, cell), np.arange(south, north, cell)))
    return np.c_[x, y][shapely.contains_xy(shape, x, y)]


def seen_counts(points, places, yaw, footprint):
    """How many rectangles of the footprint, along each place's yaw, hold each point."""
    counts = np.zeros(len(points), int)
    for (x, y), a in zip(places, yaw, strict=True):
        d = points - (x, y)
        along, across = d @ (math.sin(a), math.cos(a)), d @ (math.cos(a), -math.sin(a))
        counts += (np.abs(along) <= footprint[1] / 2 + 1e-6) & (np.abs(across) <= footprint[0] / 2 + 1e-6)
    return counts


@SLOW
@given(sites(), st.floats(0.0, math.pi), st.sampled_from([0.2, 0.5, 0.7, 0.8]))
def test_every_reachable_point_is_covered_at_the_asked_overlap_beside_no_fly_areas_too(case, heading, overlap):
    site, shut = case
    footprint = (35.0, 28.0)
    layout = Layout(heading, footprint[0] * (1 - overlap), footprint[1] * (1 - overlap), footprint)
    reachable = site if shut is None else shapely.difference(site, shut)
    if reachable.area < 1.0:
        return
    runs = parallel_runs(site, shut, layout)
    points = points_of(reachable)
    u = points @ (math.sin(heading), math.cos(heading))
    v = points @ (math.cos(heading), -math.sin(heading))
    looks = np.zeros(len(points), int)
    for run in runs:
        count = math.ceil((run.end - run.start) / layout.base) + 1
        for at in np.linspace(run.start, run.end, count):
            looks += (np.abs(u - at) <= 14.0 + 1e-6) & (np.abs(v - run.offset) <= 17.5 + 1e-6)
    open_rows = len({run.row for run in parallel_runs(site, None, layout)})
    least = looks_at_border(overlap) ** (2 if open_rows > 1 else 1)
    # Beside no-fly areas, slivers below a few thousandths of a footprint may be seen less often.
    assert (looks >= least).mean() >= (1.0 if shut is None else 0.999)


@SLOW
@given(sites(), st.floats(0.0, math.pi))
def test_no_line_enters_a_no_fly_area(case, heading):
    site, shut = case
    runs = parallel_runs(site, shut, Layout(heading, 10.0, 6.0, (35.0, 28.0)))
    if shut is None:
        return
    s, c = math.sin(heading), math.cos(heading)
    for run in runs:
        ends = [(u * s + run.offset * c, u * c - run.offset * s) for u in (run.start, run.end)]
        assert shapely.LineString(ends).intersection(shapely.buffer(shut, -1e-6)).length < 1e-6


@settings(SLOW, max_examples=12)
@given(sites(), st.sampled_from(["demo-quad-work", "demo-quad-small"]), st.integers(0, 50))
def test_sorties_keep_battery_no_fly_and_climb_and_see_the_site(case, aircraft, seed):
    site, shut = case
    question = ask(shape=site, no_fly=shut, ground=hills(seed=seed), take_offs={"home": (-190.0, -190.0)},
                   sampling=0.09, ways=usual_ways(slope=0.25, lowest=20.0))  # fmt: skip
    try:
        plan = plan_of(question)
    except UnmetError:
        return
    for sortie in plan.sorties:
        assert sortie.duration <= sortie.available + 1e-6
        assert sortie.waypoints[-1].time == pytest.approx(sortie.duration, abs=1e-6)
        way = shapely.LineString([(w.x, w.y) for w in sortie.waypoints])
        if shut is not None:
            assert way.intersection(shut).length == 0.0
    for line in plan.lines:
        flat = np.linalg.norm(np.diff(line.nodes[:, :2], axis=0), axis=1)
        assert (np.abs(np.diff(line.nodes[:, 2])) <= 0.25 * flat + 1e-6).all()
        fine = np.linspace(0, line.length, 200)
        x, y, z = (np.interp(fine, line.distances, line.nodes[:, k]) for k in range(3))
        above = z - question.ground.at(x, y)
        assert above.min() >= plan.height - 0.3
        assert above.max() <= question.highest + 1e-6
    flown = {number for s in plan.sorties for number in s.lines}
    assert flown == {line.number for line in plan.lines}
    places, angles = frame_poses(plan.lines)
    keep = kept_out(question)
    reachable = site if keep is None else shapely.difference(site, keep)
    if reachable.area > 100 and not plan.unmet:
        counts = seen_counts(
            points_of(reachable, 6.0), places[:, :2], angles[:, 0], footprint_sides(question.kit, plan.height)
        )
        assert (counts >= 1).mean() >= 0.995


@settings(SLOW, max_examples=12)
@given(polygons(), st.lists(st.tuples(st.floats(-400.0, 400.0), st.floats(-400.0, 400.0)), min_size=1, max_size=3))
def test_every_sortie_starts_and_lands_at_its_take_off_point_within_its_battery(site, homes):
    named = {f"home {i}": home for i, home in enumerate(homes)}
    plan = plan_of(ask(shape=site, take_offs=named, sampling=0.1))
    assert plan.met, plan.unmet
    assert sorted(n for s in plan.sorties for n in s.lines) == [line.number for line in plan.lines]
    for sortie in plan.sorties:
        ends = [(w.x, w.y) for w in (sortie.waypoints[0], sortie.waypoints[-1])]
        assert ends == [named[sortie.take_off]] * 2
        assert sortie.duration <= sortie.available + 1e-6
        assert (np.diff([w.time for w in sortie.waypoints]) >= -1e-9).all()


@SLOW
@given(sites(), st.floats(0.0, math.pi), st.floats(0.0, 1.5))
def test_stopping_never_makes_a_plan_faster(case, heading, hold):
    site, shut = case
    try:
        moving = plan_of(ask(shape=site, no_fly=shut, heading=heading, take_offs={"home": (-190.0, -190.0)}))
        still = plan_of(ask(shape=site, no_fly=shut, heading=heading, hold=hold, take_offs={"home": (-190.0, -190.0)}))
    except UnmetError:
        return
    assert still.seconds >= moving.seconds - 1e-6
    assert all(s.duration <= s.available + 1e-6 for s in still.sorties)
