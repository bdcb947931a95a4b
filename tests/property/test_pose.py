"""What must hold for any pose."""

from types import SimpleNamespace

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st

from groundglow.model import pose

SHAPE = (512, 640)
turn = st.floats(-np.pi, np.pi)
elevation = st.floats(-np.pi / 2, np.pi / 2)
pixel = st.tuples(st.floats(0, 639), st.floats(0, 511))
focal = st.floats(300, 5000)


@given(turn, elevation, turn)
def test_attitude_survives_the_way_through_the_matrix(yaw, pitch, roll):
    matrix = pose.rotation_from_yaw_pitch_roll(yaw, pitch, roll)
    again = pose.rotation_from_yaw_pitch_roll(*pose.yaw_pitch_roll_from_rotation(matrix))
    np.testing.assert_allclose(again, matrix, atol=3e-6)  # 1e-6 of pitch is taken for straight down


@given(turn, turn, turn)
def test_rotations_keep_length_and_handedness(first, second, third):
    for matrix in (
        pose.rotation_from_yaw_pitch_roll(first, second, third),
        pose.from_y_up(pose.rotation_from_omega_phi_kappa(first, second, third)),
    ):
        np.testing.assert_allclose(matrix @ matrix.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(matrix) > 0.999999


@given(turn, st.floats(-np.pi / 2, -0.6), st.floats(-0.3, 0.3), pixel, focal, st.floats(2, 500))
def test_pixel_to_ground_and_back(yaw, pitch, roll, place, focal_px, height):
    camera = ([10.0, -20.0, height], pose.rotation_from_yaw_pitch_roll(yaw, pitch, roll), focal_px, SHAPE)
    ground = pose.pixel_to_ground(*place, *camera)
    assume(np.isfinite(ground).all() and np.abs(ground).max() < 1e5)
    np.testing.assert_allclose(pose.ground_to_pixel(ground, *camera), place, atol=1e-6)


@given(turn, turn, st.floats(-np.pi / 2, -1.2), st.floats(-0.2, 0.2), pixel)
def test_homography_there_and_back_is_nothing(yaw_a, yaw_b, pitch, roll, place):
    a, b = (
        SimpleNamespace(position=np.array(c), rotation=pose.rotation_from_yaw_pitch_roll(y, pitch, roll))
        for y, c in ((yaw_a, [0.0, 0, 60]), (yaw_b, [5.0, 3, 70]))
    )
    there = pose.plane_homography(a, b, 1000.0, SHAPE)
    back = pose.plane_homography(b, a, 1000.0, SHAPE)
    result = back @ there @ [*place, 1.0]
    np.testing.assert_allclose(result[:2] / result[2], place, atol=1e-6)
