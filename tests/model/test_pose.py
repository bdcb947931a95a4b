"""Pose: the parts of the public face work together."""

import numpy as np
import pytest

from groundglow.model import pose
from groundglow.records.frame import Pose

SHAPE = (512, 640)
MIDDLE = (319.5, 255.5)
FOCAL = 13e-3 / 12e-6
NADIR = pose.rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)


def test_straight_down_with_yaw_the_top_of_the_picture_points_along_yaw():
    turned = pose.rotation_from_yaw_pitch_roll(np.pi / 2, -np.pi / 2, 0.0)
    top = pose.pixel_to_ground(MIDDLE[0], 0, [0, 0, 50], turned, FOCAL, SHAPE)
    assert top[0] > 10
    assert top[1] == pytest.approx(0, abs=1e-9)


def test_homography_takes_the_records_pose():
    zero = np.zeros(3)
    same = Pose(np.array([1.0, 2.0, 30.0]), NADIR, zero, zero)
    assert pose.plane_homography(same, same, FOCAL, SHAPE) == pytest.approx(np.eye(3))
