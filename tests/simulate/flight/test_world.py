"""True air and sky of a flight, and the heights at which its rays look."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from groundglow.model.air import air_path, sky_radiance
from groundglow.model.table import BandTable
from groundglow.simulate.flight.world import CLOUDS, Weather, make_air, make_sky, make_world
from groundglow.simulate.site.paint import Scene

WEATHER = Weather(291.0, 0.5, 100500.0, 0.0)


def test_air_is_the_models_at_any_distance(table: BandTable) -> None:
    """Between the nodes, to 1e-4 of transmittance, over the distances that a flight has."""
    air = make_air(table.band, WEATHER)
    for distance in (17.0, 61.3, 93.0):
        place = distance / air.step
        nodes = np.arange(len(air.transmittance))
        known = air_path(table.band, distance, air_temperature=291.0, relative_humidity=0.5, pressure=100500.0)
        assert np.interp(place, nodes, air.transmittance) == pytest.approx(float(known.transmittance), abs=1e-4)


def test_the_skys_error_is_in_its_apparent_temperature(table: BandTable) -> None:
    """A sky 5 K warmer than the model's reads 5 K warmer at every zenith angle."""
    sky = make_sky(table.band, table, replace(WEATHER, sky_offset=5.0))
    plain = sky_radiance(table.band, np.radians(60.0), air_temperature=291.0, relative_humidity=0.5)
    warmer = table.temperature(np.interp(0.5, np.linspace(0, 1, 257), sky.clear)) - table.temperature(float(plain))
    assert warmer == pytest.approx(5.0, abs=0.1)


def test_the_cloud_is_warmer_than_the_sky_and_the_sun_outshines_both(table: BandTable) -> None:
    """Lobes add radiance: clouds some, the sun, spread by uneven glass, much more."""
    lobes = make_sky(table.band, table, WEATHER).lobes
    assert len(lobes) == len(CLOUDS) + 1
    assert (lobes[:-1, 4] > 1.0).all()
    assert lobes[-1, 4] > 5 * lobes[:-1, 4].max()
    assert np.linalg.norm(lobes[:, :3], axis=1) == pytest.approx(1.0)


def test_rays_look_for_what_is_near_and_for_the_ground_everywhere(scene: Scene, table: BandTable) -> None:
    """Every block lists the ground; the tank's upper side only around the tank."""
    world = make_world(scene, table, {})
    lists_ground = (world.near == 0).any(axis=-1)
    lists_tank = (world.near == world.plane_of[1]).any(axis=-1)
    assert lists_ground.all()
    assert 0 < lists_tank.mean() < 0.05
    row, column = (int((v + 20.0) * world.frame[3]) for v in (0.0, 3.0))
    assert lists_tank[row, column]


def test_a_changed_emissivity_changes_that_material_only(scene: Scene, table: BandTable) -> None:
    """At every angle alike."""
    plain, changed = (make_world(scene, table, change).emissivity for change in ({}, {"grass": -0.01}))
    assert (plain - changed)[0, 10:] == pytest.approx(0.01)
    np.testing.assert_array_equal(plain[1:], changed[1:])
