"""Field of view, footprint and ground sampling at any tilt."""

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model import optics, pose

SHAPE = (512, 640)
PITCH, FOCAL = 12e-6, 13e-3
FOCAL_PX = FOCAL / PITCH
NADIR = pose.rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)


def test_a_long_lens_sees_less_and_a_camera_twice_as_high_twice_as_much():
    assert optics.field_of_view(640, PITCH, 26e-3) < optics.field_of_view(640, PITCH, 13e-3)
    low, high = optics.ground_sampling_at_nadir([50.0, 100.0], PITCH, FOCAL)
    assert high == pytest.approx(2 * low)


def test_height_and_ground_sampling_are_inverses():
    height = optics.height_for_ground_sampling([0.03, 0.3], PITCH, FOCAL)
    assert optics.ground_sampling_at_nadir(height, PITCH, FOCAL) == pytest.approx([0.03, 0.3])


@pytest.mark.parametrize(
    ("function", "values", "name"),
    [
        (optics.ifov, (-12e-6, 13e-3), "pitch"),
        (optics.ifov, (12e-6, 0.0), "focal_length"),
        (optics.field_of_view, (0, 12e-6, 13e-3), "pixels"),
        (optics.ground_sampling_at_nadir, ([10.0, -1.0], 12e-6, 13e-3), "height"),
        (optics.digital_levels, (0,), "bits"),
    ],
)
def test_figures_that_no_camera_or_flight_can_have_are_refused(function, values, name):
    with pytest.raises(RangeError, match=f"{name} out of range"):
        function(*values)


def test_footprint_of_a_tilted_camera_widens_away_from_it():
    tilted = pose.rotation_from_yaw_pitch_roll(0.0, np.radians(-50), 0.0)
    top_left, top_right, bottom_right, bottom_left = optics.footprint([0, 0, 60], tilted, FOCAL_PX, SHAPE)
    assert top_right[0] - top_left[0] > bottom_right[0] - bottom_left[0] > 0
    assert top_left[1] > bottom_left[1] > 0


def test_corners_above_the_horizon_have_no_ground():
    level = pose.rotation_from_yaw_pitch_roll(0.0, 0.0, 0.0)
    corners = optics.footprint([0, 0, 60], level, FOCAL_PX, SHAPE)
    assert np.isnan(corners[:, 0]).tolist() == [True, True, False, False]


def corner_area(column, row, camera, plane):
    """Area (m2) of the pixel's four corners on the plane, by the shoelace over their parallelogram."""
    a, b, c, d = (
        pose.pixel_to_plane(column + dc, row + dr, *camera, plane)
        for dc, dr in ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5))
    )
    return 0.5 * np.linalg.norm(np.cross(c - a, d - b))


@pytest.mark.parametrize("plane", [(0, 0, 1, 0), (0.3, -0.2, 1.0, -4.0)])
@pytest.mark.parametrize("pitch_deg", [-90, -60, -35])
def test_area_of_a_pixel_is_that_of_its_corners_on_the_ground(plane, pitch_deg):
    rotation = pose.rotation_from_yaw_pitch_roll(0.7, np.radians(pitch_deg), 0.1)
    camera = ([3.0, 4.0, 60.0], rotation, FOCAL_PX, SHAPE)
    for column, row in ((0, 0), (319.5, 255.5), (600, 500)):
        point = pose.pixel_to_plane(column, row, *camera, plane)
        found = optics.ground_sampling(point, *camera[:3], normal=plane[:3])
        assert found.area == pytest.approx(corner_area(column, row, camera, plane), rel=1e-4)
        assert found.finest * found.coarsest == pytest.approx(found.area)
        assert found.finest <= found.coarsest


def test_tilt_stretches_a_pixel_along_the_line_of_sight_only():
    """At incidence i in the middle of the picture: distance x IFOV across, that over cos i along."""
    rotation = pose.rotation_from_yaw_pitch_roll(0.0, np.radians(-30), 0.0)
    point = pose.pixel_to_ground(319.5, 255.5, [0, 0, 50], rotation, FOCAL_PX, SHAPE)
    found = optics.ground_sampling(point, [0, 0, 50], rotation, FOCAL_PX)
    assert found.distance == pytest.approx(100.0)
    assert np.degrees(found.incidence) == pytest.approx(60.0)
    assert found.finest == pytest.approx(100 / FOCAL_PX)
    assert found.coarsest == pytest.approx(200 / FOCAL_PX)


def test_ground_that_faces_away_or_lies_behind_has_no_sampling():
    points = [[0, 0, 0], [0, 0, 90]]
    assert np.isnan(optics.ground_sampling(points, [0, 0, 60], NADIR, FOCAL_PX).area).tolist() == [False, True]
    assert np.isnan(optics.ground_sampling([0, 0, 0], [0, 0, 60], NADIR, FOCAL_PX, normal=(0, 0, -1)).area)


def test_sampling_over_terrain_uses_its_own_slope():
    along = np.arange(-100.0, 101.0)
    heights = np.tile(0.5 * along, (201, 1))  # rises to the east by 1 in 2
    camera = ([0.0, 0.0, 80.0], NADIR, FOCAL_PX, SHAPE)
    hits = pose.pixel_to_terrain(np.array([100.0, 500.0]), 255.5, *camera, heights, (-100, 100), 1.0)
    normals = pose.terrain_normals(hits, heights, (-100, 100), 1.0)
    assert normals[0] == pytest.approx(np.array([-0.5, 0, 1]) / np.hypot(0.5, 1))
    found = optics.ground_sampling(hits, *camera[:3], normal=normals)
    lean_west = np.arctan2(hits[:, 0] - 0.0, 80.0 - hits[:, 2])  # of the direction back to the camera
    assert found.incidence == pytest.approx(np.abs(lean_west - np.arctan(0.5)))
    level = optics.ground_sampling(hits, *camera[:3])
    assert level.incidence == pytest.approx(np.abs(lean_west))
