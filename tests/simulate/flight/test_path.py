"""Errors of what is written down have the size that flight.toml states, and the flights cover the site."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from groundglow.frames.places import LocalPlane
from groundglow.job.plan import plans_of_brief
from groundglow.kit.fleet import catalogue
from groundglow.model.pose import ground_to_pixel
from groundglow.records.plan import Plan
from groundglow.simulate import ask_demo
from groundglow.simulate.flight.camera import CAMERA
from groundglow.simulate.flight.path import DOUBTS, Shot, fly, written_down
from groundglow.simulate.job_files import PLACE
from groundglow.simulate.site.build import build_site
from groundglow.simulate.site.faults import in_close_pass

SEEDS = 240


@pytest.fixture(scope="module")
def plans(tmp_path_factory: pytest.TempPathFactory) -> list[Plan]:
    """The plans of the demo's own brief."""
    job = tmp_path_factory.mktemp("asked")
    ask_demo(job)
    return plans_of_brief(job / "brief.toml", catalogue())


@pytest.fixture(scope="module")
def errors(plans: list[Plan]) -> dict[str, np.ndarray]:
    """Errors of an overview's frames in many flights: position (m), turns about the world's axes (deg), time (s)."""
    shots = fly(plans[0], LocalPlane(PLACE), 0.0, "x", np.random.default_rng(0))
    flights = [written_down(shots, DOUBTS, np.random.default_rng([5, k])) for k in range(SEEDS)]
    moved = [[r.position - s.position for r, s in zip(f, shots, strict=True)] for f in flights]
    turned = [[s.rotation.T @ r.rotation for r, s in zip(f, shots, strict=True)] for f in flights]
    angle = [Rotation.from_matrix(np.array(t)).as_rotvec(degrees=True) for t in turned]
    late = [[r.time - s.time for r, s in zip(f, shots, strict=True)] for f in flights]
    return {"moved": np.array(moved), "turned": np.array(angle), "late": np.array(late)}


@pytest.mark.parametrize(
    ("what", "axis", "total"),
    [
        ("moved", 0, 2.0),
        ("moved", 1, 2.0),
        ("moved", 2, 4.03),
        ("turned", 0, 1.0),
        ("turned", 1, 1.0),
        ("turned", 2, 2.97),
    ],
)
def test_errors_have_the_stated_size(errors: dict[str, np.ndarray], what: str, axis: int, total: float) -> None:
    """Rms over flights and frames against the doubt stated: 2 m, 4 m, 1 degree, 3 degrees."""
    assert np.sqrt((errors[what][..., axis] ** 2).mean()) == pytest.approx(total, rel=0.12)


def test_part_of_an_error_is_shared_by_all_frames(errors: dict[str, np.ndarray]) -> None:
    """The mean over a flight spreads by the constant part and what slow changes leave of theirs."""
    east = errors["moved"][..., 0]
    within = np.sqrt(np.diff(east, axis=1).var())
    assert east.mean(axis=1).std() == pytest.approx(1.6, rel=0.2)
    assert within < 0.8  # neighbours, 2 s apart, share most of what varies


@pytest.mark.parametrize(
    ("what", "axis", "parts"),
    [
        ("moved", 0, DOUBTS.position),
        ("moved", 1, DOUBTS.position),
        ("moved", 2, DOUBTS.height),
        ("turned", 0, DOUBTS.tilt_deg),
        ("turned", 1, DOUBTS.tilt_deg),
        ("turned", 2, DOUBTS.heading_deg),
    ],
)
def test_constant_and_varying_part_have_the_size_that_is_stated(
    errors: dict[str, np.ndarray], what: str, axis: int, parts: tuple[float, float]
) -> None:
    """Frames far apart in time share the constant part only: their covariance is its variance, the rest varies."""
    error = errors[what][..., axis]
    shared = error.T @ error / len(error)
    far = np.abs(np.subtract.outer(np.arange(len(shared)), np.arange(len(shared)))) >= 30
    constant = shared[far].mean()
    assert np.sqrt(constant) == pytest.approx(parts[0], rel=0.2)
    assert np.sqrt(np.mean(np.diag(shared)) - constant) == pytest.approx(parts[1], rel=0.12)


