"""Footprints pulled together by ties: relative geometry, scale and heading come right; the stated doubt is honest."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from tests.steps.find_flights import (
    FOCAL,
    HEIGHT,
    PIXEL_M,
    SHAPE,
    Doubts,
    Errors,
    Flown,
    Relief,
    flown,
    sights,
)

from groundglow.model.pose import pixel_to_plane
from groundglow.steps.find.ground import apply_homography
from groundglow.steps.find.place import place_of, sizes

MIDDLE = [(SHAPE[1] - 1) / 2, (SHAPE[0] - 1) / 2]


def footprints(flight: Flown) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    """True and adjusted places of the middle of each frame about their mean, east + i north."""
    ground = flight.ground
    true = [
        pixel_to_plane(*MIDDLE, p.position, p.rotation, FOCAL, SHAPE, (0, 0, 1, 0))[:2] for p in flight.truth.values()
    ]
    ours = [ground.to_ground(f, MIDDLE)[0] for f in flight.truth]
    one, other = (np.array(p) @ (1, 1j) for p in (true, ours))
    return one - one.mean(), other - other.mean()


def scale_and_turn(flight: Flown) -> tuple[float, float]:
    """By how much the adjusted flight is larger than the true one, and turned (rad): least squares."""
    true, ours = footprints(flight)
    ratio = np.vdot(true, ours) / np.vdot(true, true)
    return float(abs(ratio)) - 1.0, float(np.angle(ratio))


def left_px(flight: Flown) -> float:
    """Greatest distance of an adjusted footprint from the true one after shift, turn and scale are out, px."""
    true, ours = footprints(flight)
    return float(np.abs(ours - np.vdot(true, ours) / np.vdot(true, true) * true).max()) / PIXEL_M


def apart_px(flight: Flown, x: float, y: float) -> float:
    """Spread of the places that all frames give one point of the ground, px."""
    ground = flight.ground
    at = [ground.to_ground(c.frame, [[c.column, c.row]])[0] for c in sights(flight, x, y)]
    return float(np.ptp(np.array(at), axis=0).max()) / PIXEL_M


def test_a_flight_recorded_as_flown_is_left_as_it_is() -> None:
    flight = flown(Errors())
    assert max(map(abs, scale_and_turn(flight))) < 1e-6
    assert left_px(flight) < 1e-3


@pytest.mark.parametrize("tie_px", [2.0, 3.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_ties_with_noise_over_relief_do_not_shrink_a_flight(tie_px: float, seed: int) -> None:
    """What ties leave over would be less if all footprints shrank: with true poses the scale stays."""
    rng = np.random.default_rng(seed)
    flight = flown(Errors(tie_px=tie_px, relief=Relief(1.5, (seed, 2.0))), rng, doubts=Doubts(height=6.0))
    assert abs(scale_and_turn(flight)[0]) < 0.005


@pytest.mark.parametrize("scale", [-0.15, -0.05, 0.05, 0.10, 0.15])
def test_heights_that_are_all_wrong_by_a_share_do_not_part_the_frames(scale: float) -> None:
    """A barometer that is off: each point of the ground has one place again, and the flight nearly its true size."""
    flight = flown(Errors(scale=scale), doubts=Doubts(height=abs(scale) * HEIGHT))
    bare = replace(flight, ties=())
    assert apart_px(flight, 2.0, 1.0) < 1.0 < apart_px(bare, 2.0, 1.0)
    assert left_px(flight) < 1.0
    assert abs(scale_and_turn(flight)[0]) < 0.2 * abs(scale)


@pytest.mark.parametrize("heading", [-0.05, 0.05])
def test_headings_that_are_all_wrong_do_not_part_the_frames(heading: float) -> None:
    """A compass off by three degrees."""
    flight = flown(Errors(heading=heading), doubts=Doubts(heading=0.05))
    assert apart_px(flight, 2.0, 1.0) < 1.0 < apart_px(replace(flight, ties=()), 2.0, 1.0)
    assert abs(scale_and_turn(flight)[1]) < 0.2 * abs(heading)


def test_errors_of_single_frames_are_taken_out_by_ties() -> None:
    """Positions to half a metre and attitudes to a degree: frames part by pixels, and meet again."""
    flight = flown(Errors(own=True), np.random.default_rng(8))
    assert apart_px(replace(flight, ties=()), 2.0, 1.0) > 4.0
    assert apart_px(flight, 2.0, 1.0) < 1.5


def test_one_false_tie_among_many_moves_little() -> None:
    """A tie off by 40 px: it counts linearly, not squared."""
    flight = flown(Errors())
    wrong = np.reshape(flight.ties[7].homography, (3, 3)).copy()
    wrong = np.array([[1, 0, 40.0], [0, 1, 0], [0, 0, 1]]) @ wrong
    ties = (*flight.ties[:7], replace(flight.ties[7], homography=tuple(wrong.ravel())), *flight.ties[8:])
    assert left_px(replace(flight, ties=ties)) < 4.0


def test_a_frame_without_a_pose_or_set_aside_has_no_footprint() -> None:
    flight = flown(Errors())
    first, second, *rest = flight.log.entries
    log = flight.log.with_entries((replace(first, pose=None), replace(second, reason="blurred"), *rest))
    ground = replace(flight, log=log).ground
    assert first.name not in ground
    assert second.name not in ground
    assert all(e.name in ground for e in rest)


def test_pixels_go_to_the_ground_and_back() -> None:
    flight = flown(Errors(own=True, tie_px=1.0), np.random.default_rng(4))
    points = np.random.default_rng(1).uniform((0, 0), (SHAPE[1] - 1, SHAPE[0] - 1), (20, 2))
    ground = flight.ground
    for frame in flight.truth:
        np.testing.assert_allclose(ground.to_pixel(frame, ground.to_ground(frame, points)), points, atol=1e-6)


def test_what_is_not_in_front_of_the_camera_has_no_pixel() -> None:
    """A matrix whose last row turns negative beyond the horizon."""
    beyond = apply_homography([1, 0, 0, 0, 1, 0, 0, -0.01, 1], [[5, 50], [5, 150]], visible=True)
    assert np.isfinite(beyond[0]).all()
    assert np.isnan(beyond[1]).all()


def test_a_shift_that_all_poses_share_shifts_places_by_itself_and_nothing_else() -> None:
    flight = flown(Errors(own=True, tie_px=1.0), np.random.default_rng(6))
    moved = tuple(
        replace(e, pose=replace(e.pose, position=np.add(e.pose.position, (3.0, -2.0, 0.0))))
        for e in flight.log.entries
        if e.pose
    )
    other = replace(flight, log=flight.log.with_entries(moved))
    for x, y in ((0.0, 0.0), (-12.0, 9.0)):
        seen = tuple(sights(flight, x, y))
        one, two = (place_of(seen, seen[0], f.sight) for f in (flight, other))
        assert (two.x or 0.0) - (one.x or 0.0) == pytest.approx(3.0, abs=0.005)
        assert (two.y or 0.0) - (one.y or 0.0) == pytest.approx(-2.0, abs=0.005)
        assert two.sd == pytest.approx(one.sd, rel=0.01)


def test_the_shared_position_adds_its_own_variance_to_that_of_a_place() -> None:
    flight = flown(Errors())
    seen = tuple(sights(flight, 3.0, -4.0))
    sd = [
        place_of(seen, seen[0], replace(flight, log=replace(flight.log, shared_position_sd=s)).sight).sd
        for s in (0.0, 2.0)
    ]
    assert (sd[1] or 0.0) ** 2 - (sd[0] or 0.0) ** 2 == pytest.approx(4.0, rel=1e-9)


def test_more_sights_make_a_place_surer() -> None:
    flight = flown(Errors())
    seen = sights(flight, 3.0, -4.0)
    few, many = (place_of(tuple(some), seen[0], flight.sight).sd or 0.0 for some in (seen[:1], seen))
    assert many < few


def test_a_size_on_the_ground_is_that_in_the_picture_times_height_over_focal_length() -> None:
    flight = flown(Errors())
    seen = sights(flight, 0.0, 0.0)
    area, across = sizes(seen[0], flight.sight)
    height = flight.truth[seen[0].frame].position[2]
    assert area == pytest.approx(seen[0].area_px * (height / FOCAL) ** 2, rel=0.03)
    assert across == pytest.approx(np.sqrt(4 / np.pi * (area or 0.0)))
