"""Where rays meet a height raster."""

import numpy as np
import pytest

from groundglow.errors import InputError, RangeError
from groundglow.model import pose

SHAPE = (512, 640)
MIDDLE = (319.5, 255.5)
FOCAL = 13e-3 / 12e-6
NADIR = pose.rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)


RAYS = {"column": np.linspace(5, 630, 40)[None, :], "row": np.linspace(5, 500, 30)[:, None]}
OBLIQUE = pose.rotation_from_yaw_pitch_roll(0.4, np.radians(-40), 0.1)


def hills(x, y):
    return 4 * np.sin(x / 17) * np.cos(y / 23) + 0.05 * x


def raster(step=2.0, half=400.0):
    along = np.arange(-half, half + step, step)
    return hills(along[None, :], -along[:, None]), (-half, half), step


def bilinear(heights, origin, step, x, y):
    column, row = (x - origin[0]) / step, (origin[1] - y) / step
    i, j = np.floor(row).astype(int), np.floor(column).astype(int)
    v, u = row - i, column - j
    return (1 - v) * ((1 - u) * heights[i, j] + u * heights[i, j + 1]) + v * (
        (1 - u) * heights[i + 1, j] + u * heights[i + 1, j + 1]
    )


def test_flat_terrain_is_level_ground():
    flat = np.full((200, 200), 7.0)
    place = ([3.0, -20.0, 60.0], OBLIQUE, FOCAL, SHAPE)
    on_terrain = pose.pixel_to_terrain(**RAYS, **_named(place), heights=flat, origin=(-300, 300), step=3.0)
    on_plane = pose.pixel_to_ground(RAYS["column"], RAYS["row"], *place, height=7.0)
    assert on_terrain == pytest.approx(on_plane, abs=1e-8)


def _named(place):
    return dict(zip(("position", "rotation", "focal_px", "shape"), place, strict=True))


@pytest.mark.parametrize("pitch_deg", [-90, -40, -15])
def test_hits_lie_on_the_terrain_and_nothing_hides_them(pitch_deg):
    """A dense march along every ray, in NumPy, is the reference: first place below the surface."""
    heights, origin, step = raster()
    rotation = pose.rotation_from_yaw_pitch_roll(0.4, np.radians(pitch_deg), 0.02)
    place = ([1.3, -7.7, 35.0], rotation, FOCAL, SHAPE)
    hits = pose.pixel_to_terrain(**RAYS, **_named(place), heights=heights, origin=origin, step=step)
    inside = np.isfinite(hits[..., 2])
    assert inside.mean() > 0.9
    x, y, z = np.moveaxis(hits[inside], -1, 0)
    assert z == pytest.approx(bilinear(heights, origin, step, x, y), abs=1e-8)

    rays = pose.pixel_rays(rotation, FOCAL, SHAPE, **RAYS)[inside]
    distance = np.linalg.norm(hits[inside] - place[0], axis=-1)
    for share in np.linspace(0.0, 0.9995, 3000):
        before = place[0] + (share * distance)[:, None] * rays
        gap = before[:, 2] - bilinear(heights, origin, step, before[:, 0], before[:, 1])
        assert gap.min() > -1e-7


def test_terrain_hits_project_back_to_their_pixels():
    heights, origin, step = raster()
    place = ([1.3, -7.7, 45.0], OBLIQUE, FOCAL, SHAPE)
    hits = pose.pixel_to_terrain(**RAYS, **_named(place), heights=heights, origin=origin, step=step)
    column, row = pose.ground_to_pixel(hits, *place)
    column, row = column[np.isfinite(column)], row[np.isfinite(row)]
    wanted = np.broadcast_to(RAYS["column"], hits.shape[:2])[np.isfinite(hits[..., 0])]
    assert column == pytest.approx(wanted, abs=1e-7)


