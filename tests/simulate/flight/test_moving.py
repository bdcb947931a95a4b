"""What moves with the camera or flies: mirrored sun and cloud, a bird."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from groundglow.model.pose import pixel_to_ground
from groundglow.model.rotation import rotation_from_yaw_pitch_roll
from groundglow.model.table import BandTable
from groundglow.simulate.flight.bird import Bird, draw_bird, where_is
from groundglow.simulate.flight.camera import CAMERA
from groundglow.simulate.flight.mirrored import mirrored_places
from groundglow.simulate.flight.path import Shot
from groundglow.simulate.flight.render import render
from groundglow.simulate.flight.world import Weather, make_air, make_sky, make_world
from groundglow.simulate.site.field import TILT_DEG
from groundglow.simulate.site.paint import Scene
from groundglow.simulate.site.parts import Grid, Site, Surface, rectangle

SHAPE = (CAMERA.rows, CAMERA.columns)


@pytest.fixture
def glass() -> Scene:
    """Nothing but even glass, tilted to the south."""
    plane = (0.0, 0.0, float(np.tan(np.radians(TILT_DEG))))
    ground = rectangle(-20.0, -20.0, 20.0, 20.0)
    surfaces = (Surface("grass", "grass", ground), Surface("glass", "module", ground, plane=plane))
    grid = Grid.spanning((-20.0, -20.0, 20.0, 20.0), 0.1)
    index = np.ones(grid.shape, dtype=np.uint16)
    return Scene(Site(surfaces, {}), grid, index, np.full(grid.shape, 315.0, dtype=np.float32))


def down(x: float, y: float, height: float, yaw: float = 0.0) -> Shot:
    """A camera that looks straight down."""
    return Shot("s", 0.0, np.array([x, y, height]), rotation_from_yaw_pitch_roll(yaw, -np.pi / 2, 0.0))


@pytest.mark.parametrize("shot", [down(0.0, 0.0, 30.0), down(3.0, -2.0, 24.0, yaw=0.3)])
def test_the_brightest_pixel_of_glass_is_where_the_sun_is_mirrored(shot: Shot, glass: Scene, table: BandTable) -> None:
    """Rays that the kernel mirrors against the place that the law of reflection gives."""
    weather = Weather(291.0, 0.5, 100500.0, 0.0)
    sky, air = make_sky(table, weather), make_air(table, weather)
    radiance = render(shot, make_world(glass, table, {}), sky, air).radiance
    row, column = np.unravel_index(np.argmax(radiance), radiance.shape)
    known = {kind: (c, r) for kind, c, r, _ in mirrored_places(shot, np.ones(SHAPE, dtype=bool))}
    assert known["sun"] == pytest.approx((column, row), abs=4)
    apparent = table.temperature(np.array([radiance.max(), np.median(radiance)], dtype=float))
    assert apparent[0] - apparent[1] > 20


def test_without_glass_nothing_is_mirrored() -> None:
    """Grass does not shine."""
    assert mirrored_places(down(0.0, 0.0, 30.0), np.zeros(SHAPE, dtype=bool)) == []


def test_the_mirrored_sun_moves_with_the_camera() -> None:
    """The same pixel in two frames taken apart: another place on the ground each time."""
    one, other = (mirrored_places(down(x, 0.0, 30.0), np.ones(SHAPE, dtype=bool)) for x in (0.0, 5.0))
    assert one == other


def test_the_bird_is_over_other_ground_in_each_frame() -> None:
    """A stable place would be a find; the bird's is not."""
    bird = Bird(0.0, np.array([0.0, 0.0, 25.0]), np.array([2.0, 1.0, 0.0]))
    shots = [Shot("s", float(t), np.array([0.0, 1.4 * t, 60.0]), down(0, 0, 60.0).rotation) for t in (0, 2, 4)]
    seen = [where_is(bird, s) for s in shots]
    assert all(seen)
    ground = [
        pixel_to_ground(v[0], v[1], s.position, s.rotation, CAMERA.focal_px, SHAPE)
        for v, s in zip(seen, shots, strict=True)
        if v is not None
    ]
    assert min(np.linalg.norm(a - b) for a, b in pairwise(ground)) > 3.0


def test_a_bird_behind_the_camera_is_not_seen() -> None:
    """Higher than the camera, or outside the frame."""
    assert where_is(Bird(0.0, np.array([0.0, 0.0, 70.0]), np.zeros(3)), down(0.0, 0.0, 60.0)) is None
    assert where_is(Bird(0.0, np.array([40.0, 0.0, 25.0]), np.zeros(3)), down(0.0, 0.0, 60.0)) is None


def test_a_drawn_bird_is_warm_where_it_is_and_nowhere_else() -> None:
    """Its middle reaches its radiance, far pixels keep theirs."""
    plain = np.full(SHAPE, 40.0, dtype=np.float32)
    drawn = draw_bird(plain, (300.0, 200.0, 12.0), 55.0)
    assert drawn[200, 300] == pytest.approx(55.0, abs=0.2)
    assert drawn[200, 340] == 40.0
    assert np.count_nonzero(drawn > 47.0) == pytest.approx(np.pi / 4 * 12 * 6, rel=0.35)
