"""Angles as logs write them become the model's rotation; the track gives a heading where there is none."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundglow.frames.poses.attitude import course, rotations_of_angles
from groundglow.records.flight import PosesSpec

RIGHT, DOWN, FORWARD = 0, 1, 2
EAST, NORTH, UP = np.eye(3)


def rotation(yaw: float, pitch: float, roll: float, **poses: str) -> np.ndarray:
    return rotations_of_angles(np.array([[yaw, pitch, roll]]), PosesSpec.model_validate(poses))[0]


def test_straight_down_to_the_north_by_either_zero_of_pitch() -> None:
    """Pitch -90 from the horizon and 0 from nadir are the same camera: image top north, right east."""
    for found in (rotation(0, -90, 0), rotation(0, 0, 0, pitch_zero="nadir")):
        np.testing.assert_allclose(found, [EAST, -NORTH, -UP], atol=1e-12)


def test_yaw_turns_the_image_top_clockwise() -> None:
    """At yaw 90 the image top is east and its right is south."""
    found = rotation(90, -90, 0)
    np.testing.assert_allclose(found[RIGHT], -NORTH, atol=1e-12)
    np.testing.assert_allclose(found[DOWN], -EAST, atol=1e-12)


def test_a_camera_tilted_up_from_nadir_looks_ahead() -> None:
    """30 degrees up from nadir to the north: the line of sight has a northern part of sin 30."""
    found = rotation(0, 30, 0, pitch_zero="nadir")
    np.testing.assert_allclose(found[FORWARD], [0, 0.5, -np.sqrt(3) / 2], atol=1e-12)


def test_the_aircrafts_attitude_moves_a_camera_fixed_to_it() -> None:
    """Level flight east: straight down, image top to the nose. Nose up 10 degrees: the camera looks ahead."""
    level = rotation(90, 0, 0, of="aircraft")
    np.testing.assert_allclose(level[FORWARD], -UP, atol=1e-12)
    np.testing.assert_allclose(-level[DOWN], EAST, atol=1e-12)
    nose_up = rotation(90, 10, 0, of="aircraft")
    np.testing.assert_allclose(nose_up[FORWARD] @ EAST, np.sin(np.radians(10)), atol=1e-12)


def test_the_aircraft_banked_to_the_right_looks_to_the_left() -> None:
    """Right wing down 10 degrees flying north: what is straight down for the airframe lies to the west."""
    banked = rotation(0, 0, 10, of="aircraft")
    np.testing.assert_allclose(banked[FORWARD], [-np.sin(np.radians(10)), 0, -np.cos(np.radians(10))], atol=1e-12)


@given(st.floats(-360, 360), st.floats(-90, 90), st.floats(-180, 180), st.sampled_from(["camera", "aircraft"]))
def test_every_attitude_is_a_rotation(yaw: float, pitch: float, roll: float, of: str) -> None:
    """Orthonormal and not mirrored."""
    found = rotation(yaw, pitch, roll, of=of)
    np.testing.assert_allclose(found @ found.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(found) == pytest.approx(1)


def test_course_follows_the_track_and_is_blank_where_it_stands_still() -> None:
    """North, then east; unknown for one position, for unknown ones, and while hovering."""
    track = np.array([[0, 0], [0, 10], [0, 20], [10, 20], [20, 20]], dtype=float)
    np.testing.assert_allclose(np.degrees(course(track)), [0, 0, 45, 90, 90], atol=1e-9)
    assert np.isnan(course(track[:1])).all()
    assert np.isnan(course(np.zeros((4, 2)))).all()
    gap = track.copy()
    gap[1] = np.nan
    np.testing.assert_allclose(np.degrees(course(gap)), [0, np.nan, np.degrees(np.arctan2(10, 20)), 90, 90])