def test_a_ridge_hides_the_ground_behind_it():
    heights = np.zeros((101, 101))
    heights[40, :] = 20.0  # 10 m north of the middle
    level = pose.rotation_from_yaw_pitch_roll(0.0, np.radians(-20), 0.0)
    hit = pose.pixel_to_terrain(*MIDDLE, [0, 0, 18], level, FOCAL, SHAPE, heights, (-50, 50), 1.0)
    assert 8.9 < hit[1] < 10.0
    assert hit[2] == pytest.approx(18 - hit[1] * np.tan(np.radians(20)))


def test_rays_off_the_raster_and_cameras_below_ground_meet_nothing():
    heights = np.zeros((11, 11))
    off = pose.pixel_to_terrain(*MIDDLE, [100, 0, 50], NADIR, FOCAL, SHAPE, heights, (-5, 5), 1.0)
    below = pose.pixel_to_terrain(*MIDDLE, [0, 0, -5], OBLIQUE, FOCAL, SHAPE, heights, (-5, 5), 1.0)
    assert np.isnan(off).all()
    assert np.isnan(below).all()


def test_a_camera_under_a_hill_does_not_see_through_it():
    heights, origin, step = raster()
    tilted = pose.rotation_from_yaw_pitch_roll(0.0, np.radians(20), 0.0)
    inside_hill = [27.0, 0.0, hills(27.0, 0.0) - 1.0]
    hits = pose.pixel_to_terrain(**RAYS, position=inside_hill, rotation=tilted, focal_px=FOCAL, shape=SHAPE,
                                 heights=heights, origin=origin, step=step)  # fmt: skip
    assert np.isnan(hits).all()


def test_a_hole_in_the_raster_is_passed_but_ground_met_unseen_gives_nothing():
    flat = np.zeros((101, 101))
    flat[45:50, :] = np.nan  # y from 1 to 5
    seen = pose.pixel_to_terrain(*MIDDLE, [0, -20, 30], _looking_north(40), FOCAL, SHAPE, flat, (-50, 50), 1.0)
    assert seen[1] == pytest.approx(30 / np.tan(np.radians(40)) - 20)
    lost = pose.pixel_to_terrain(*MIDDLE, [0, -20, 23], _looking_north(45), FOCAL, SHAPE, flat, (-50, 50), 1.0)
    assert np.isnan(lost).all()


def _looking_north(depression_deg):
    return pose.rotation_from_yaw_pitch_roll(0.0, -np.radians(depression_deg), 0.0)


def test_a_raster_may_run_north_instead_of_south():
    heights, origin, step = raster()
    place = _named(([1.3, -7.7, 45.0], OBLIQUE, FOCAL, SHAPE))
    south = pose.pixel_to_terrain(**RAYS, **place, heights=heights, origin=origin, step=step)
    north = pose.pixel_to_terrain(
        **RAYS, **place, heights=heights[::-1], origin=(origin[0], -origin[1]), step=(step, step)
    )
    assert north == pytest.approx(south, nan_ok=True, abs=1e-8)


def test_a_raster_without_cells_or_step_is_refused():
    with pytest.raises(InputError, match="2 x 2"):
        pose.pixel_to_terrain(*MIDDLE, [0, 0, 9], NADIR, FOCAL, SHAPE, np.zeros(5), (0, 0), 1.0)
    with pytest.raises(RangeError, match="step"):
        pose.pixel_to_terrain(*MIDDLE, [0, 0, 9], NADIR, FOCAL, SHAPE, np.zeros((5, 5)), (0, 0), 0.0)


def test_terrain_nobody_knows_is_met_by_no_ray():
    unknown = np.full((5, 5), np.nan)
    hit = pose.pixel_to_terrain(*MIDDLE, [2, -2, 9], NADIR, FOCAL, SHAPE, unknown, (0, 0), 1.0)
    assert np.isnan(hit).all()


def test_normals_outside_the_raster_are_unknown():
    flat = np.zeros((5, 5))
    assert np.isnan(pose.terrain_normals([[9.0, -1.0, 0.0]], flat, (0, 0), 1.0)).all()
    assert pose.terrain_normals([4.0, -4.0, 0.0], flat, (0, 0), 1.0) == pytest.approx([0, 0, 1])
