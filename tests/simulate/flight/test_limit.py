"""A planted fault sits where its level says, worked out again from whole frames by other means."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import ndimage

from groundglow.model.table import BandTable
from groundglow.simulate.flight.camera import CAMERA, make_pattern
from groundglow.simulate.flight.limit import Stage, lift, plant, scaled, sights_of, where_seen
from groundglow.simulate.flight.path import Shot
from groundglow.simulate.flight.render import render
from groundglow.simulate.flight.world import Weather, make_air, make_sky, make_world
from groundglow.simulate.site.faults import Fault
from groundglow.simulate.site.paint import Scene
from groundglow.simulate.site.parts import Feature


@pytest.fixture
def stage(scene: Scene, table: BandTable) -> Stage:
    """Uneven grass seen three times from 25 m."""
    rng = np.random.default_rng(4)
    rough = ndimage.gaussian_filter(rng.standard_normal(scene.grid.shape), 3.0)
    scene = replace(scene, temperature=(scene.temperature + 0.4 * rough / rough.std()).astype(np.float32))
    weather = Weather(291.0, 0.5, 100500.0, 0.0)
    world = make_world(scene, table, {})
    shots = [Shot(f"s{k}", float(k), np.array([-9.0 + k, -9.0, 25.0]), np.diag([1.0, -1.0, -1.0])) for k in range(3)]
    planted = world._replace(radiance=world.radiance.copy())
    sky, air = make_sky(table, weather), make_air(table, weather)
    return Stage("one", scene, planted, world, sky, air, shots, table, make_pattern(rng, CAMERA))


@pytest.fixture(params=[(0.5, 1, 3.0), (0.3, -1, 1.5), (0.25, 1, 10.0)])
def fault(request: pytest.FixtureRequest) -> Fault:
    """Warm and cold discs of several sizes on the grass."""
    size, sign, level = request.param
    feature = Feature(-8.3, -9.4, (size, size), float(sign), edge=0.04)
    return Fault("F", "spot", level, sign, "grass", 0.0, feature, flight="one")


def test_the_rise_at_the_sensor_is_the_level_times_the_limit(stage: Stage, fault: Fault) -> None:
    """Rise of the half-maximum core over the ring, and clutter in the ring, both from whole rendered frames."""
    planted = scaled(stage, fault)
    plant(stage, planted.fault.feature)
    levels = []
    for shot, column, row in where_seen(stage.shots, fault.place):
        warm, plain = (
            stage.table.temperature(render(shot, w, stage.sky, stage.air).radiance.astype(float))
            for w in (stage.world, stage.clean)
        )
        rise = (warm - plain) * fault.sign
        y, x = np.indices(rise.shape)
        away = np.hypot(x - column, y - row)
        diameter = fault.feature.size[0] * CAMERA.focal_px / 25.0
        ring = plain[(away > 0.75 * diameter) & (away < max(1.5 * diameter, 0.75 * diameter + 3))]
        local = stage.pattern - ndimage.uniform_filter(stage.pattern, 15)
        limit = np.sqrt(0.05**2 + local.std() ** 2 + ring.std() ** 2)
        core = rise > 0.5 * rise.max()
        levels.append((warm[core].mean() - ring.mean()) * fault.sign / limit)
    assert len(levels) == 3
    assert np.median(levels) == pytest.approx(fault.level, rel=0.12)
    assert planted.limit > np.hypot(0.05, 0.03)


def test_lifting_a_fault_leaves_no_trace(stage: Stage, fault: Fault) -> None:
    """The world is as before, to the rounding of a temperature."""
    plant(stage, fault.warmed(8.0).feature)
    assert np.abs(stage.world.radiance - stage.clean.radiance).max() > 1.0
    lift(stage, fault.feature)
    np.testing.assert_array_equal(stage.world.radiance, stage.clean.radiance)


def test_sights_name_every_frame_that_shows_the_place(stage: Stage, fault: Fault) -> None:
    """In order of the frames, with the pixel where the place lies."""
    planted = scaled(stage, fault)
    plant(stage, planted.fault.feature)
    sights = sights_of(stage, stage.shots, planted)
    assert [s.frame for s in sights] == ["s0.tif", "s1.tif", "s2.tif"]
    steps = np.diff([s.column for s in sights])
    assert steps == pytest.approx(-CAMERA.focal_px / 25.0, abs=1e-6)
    assert all(np.sign(s.rise) == fault.sign for s in sights)
