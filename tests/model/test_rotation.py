"""Attitude: which way is right, down and forward."""

import numpy as np
import pytest

from groundglow.model import pose

SHAPE = (512, 640)
MIDDLE = (319.5, 255.5)
FOCAL = 13e-3 / 12e-6
NADIR = pose.rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)


def test_level_camera_looking_north_has_east_on_its_right_and_the_ground_below():
    right, down, forward = pose.rotation_from_yaw_pitch_roll(0.0, 0.0, 0.0)
    assert right == pytest.approx([1, 0, 0])
    assert down == pytest.approx([0, 0, -1])
    assert forward == pytest.approx([0, 1, 0])


def test_yaw_turns_clockwise_from_north_to_east():
    assert pose.rotation_from_yaw_pitch_roll(np.pi / 2, 0.0, 0.0)[2] == pytest.approx([1, 0, 0])


def test_roll_lowers_the_right_side():
    assert pose.rotation_from_yaw_pitch_roll(0.0, 0.0, np.radians(30))[0] == pytest.approx(
        [np.cos(np.radians(30)), 0, -0.5]
    )


def test_attitudes_of_a_whole_flight_are_turned_at_once():
    yaw = np.linspace(0, 1, 6).reshape(2, 3)
    many = pose.rotation_from_yaw_pitch_roll(yaw, -1.2, [0.0, 0.1, 0.2])
    one = pose.rotation_from_yaw_pitch_roll(yaw[1, 2], -1.2, 0.2)
    assert many.shape == (2, 3, 3, 3)
    assert many[1, 2] == pytest.approx(one)


def test_straight_down_yaw_holds_all_the_turning():
    found = pose.yaw_pitch_roll_from_rotation(pose.rotation_from_yaw_pitch_roll(0.7, -np.pi / 2, 0.0))
    assert np.asarray(found) == pytest.approx([0.7, -np.pi / 2, 0.0])


def test_y_up_camera_with_zero_angles_looks_straight_down_with_north_on_top():
    turned = pose.from_y_up(pose.rotation_from_omega_phi_kappa(0.0, 0.0, 0.0))
    assert turned == pytest.approx(NADIR)
    assert pose.from_y_up(pose.from_y_up(turned)) == pytest.approx(turned)
