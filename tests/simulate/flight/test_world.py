"""True air and sky of a flight, and the heights at which its rays look."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from groundglow.model.absorption import quadrature
from groundglow.model.air import sky_radiance, spectral_transmittance
from groundglow.model.planck import spectral_radiance
from groundglow.model.profile import profile
from groundglow.model.sky import spectral_sky_radiance
from groundglow.model.table import BandTable
from groundglow.simulate.flight.trace import Air
from groundglow.simulate.flight.world import CLOUDS, Weather, make_air, make_sky, make_world
from groundglow.simulate.site.paint import Scene

WEATHER = Weather(291.0, 0.5, 100500.0, 0.0)
STATE = {"air_temperature": 291.0, "relative_humidity": 0.5, "pressure": 100500.0}


def _arriving(shares: NDArray[np.float64], air: Air, place: tuple[float, float]) -> float:
    """Share of a radiance that arrives over a distance, as the rays look it up: bilinear between the nodes."""
    distance, radiance = place
    steps, rungs = (np.arange(n) for n in shares.shape)
    along = [np.interp((radiance - air.ladder[0]) * air.ladder[1], rungs, row) for row in shares]
    return float(np.interp(distance / air.step, steps, along))


@pytest.mark.parametrize("distance", [17.0, 61.3, 93.0])
@pytest.mark.parametrize("kelvin", [270.0, 300.0, 345.0])
def test_what_is_emitted_arrives_as_the_sum_over_wavelengths_says(
    table: BandTable, distance: float, kelvin: float
) -> None:
    """Spectral transmittance times Planck's law, plus the air's own radiance: within 10 mK of a flight's readings."""
    air, grid = make_air(table, WEATHER), quadrature(table.band)
    tau = grid.at_nodes(spectral_transmittance(distance, **STATE)[1])
    body, around = (spectral_radiance(grid.wavelength, t) for t in (kelvin, 291.0))
    exact = float((tau * body + (1 - tau) * around) @ grid.weight)
    radiance = float(table.radiance(kelvin))
    own = float(np.interp(distance / air.step, np.arange(len(air.radiance)), air.radiance))
    seen = _arriving(air.emitted, air, (distance, radiance)) * radiance + own
    assert float(table.temperature(seen) - table.temperature(exact)) == pytest.approx(0.0, abs=0.010)


@pytest.mark.parametrize("zenith", [0.0, 45.0, 65.0])
def test_a_mirrored_sky_arrives_with_its_own_spectrum(table: BandTable, zenith: float) -> None:
    """Less arrives of the layered sky than of a black body as warm; the rays know by how much, within 30 %."""
    air, grid, distance = make_air(table, WEATHER), quadrature(table.band), 60.0
    sky = grid.at_nodes(spectral_sky_radiance(profile(291.0, 0.5, 100500.0), np.radians(zenith))[0])
    tau = grid.at_nodes(spectral_transmittance(distance, **STATE)[1])
    radiance = float(sky @ grid.weight)
    lost_as_black = 1 - _arriving(air.emitted, air, (distance, radiance))
    lost_as_sky = 1 - _arriving(air.mirrored, air, (distance, radiance))
    exact = 1 - float((tau * sky) @ grid.weight) / radiance
    assert exact > 1.3 * lost_as_black
    assert lost_as_sky - lost_as_black == pytest.approx(exact - lost_as_black, rel=0.3)


def test_what_is_as_warm_as_the_air_is_mirrored_like_a_black_body(table: BandTable) -> None:
    """The ground below a roof's edge, a cloud, the sun: no sky's spectrum."""
    air = make_air(table, WEATHER)
    strength = air.ladder[0] + np.arange(air.emitted.shape[1]) / air.ladder[1]
    warm = strength > float(table.radiance(WEATHER.air_temperature))
    np.testing.assert_allclose(air.mirrored[:, warm], air.emitted[:, warm], atol=1e-9)
    assert (air.mirrored[5, ~warm][:-1] < air.emitted[5, ~warm][:-1]).all()


def test_the_skys_error_is_in_its_apparent_temperature(table: BandTable) -> None:
    """A sky 5 K warmer than the model's reads 5 K warmer at every zenith angle."""
    sky = make_sky(table, replace(WEATHER, sky_offset=5.0))
    plain = sky_radiance(table.band, np.radians(60.0), air_temperature=291.0, relative_humidity=0.5)
    warmer = table.temperature(np.interp(0.5, np.linspace(0, 1, 257), sky.clear)) - table.temperature(float(plain))
    assert warmer == pytest.approx(5.0, abs=0.1)


def test_the_cloud_is_warmer_than_the_sky_and_the_sun_outshines_both(table: BandTable) -> None:
    """Lobes add radiance: clouds some, the sun, spread by uneven glass, much more."""
    lobes = make_sky(table, WEATHER).lobes
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