def test_the_clock_shifts_all_frames_alike(errors: dict[str, np.ndarray]) -> None:
    """One offset a flight, half a second by standard deviation."""
    assert np.ptp(errors["late"], axis=1).max() < 1e-9
    assert errors["late"][:, 0].std() == pytest.approx(0.5, rel=0.15)


def test_frames_are_taken_where_and_when_the_plan_says(plans: list[Plan]) -> None:
    """Within the sway, in its order; apart by its interval within a line and by more between lines."""
    for plan in plans:
        shots = fly(plan, LocalPlane(PLACE), 1000.0, "x", np.random.default_rng(3))
        assert len(shots) == plan.frames
        spots = np.concatenate([line.poses[0] for line in plan.lines])
        lon, lat = LocalPlane(plan.origin).to_geographic(spots[:, 0], spots[:, 1])
        planned = np.c_[np.stack(LocalPlane(PLACE).to_local(lon, lat), axis=1), spots[:, 2] - PLACE.height_m]
        away = np.array([s.position for s in shots]) - planned
        assert np.abs(away).max() < 5 * 0.35
        assert np.abs(away.mean(axis=0)).max() < 0.25
        gaps = np.diff([s.time for s in shots])
        turns = np.cumsum([line.frames for line in plan.lines])[:-1] - 1
        assert (gaps[turns] > plan.interval).all()
        assert np.delete(gaps, turns) == pytest.approx(plan.interval, rel=0.02)
        assert shots[0].time > 1000.0
        assert shots[-1].time < 1000.0 + plan.sorties[-1].start + plan.sorties[-1].duration


def test_the_plans_are_met_and_about_as_long_as_each_other(plans: list[Plan]) -> None:
    """Sixty metres and twenty above the ground, some forty frames each, on one battery, every place five times over."""
    for plan, height in zip(plans, (60.0, 20.0), strict=True):
        assert plan.unmet == ()
        assert plan.proof is not None
        assert plan.proof.above_ground == pytest.approx((height, height), abs=1e-6)
        assert 36 <= plan.frames <= 48
        assert len(plan.sorties) == 1
        assert plan.proof.seen[2] == 1.0


def test_nearly_every_place_of_the_site_is_seen_four_times(plans: list[Plan]) -> None:
    """Of the area where faults may lie, at least 99 % is in four frames or more of the overview as flown."""
    shots = fly(plans[0], LocalPlane(PLACE), 0.0, "x", np.random.default_rng(3))
    east, north = np.meshgrid(np.arange(-33.0, 29.1, 1.0), np.arange(-29.0, 29.1, 1.0))
    places = np.stack([east, north, np.zeros_like(east)], axis=-1)
    assert (looks(shots, places) >= 4).mean() > 0.99


def test_the_close_pass_crosses_modules_and_connections(plans: list[Plan]) -> None:
    """Every module of two rows and every joint of the yard's busbars is in two of its frames or more."""
    shots = fly(plans[1], LocalPlane(PLACE), 0.0, "x", np.random.default_rng(3))
    site, _ = build_site(np.random.default_rng(7))
    modules = [(*s.centre, s.height(*s.centre)) for s in site.named("module") if in_close_pass(s)]
    clamps = [(*s.centre, s.plane[0]) for s in site.named("clamp")]
    assert len(modules) == 60
    assert len(clamps) == 15
    assert looks(shots, np.array(modules)).min() >= 2
    assert looks(shots, np.array(clamps)).min() >= 2


def looks(shots: list[Shot], places: np.ndarray) -> np.ndarray:
    """Frames that show each place."""
    shape = (CAMERA.rows, CAMERA.columns)
    count = np.zeros(places.shape[:-1], dtype=int)
    for shot in shots:
        column, row = ground_to_pixel(places, shot.position, shot.rotation, CAMERA.focal_px, shape)
        count += (column >= 0) & (column < CAMERA.columns) & (row >= 0) & (row < CAMERA.rows)
    return count
