"""Rays end where geometry says, and the compiled kernel agrees with a plain NumPy version of itself."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import RegularGridInterpolator

from groundglow.model.pose import pixel_to_ground
from groundglow.model.rotation import rotation_from_yaw_pitch_roll
from groundglow.model.surface import emissivity_at_angle, material
from groundglow.model.table import BandTable
from groundglow.simulate.flight.camera import CAMERA
from groundglow.simulate.flight.path import Shot
from groundglow.simulate.flight.render import Window, rays_of
from groundglow.simulate.flight.trace import Air, Rays, Sky, World, cast_rays
from groundglow.simulate.flight.world import Weather, make_air, make_sky, make_world
from groundglow.simulate.site.paint import Scene

Traced = tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.uint16]]


def passing(air: Air, shares: NDArray[np.float64], distance: ArrayLike, radiance: ArrayLike) -> NDArray[np.float64]:
    """Share of a radiance that arrives, by the table of what is emitted or of what is mirrored."""
    axes = (air.step * np.arange(shares.shape[0]), air.ladder[0] + np.arange(shares.shape[1]) / air.ladder[1])
    held = [np.clip(value, axis[0], axis[-1]) for value, axis in zip((distance, radiance), axes, strict=True)]
    return np.asarray(RegularGridInterpolator(axes, shares)(tuple(held)))


def cast_rays_plainly(rays: Rays, world: World, sky: Sky, air: Air, shape: tuple[int, int]) -> Traced:
    """The same physics on whole arrays: every plane for every ray, the first valid crossing wins."""
    i, j = np.meshgrid(*(np.arange(n) for n in shape), indexing="ij")
    ray = rays.corner + j[..., None] * rays.right + i[..., None] * rays.down
    slope = ray[..., :2] / -ray[..., 2:]
    depth = np.full(shape, np.inf)
    number, own = np.zeros(shape, dtype=int), np.zeros(shape)
    normal = np.zeros((*shape, 3))
    normal[..., 2] = 1.0
    upper = np.zeros(shape, dtype=bool)
    ends = rays.origin[:2] + slope * rays.origin[2]
    block = ((ends - world.frame[:2]) * world.frame[3]).astype(int)
    listed = world.near[tuple(np.clip(block[..., 1 - k], 0, world.near.shape[k] - 1) for k in range(2))]
    for p, (a, b, c) in enumerate(world.planes):
        way = (rays.origin[2] - a - b * rays.origin[0] - c * rays.origin[1]) / (1 + slope @ np.array([b, c]))
        place = rays.origin[:2] + slope * way[..., None]
        cell = ((place - world.frame[:2]) * world.frame[2]).astype(int)
        column, row = (np.clip(cell[..., k], 0, world.number.shape[1 - k] - 1) for k in range(2))
        k = world.number[row, column].astype(int)
        high = world.planes[world.plane_of[k]]
        height = high[..., 0] + (high[..., 1:] * place).sum(axis=-1)
        floats = world.facts[k, 4] != 0
        on_top = world.plane_of[k] == p
        wall = ~on_top & ~floats & (height > rays.origin[2] - way + 1e-6)
        below = ~on_top & floats & (p == 0)
        first = (on_top | wall | below) & (way < depth) & (listed == p).any(axis=-1)
        depth = np.where(first, way, depth)
        warm = np.where(wall, world.facts[k, 5], world.radiance[row, column])
        warm = np.where(below, world.base[row, column] + world.facts[k, 6], warm)
        number = np.where(first, np.where(below, world.facts[k, 7].astype(int), k), number)
        own = np.where(first, warm, own)
        normal = np.where((first & on_top)[..., None], world.facts[k, :3], normal)
        normal = np.where((first & ~on_top)[..., None], np.array([0.0, 0.0, 1.0]), normal)
        upper = np.where(first, on_top, upper)
    unit = ray / np.linalg.norm(ray, axis=-1, keepdims=True)
    cosine = -(unit * normal).sum(axis=-1)
    nodes = np.linspace(0, 1, 257)
    share = np.zeros(shape)
    for k in np.unique(number):
        share[number == k] = np.interp(cosine[number == k], nodes, world.emissivity[k])
    mirrored = unit + 2 * cosine[..., None] * normal
    bright = np.interp(mirrored[..., 2], nodes, sky.clear)
    for lobe in sky.lobes:
        bright += lobe[4] * np.exp(-(1 - mirrored @ lobe[:3]) * lobe[3])
    bright = np.where(mirrored[..., 2] > 0, bright, sky.ground)
    reflected = np.where(upper & (world.facts[number, 3] != 0), bright, sky.hemisphere)
    distance = depth * np.linalg.norm(np.concatenate([slope, np.ones((*shape, 1))], axis=-1), axis=-1)
    seen = share * own * passing(air, air.emitted, distance, own)
    seen += (1 - share) * reflected * passing(air, air.mirrored, distance, reflected)
    seen += np.interp(distance, air.step * np.arange(len(air.radiance)), air.radiance)
    return seen.astype(np.float32), own.astype(np.float32), number.astype(np.uint16)


@pytest.fixture
def surroundings(table: BandTable) -> tuple[Sky, Air]:
    """Sky and air of a mild day."""
    weather = Weather(291.0, 0.5, 100500.0, 0.0)
    return make_sky(table, weather), make_air(table, weather)


def shot_from(x: float, y: float, height: float, *, yaw: float = 0.0, roll: float = 0.0) -> Shot:
    """A camera that looks down, leaning sideways by ``roll``."""
    rotation = rotation_from_yaw_pitch_roll(yaw, -np.pi / 2 + 0.02, roll)
    return Shot("one", 0.0, np.array([x, y, height]), rotation)


def trace(shot: Shot, world: World, sky: Sky, air: Air, window: Window) -> Traced:
    """The kernel over a window with its margin."""
    shape = ((window.rows + 8) * 2, (window.columns + 8) * 2)
    out = np.empty(shape, np.float32), np.empty(shape, np.float32), np.empty(shape, np.uint16)
    cast_rays(rays_of(shot, window), world, sky, air, out)
    return out


@pytest.mark.parametrize("shot", [shot_from(-3.0, 1.0, 25.0, yaw=0.4), shot_from(0.0, 1.5, 22.0, yaw=-2.0)])
def test_the_kernel_agrees_with_its_numpy_twin(
    shot: Shot, scene: Scene, table: BandTable, surroundings: tuple[Sky, Air]
) -> None:
    """Radiance, surface and number of every ray, over glass, walls and open ground."""
    world, window = make_world(scene, table, {}), Window()
    world = world._replace(radiance=world.radiance * np.float32(1.05))
    got = trace(shot, world, *surroundings, window)
    expected = cast_rays_plainly(rays_of(shot, window), world, *surroundings, got[0].shape)
    assert set(np.unique(expected[2])) == {0, 1, 2}
    np.testing.assert_array_equal(got[2], expected[2])
    np.testing.assert_allclose(got[1], expected[1], rtol=2e-7)
    np.testing.assert_allclose(got[0], expected[0], rtol=2e-6)


def test_open_ground_reads_as_the_measurement_equation_says(
    scene: Scene, table: BandTable, surroundings: tuple[Sky, Air]
) -> None:
    """Grass at 300 K from 30 m: emitted and reflected radiance through the air, written out by hand."""
    sky, air = surroundings
    shot = Shot("one", 0.0, np.array([-12.0, -12.0, 30.0]), rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0))
    sensor, _, _ = trace(shot, make_world(scene, table, {}), sky, air, Window(319, 255, 1, 1))
    emissivity = float(emissivity_at_angle(material("grass"), 0.0, band="7.5-13.5"))
    body = float(table.radiance(300.0))
    arriving = emissivity * body * passing(air, air.emitted, 30.0, body)
    arriving += (1 - emissivity) * sky.hemisphere * passing(air, air.mirrored, 30.0, sky.hemisphere)
    assert sensor.mean() == pytest.approx(float(arriving) + air.radiance[int(30.0 / air.step)], rel=1e-5)


def test_a_raised_edge_is_seen_where_its_height_puts_it(
    scene: Scene, table: BandTable, surroundings: tuple[Sky, Air]
) -> None:
    """The tank's eastern upper edge, 2 m high, leans away from the camera by the rule of similar triangles."""
    shot = Shot("one", 0.0, np.array([0.0, 0.0, 20.0]), rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0))
    _, _, number = trace(shot, make_world(scene, table, {}), *surroundings, Window())
    row = number[number.shape[0] // 2]
    last = np.flatnonzero(row == 1)[-1] / 2 - 4
    expected = (CAMERA.columns - 1) / 2 + CAMERA.focal_px * 4.0 / 18.0
    assert last == pytest.approx(expected, abs=CAMERA.focal_px * 0.05 / 18.0 + 1)


def test_rays_meet_level_ground_where_the_model_says(
    scene: Scene, table: BandTable, surroundings: tuple[Sky, Air]
) -> None:
    """A warm cell of the ground appears at the pixel that the pose model maps there."""
    world = make_world(scene, table, {})
    shot = shot_from(-8.0, -8.0, 30.0, yaw=0.7, roll=0.03)
    column, row = 150.0, 400.0
    place = pixel_to_ground(column, row, shot.position, shot.rotation, CAMERA.focal_px, (CAMERA.rows, CAMERA.columns))
    rows, columns = scene.grid.window(np.array([place[:2] - 0.05, place[:2] + 0.05]))
    warm = world.radiance.copy()
    warm[rows, columns] += 5.0
    _, surface, _ = trace(shot, world._replace(radiance=warm), *surroundings, Window())
    hot = np.argwhere(surface > surface.min() + 2.5).mean(axis=0) / 2 - 4 - 0.25
    assert hot == pytest.approx([row, column], abs=1.5)


def test_nothing_hot_shows_below_a_hot_part_that_floats(
    scene: Scene, table: BandTable, surroundings: tuple[Sky, Air]
) -> None:
    """Ground seen under the glass keeps its own warmth when the glass above is heated."""
    world = make_world(scene, table, {})
    hot = world._replace(radiance=np.where(world.number == 2, world.radiance + 9, world.radiance).astype(np.float32))
    shot = shot_from(-3.0, 5.5, 14.0)
    cold_seen, hot_seen = (trace(shot, w, *surroundings, Window()) for w in (world, hot))
    grass = cold_seen[2] == 0
    np.testing.assert_array_equal(cold_seen[1][grass], hot_seen[1][grass])
    assert (hot_seen[1] > cold_seen[1] + 8).any()
