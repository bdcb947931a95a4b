"""Collinearity against published poses, a worked case and an independent library."""

import csv

import cv2
import numpy as np
import pytest

from groundglow.model import pose

TOPIC = "Collinearity"
# Worked case: omega 2, phi -3, kappa 30 deg, f = 13 mm, 12 um pixels. Computed once with the collinearity
# equations in Wolf, Dewitt, Wilkinson (matrix M of appendix C) and once with OpenCV: identical.
CENTRE = np.array([1000.0, 2000.0, 1100.0])
POINTS = np.array([[1020.0, 2015.0, 1000.0], [985.0, 1990.0, 1002.0], [1000.0, 2000.0, 1000.0]])
IMAGE_MM = np.array([[2.37166837, 0.33377161], [-3.24122309, -0.21158601], [-0.81732059, -0.05303853]])
FOCAL_PX = 13e-3 / 12e-6
SHAPE = (512, 640)
MIDDLE = np.array([319.5, 255.5])


def rotation():
    return pose.from_y_up(pose.rotation_from_omega_phi_kappa(*np.radians([2.0, -3.0, 30.0])))


def test_worked_case_of_the_collinearity_equations(record_check):
    column, row = pose.ground_to_pixel(POINTS, CENTRE, rotation(), FOCAL_PX, SHAPE)
    x_mm = (column - MIDDLE[0]) * 0.012
    y_mm = (MIDDLE[1] - row) * 0.012
    source = "collinearity equations (Wolf) and OpenCV, computed apart"
    record_check(TOPIC, "image of three points", IMAGE_MM, np.stack([x_mm, y_mm], axis=-1), "mm", 1e-7, source)


def test_worked_case_in_pixels(record_check):
    """The case counts from the picture's corner: principal point 320, 256; ours is half a pixel less."""
    column, row = pose.ground_to_pixel(POINTS[0], CENTRE, rotation(), FOCAL_PX, SHAPE)
    ours, source = [float(column) + 0.5, float(row) + 0.5], "OpenCV, computed apart"
    record_check(TOPIC, "place in the picture", [517.63903108, 228.18569953], ours, "px", 1e-7, source)


def test_projection_agrees_with_opencv(record_check):
    rng, pairs = np.random.default_rng(4), []
    for _ in range(20):
        turned = pose.rotation_from_yaw_pitch_roll(*rng.uniform([-3, -1.6, -0.5], [3, -0.8, 0.5]))
        centre = rng.uniform([-50, -50, 40], [50, 50, 120])
        points = centre + 80 * pose.pixel_rays(turned, FOCAL_PX, SHAPE, *rng.uniform(0, 500, (2, 30)))
        matrix = np.array([[FOCAL_PX, 0, MIDDLE[0]], [0, FOCAL_PX, MIDDLE[1]], [0, 0, 1]])
        theirs, _ = cv2.projectPoints(points, cv2.Rodrigues(turned)[0], -turned @ centre, matrix, None)
        ours = np.stack(pose.ground_to_pixel(points, centre, turned, FOCAL_PX, SHAPE), axis=-1)
        pairs.append((theirs[:, 0], ours))
    published, found = (np.array(part) for part in zip(*pairs, strict=True))
    record_check(TOPIC, "projection by 20 random poses", published, found, "px", 1e-6, "OpenCV projectPoints")


@pytest.fixture
def published(shared_data):
    """Poses of Abolt et al., Optical Engineering (2018), open data, MIT licence."""
    with open(shared_data("river-flight") / "poses.csv", newline="") as file:
        return list(csv.DictReader(file))


def test_angles_of_a_published_adjustment_give_its_matrices(published, record_check):
    angles = [[float(p[f"{a}_deg"]) for p in published] for a in ("omega", "phi", "kappa")]
    theirs = [[[float(p[f"r{i}{j}"]) for j in (1, 2, 3)] for i in (1, 2, 3)] for p in published]
    assert len(published) >= 100
    ours = pose.rotation_from_omega_phi_kappa(*np.radians(angles))
    source = "Abolt et al. 2018, open data"
    record_check(TOPIC, "rotation matrices of an adjustment", theirs, ours, "", 1e-9, source)


def camera_of(row):
    """Pose of a row of the published table, by its angles, in our axes."""
    angles = np.radians([float(row[f"{a}_deg"]) for a in ("omega", "phi", "kappa")])
    turned = pose.from_y_up(pose.rotation_from_omega_phi_kappa(*angles))
    return np.array([float(row[a]) for a in "xyz"]), turned


def matches(folder, a, b):
    """Pixels of the same ground in two frames, by picture content alone."""
    found = []
    for row in (a, b):
        counts = cv2.imread(str(folder / "frames" / row["frame"]), cv2.IMREAD_UNCHANGED)
        low, high = np.percentile(counts, [1, 99])
        grey = np.clip((counts - low) / (high - low) * 255, 0, 255).astype(np.uint8)
        found.append(cv2.SIFT_create(1500).detectAndCompute(grey, None))
    (keys_a, words_a), (keys_b, words_b) = found
    pairs = cv2.BFMatcher(cv2.NORM_L2).knnMatch(words_a, words_b, k=2)
    good = [p for p, q in pairs if p.distance < 0.7 * q.distance]
    first = np.array([keys_a[p.queryIdx].pt for p in good])
    second = np.array([keys_b[p.trainIdx].pt for p in good])
    moved = np.linalg.norm(first - second, axis=1) > 4  # what stays put is the camera's own pattern
    return first[moved], second[moved]


def distance_from_epipolar_line(camera_a, camera_b, first, second, focal_px):
    """How far (px) the second pixel lies from the picture of the first one's ray."""
    (place_a, turn_a), (place_b, turn_b) = camera_a, camera_b
    rays = pose.pixel_rays(turn_a, focal_px, SHAPE, *first.T)
    near, far = (
        np.stack(pose.ground_to_pixel(place_a + d * rays, place_b, turn_b, focal_px, SHAPE), -1) for d in (8, 40)
    )
    along, across = far - near, second - near
    return np.abs(along[:, 0] * across[:, 1] - along[:, 1] * across[:, 0]) / np.linalg.norm(along, axis=1)


def test_published_poses_fit_the_picture_content(published, shared_data):
    """Features found in both frames lie on each other's epipolar lines, as the data's notes report (2.4 px
    median; 15 px or more under any other reading of the angles)."""
    folder, focal_px, distances = shared_data("river-flight"), 9e-3 / 17e-6, []
    for k in range(0, len(published) - 5, 20):
        a, b = published[k], published[k + 5]
        first, second = matches(folder, a, b)
        if len(first) >= 10:
            distances.append(distance_from_epipolar_line(camera_of(a), camera_of(b), first, second, focal_px))
    assert sum(map(len, distances)) > 200
    assert np.median(np.concatenate(distances)) < 4
