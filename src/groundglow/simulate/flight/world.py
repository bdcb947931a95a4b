"""From a painted site to what the rays need: radiances, heights, emissivities with the true air and sky."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.air import air_path, sky_hemisphere_radiance, sky_radiance
from groundglow.model.band import Band, BandTable, band_radiance
from groundglow.model.facing import direction
from groundglow.model.surface import emissivity_at_angle, material
from groundglow.simulate.flight.trace import Air, Sky, World
from groundglow.simulate.site.kinds import KINDS
from groundglow.simulate.site.paint import Scene
from groundglow.simulate.site.parts import Site
from groundglow.simulate.site.shade import SUN

__all__ = ["CLOUDS", "Weather", "make_air", "make_sky", "make_world"]

_BLOCK_M = 0.4
_REACH_M, _AIR_STEP_M = 160.0, 2.0
_COSINES = np.linspace(0.0, 1.0, 257)
#: Zenith angle, azimuth, angular radius of each lobe of the one warm cloud, deg; and its temperature, K.
CLOUDS = ((43.0, 171.0, 3.2), (46.5, 178.0, 3.8), (48.0, 187.0, 2.8), (51.0, 175.0, 3.0))
_CLOUD_K = 276.0
_SUN_K, _SUN_RADIUS, _FLATNESS = 5772.0, 0.00465, 0.02
_SUN_THROUGH_AIR = 0.75


@dataclass(frozen=True)
class Weather:
    """The true air and sky: K, share, Pa; ``sky_offset`` is added to the sky's apparent temperature, K."""

    air_temperature: float
    relative_humidity: float
    pressure: float
    sky_offset: float
    cloud_fraction: float = 0.1


def make_air(band: Band, weather: Weather) -> Air:
    """Transmittance and radiance of the air by distance."""
    distance = np.arange(0.0, _REACH_M + _AIR_STEP_M, _AIR_STEP_M)
    path = air_path(
        band,
        np.maximum(distance, 0.1),
        air_temperature=weather.air_temperature,
        relative_humidity=weather.relative_humidity,
        pressure=weather.pressure,
    )
    return Air(_AIR_STEP_M, np.asarray(path.transmittance, float), np.asarray(path.radiance, float))


def _shifted(table: BandTable, radiance: NDArray[np.float64], kelvin: float) -> NDArray[np.float64]:
    return np.asarray(table.radiance(table.temperature(radiance) + kelvin))


def make_sky(band: Band, table: BandTable, weather: Weather) -> Sky:
    """Clear sky by zenith angle, a warm cloud, the sun as module glass of ordinary flatness mirrors it."""
    sky = {"air_temperature": weather.air_temperature, "relative_humidity": weather.relative_humidity}
    zenith = np.arccos(np.clip(_COSINES, np.cos(np.radians(89.0)), 1.0))
    clear = _shifted(table, np.asarray(sky_radiance(band, zenith, **sky)), weather.sky_offset)
    cover = weather.cloud_fraction
    whole = np.asarray(sky_hemisphere_radiance(band, cloud_fraction=cover, **sky))
    ground = float(table.radiance(weather.air_temperature + 6.0))
    lobes = np.array([*_cloud(table, clear), _sun(band)])
    return Sky(clear, lobes, float(_shifted(table, whole, weather.sky_offset)), ground)


def _cloud(table: BandTable, clear: NDArray[np.float64]) -> list[list[float]]:
    found = []
    for zenith, azimuth, radius in CLOUDS:
        way = direction(np.radians(zenith), np.radians(azimuth))
        behind = float(np.interp(way[2], _COSINES, clear))
        sharpness = 2.0 / np.radians(radius) ** 2
        found.append([*way, sharpness, 0.7 * (float(table.radiance(_CLOUD_K)) - behind)])
    return found


def _sun(band: Band) -> list[float]:
    """Lobe that holds the solid angle of the sun's disc, spread by the waviness of glass (rms, rad)."""
    disc = np.pi * _SUN_RADIUS**2
    sharpness = 1.0 / _FLATNESS**2
    radiance = float(band_radiance(band, _SUN_K)) * _SUN_THROUGH_AIR
    return [*SUN, sharpness, radiance * disc * sharpness / (2 * np.pi)]


def make_world(scene: Scene, table: BandTable, emissivity_change: dict[str, float]) -> World:
    """What the kernel needs of a painted site.

    Parameters
    ----------
    emissivity_change : dict of material name to number
        What the true emissivity differs from the catalogue's.
    """
    grid = scene.grid
    block = max(1, round(_BLOCK_M / grid.step))
    radiance = np.asarray(table.radiance(scene.temperature), dtype=np.float32)
    facts = _facts(scene.site, table)
    ceiling = _ceiling(scene, block)
    emissivity = _emissivities(scene.site, emissivity_change)
    frame = np.array([grid.west, grid.south, grid.step])
    return World(scene.index, radiance, ceiling, block, frame, facts, emissivity, float(ceiling.max()) + 0.01)


def _facts(site: Site, table: BandTable) -> NDArray[np.float64]:
    rows = np.zeros((len(site.surfaces), 11))
    numbers = {s.name: k for k, s in enumerate(site.surfaces)}
    for k, surface in enumerate(site.surfaces):
        kind = KINDS[surface.kind]
        normal = np.array([-surface.plane[1], -surface.plane[2], 1.0])
        under = site.surfaces[numbers["yard" if surface.zone == "yard" else "grass"]]
        ground, own = (273.15 + KINDS[s.kind].celsius + s.warmer for s in (under, surface))
        below = table.radiance(ground + KINDS[under.kind].shade_k) - table.radiance(own)
        rows[k, :3] = surface.plane
        rows[k, 3:6] = normal / np.linalg.norm(normal)
        rows[k, 6:8] = material(kind.material).mirror, surface.floats
        rows[k, 8:] = table.radiance(273.15 + kind.wall_celsius), below, numbers[under.name]
    return rows


def _ceiling(scene: Scene, block: int) -> NDArray[np.float32]:
    """Greatest height of any surface in a block and its neighbours."""
    shape = [-(-n // block) for n in scene.grid.shape]
    high = np.full(shape, -1.0, dtype=np.float32)
    tallest = np.array([_tallest(s.plane, s.outline) for s in scene.site.surfaces], dtype=np.float32)
    for k in range(shape[0]):
        strip = scene.index[k * block : (k + 1) * block]
        rows = tallest[strip].max(axis=0)
        padded = np.pad(rows, (0, shape[1] * block - rows.size), mode="edge")
        high[k] = padded.reshape(-1, block).max(axis=1)
    return np.asarray(cv2.dilate(high, np.ones((3, 3), np.uint8)))


def _tallest(plane: tuple[float, float, float], outline: NDArray[np.float64]) -> float:
    return float((plane[0] + outline @ np.array(plane[1:])).max())


def _emissivities(site: Site, change: dict[str, float]) -> NDArray[np.float64]:
    angle = np.arccos(_COSINES)
    found = {}
    for name in {KINDS[s.kind].material for s in site.surfaces}:
        plain = np.nan_to_num(emissivity_at_angle(material(name), angle, band="7.5-13.5"))
        found[name] = np.clip(plain + change.get(name, 0.0), 0.0, 1.0)
    return np.stack([found[KINDS[s.kind].material] for s in site.surfaces])
