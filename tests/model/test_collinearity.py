"""Rays, planes and the pictures of two poses."""

from types import SimpleNamespace

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model import pose

SHAPE = (512, 640)
MIDDLE = (319.5, 255.5)
FOCAL = 13e-3 / 12e-6
NADIR = pose.rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)


def test_points_behind_the_camera_have_no_pixel():
    column, row = pose.ground_to_pixel([[0, 0, 99], [0, 0, 101], [0, 0, 100]], [0, 0, 100], NADIR, FOCAL, SHAPE)
    assert np.isnan(column).tolist() == [False, True, True]
    assert np.isnan(row).tolist() == [False, True, True]


def test_rays_above_the_horizon_meet_no_ground():
    level = pose.rotation_from_yaw_pitch_roll(0.3, 0.0, 0.0)
    ground = pose.pixel_to_ground(100.0, np.array([0.0, 255.5, 400.0]), [0, 0, 30], level, FOCAL, SHAPE)
    assert np.isnan(ground[:, 0]).tolist() == [True, True, False]


def test_ground_lies_at_the_height_asked_for():
    ground = pose.pixel_to_ground(10.0, 20.0, [5, 6, 80], NADIR, FOCAL, SHAPE, height=12.5)
    assert ground[2] == pytest.approx(12.5)
    assert ground[0] - 5 == pytest.approx((10 - 319.5) * 67.5 / FOCAL)


def test_homography_of_a_plane_agrees_with_going_over_the_ground():
    plane = np.array([0.1, -0.05, 1.0, -3.0])
    a = SimpleNamespace(
        position=np.array([0.0, 0.0, 60.0]), rotation=pose.rotation_from_yaw_pitch_roll(0.2, -1.4, 0.05)
    )
    b = SimpleNamespace(
        position=np.array([4.0, 7.0, 63.0]), rotation=pose.rotation_from_yaw_pitch_roll(0.4, -1.5, -0.03)
    )
    column, row = np.array([3.0, 600.0, 320.0]), np.array([500.0, 20.0, 256.0])
    ground = pose.pixel_to_plane(column, row, a.position, a.rotation, FOCAL, SHAPE, plane)
    assert ground @ plane[:3] + plane[3] == pytest.approx(0, abs=1e-9)
    expected = pose.ground_to_pixel(ground, b.position, b.rotation, FOCAL, SHAPE)
    place = pose.plane_homography(a, b, FOCAL, SHAPE, plane=plane) @ np.stack([column, row, np.ones(3)])
    assert place[0] / place[2] == pytest.approx(expected[0])
    assert place[1] / place[2] == pytest.approx(expected[1])


def test_a_camera_in_the_plane_and_a_lens_without_focal_length_are_refused():
    ground = SimpleNamespace(position=np.zeros(3), rotation=NADIR)
    with pytest.raises(RangeError, match="distance from the plane"):
        pose.plane_homography(ground, ground, FOCAL, SHAPE)
    with pytest.raises(RangeError, match="focal_px"):
        pose.camera_matrix(-1.0, SHAPE)
