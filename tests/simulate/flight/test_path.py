"""Errors of what is written down have the size that flight.toml states, and the flights cover the site."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from groundglow.model.pose import ground_to_pixel
from groundglow.simulate.flight.camera import CAMERA
from groundglow.simulate.flight.path import DOUBTS, close_lines, fly, overview_lines, written_down

SEEDS = 240


@pytest.fixture(scope="module")
def errors() -> dict[str, np.ndarray]:
    """Errors of 40 frames in many flights: position (m), turns about the world's axes (deg), time (s)."""
    shots = fly(overview_lines(60.0), 0.0, "x", np.random.default_rng(0))
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
    far = np.abs(np.subtract.outer(np.arange(40), np.arange(40))) >= 30
    constant = shared[far].mean()
    assert np.sqrt(constant) == pytest.approx(parts[0], rel=0.2)
    assert np.sqrt(np.mean(np.diag(shared)) - constant) == pytest.approx(parts[1], rel=0.12)


def test_the_clock_shifts_all_frames_alike(errors: dict[str, np.ndarray]) -> None:
    """One offset a flight, half a second by standard deviation."""
    assert np.ptp(errors["late"], axis=1).max() < 1e-9
    assert errors["late"][:, 0].std() == pytest.approx(0.5, rel=0.15)


def test_the_overview_overlaps_as_planned() -> None:
    """Forward overlap near 80 %, side overlap near 60 % of the footprint at 60 m."""
    lines = overview_lines(60.0)
    long_side, short_side = (60.0 * n / CAMERA.focal_px for n in (CAMERA.columns, CAMERA.rows))
    first, last, count = lines[0]
    assert 1 - np.linalg.norm(last - first) / (count - 1) / short_side == pytest.approx(0.80, abs=0.02)
    assert 1 - abs(lines[1][0][0] - first[0]) / long_side == pytest.approx(0.60, abs=0.02)


def test_nearly_every_place_of_the_site_is_seen_three_times() -> None:
    """Of the area where faults may lie, at least 97 % is in three frames or more of the overview."""
    shots = fly(overview_lines(60.0), 0.0, "x", np.random.default_rng(3))
    east, north = np.meshgrid(np.arange(-33.0, 29.1, 1.0), np.arange(-29.0, 29.1, 1.0))
    places = np.stack([east, north, np.zeros_like(east)], axis=-1)
    count = np.zeros(east.shape, dtype=int)
    for shot in shots:
        column, row = ground_to_pixel(
            places, shot.position, shot.rotation, CAMERA.focal_px, (CAMERA.rows, CAMERA.columns)
        )
        count += (column >= 0) & (column < CAMERA.columns) & (row >= 0) & (row < CAMERA.rows)
    assert (count >= 3).mean() > 0.97


def test_the_close_pass_stays_low_and_is_as_long_as_the_overview() -> None:
    """Forty frames each, 20 m above the ground."""
    shots = fly(close_lines(20.0), 0.0, "x", np.random.default_rng(3))
    assert len(shots) == 40
    assert np.ptp([s.position[2] for s in shots]) < 4.0
