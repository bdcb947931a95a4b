"""From a painted site to what the rays need: radiances, heights, emissivities with the true air and sky."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.model.air import sky_hemisphere_radiance, sky_radiance
from groundglow.model.band import Band, BandTable, band_radiance
from groundglow.model.facing import direction
from groundglow.model.reading import Situation, sky_factor
from groundglow.model.surface import emissivity_at_angle, material
from groundglow.model.through_air import at_sensor_radiance_through_air
from groundglow.simulate.flight.trace import Air, Sky, World
from groundglow.simulate.site.kinds import KINDS
from groundglow.simulate.site.paint import Scene
from groundglow.simulate.site.parts import Grid, Site, Surface
from groundglow.simulate.site.shade import SUN

__all__ = ["CLOUDS", "Weather", "make_air", "make_sky", "make_world"]

_BLOCK_M, _PROBE_M, _OFF_M = 0.5, 0.2, 0.007
#: Rays that lean more than this (m a metre of descent) are further from nadir than the invented camera looks.
_STEEPEST = 0.55
_REACH_M, _AIR_STEP_M = 160.0, 2.0
#: Range of sources, K, beyond which the air is taken to treat them alike, and strengths between.
_SOURCES_K, _RUNGS = (180.0, 480.0), 64
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


def make_air(table: BandTable, weather: Weather) -> Air:
    """What the air lets through by distance and source, as the measurement model has it, and its own radiance."""
    distance = np.arange(0.0, _REACH_M + _AIR_STEP_M, _AIR_STEP_M)
    state = {
        "air_temperature": weather.air_temperature,
        "relative_humidity": weather.relative_humidity,
        "pressure": weather.pressure,
    }
    weakest, strongest = (float(table.radiance(kelvin)) for kelvin in _SOURCES_K)
    strength = np.linspace(weakest, strongest, _RUNGS)
    kelvin = table.temperature(strength)

    def arriving(sent: NDArray[np.float64], emissivity: float) -> NDArray[np.float64]:
        """Radiance at the sensor: of the bodies where emissivity is 1, of what falls on them where it is 0."""
        return at_sensor_radiance_through_air(
            table, kelvin, emissivity=emissivity, reflected_radiance=sent, distance=distance[:, None], **state
        )

    own = arriving(np.zeros(1), 0.0)
    situation = Situation(0.5, kelvin, distance=np.maximum(distance, 0.1)[:, None], **state)
    sky = strength * sky_factor(table.band, situation)
    emitted, mirrored = ((arriving(sky, share) - own) / strength for share in (1.0, 0.0))
    return Air(_AIR_STEP_M, (weakest, (_RUNGS - 1) / (strongest - weakest)), emitted, mirrored, own[:, 0])


def _shifted(table: BandTable, radiance: NDArray[np.float64], kelvin: float) -> NDArray[np.float64]:
    return np.asarray(table.radiance(table.temperature(radiance) + kelvin))


def make_sky(table: BandTable, weather: Weather) -> Sky:
    """Clear sky by zenith angle, a warm cloud, the sun as module glass of ordinary flatness mirrors it."""
    band = table.band
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
    planes, plane_of = _planes(scene.site)
    radiance = np.asarray(table.radiance(scene.temperature), dtype=np.float32)
    return World(
        scene.index,
        radiance,
        radiance,
        np.array([grid.west, grid.south, 1.0 / grid.step, 1.0 / _BLOCK_M]),
        planes,
        _near(scene, planes, plane_of),
        plane_of,
        _facts(scene.site, table),
        _emissivities(scene.site, emissivity_change),
    )


def _facts(site: Site, table: BandTable) -> NDArray[np.float64]:
    rows = np.zeros((len(site.surfaces), 8))
    numbers = {s.name: k for k, s in enumerate(site.surfaces)}
    for k, surface in enumerate(site.surfaces):
        kind = KINDS[surface.kind]
        normal = np.array([-surface.plane[1], -surface.plane[2], 1.0])
        under = site.surfaces[numbers["yard" if surface.zone == "yard" else "grass"]]
        ground, own = (273.15 + KINDS[s.kind].celsius + s.warmer for s in (under, surface))
        below = table.radiance(ground + KINDS[under.kind].shade_k) - table.radiance(own)
        rows[k, :3] = normal / np.linalg.norm(normal)
        rows[k, 3:5] = material(kind.material).mirror, surface.floats
        rows[k, 5:] = table.radiance(273.15 + kind.wall_celsius), below, numbers[under.name]
    return rows


def _planes(site: Site) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """All different planes, the ground first, then levels at which rays look for walls they pass through."""
    known: dict[tuple[float, float, float], int] = {(0.0, 0.0, 0.0): 0}
    plane_of = np.array([known.setdefault(s.plane, len(known)) for s in site.surfaces])
    tallest = max(s.plane[0] for s in site.surfaces if not s.floats)
    for height in np.arange(_PROBE_M, tallest, _PROBE_M):
        known.setdefault((float(height) + _OFF_M, 0.0, 0.0), len(known))
    return np.array(list(known)), plane_of


def _near(scene: Scene, planes: NDArray[np.float64], plane_of: NDArray[np.int64]) -> NDArray[np.int16]:
    """Planes that a ray may meet before it ends on the ground in a block: all within reach of its slope."""
    grid = scene.grid
    shape = [int(np.ceil(n * grid.step / _BLOCK_M)) for n in grid.shape]
    blocks = Grid(grid.west, grid.south, _BLOCK_M, *shape)
    within = np.zeros((len(planes), *shape), dtype=bool)
    within[0] = True
    top = planes[:, 0].copy()
    probes = [p for p in range(len(planes)) if p not in set(plane_of.tolist())]
    for surface, plane in zip(scene.site.surfaces, plane_of, strict=True):
        top[plane] = max(_tallest(surface), -1.0)
        reach = _STEEPEST * max(_tallest(surface), 0.5)
        window = blocks.window(surface.outline, margin=reach)
        walls = [p for p in probes if not surface.floats and planes[p, 0] < surface.plane[0]]
        for p in [plane, *walls]:
            within[(p, *window)] = True
    most = int(within.sum(axis=0).max())
    highest = np.argsort(-top, kind="stable")
    within = within[highest]
    order = np.argsort(~within, axis=0, kind="stable")[:most]
    listed = np.where(np.take_along_axis(within, order, axis=0), highest[order], -1)
    return np.ascontiguousarray(np.moveaxis(listed, 0, -1).astype(np.int16))


def _tallest(surface: Surface) -> float:
    return float((surface.plane[0] + surface.outline @ np.array(surface.plane[1:])).max())


def _emissivities(site: Site, change: dict[str, float]) -> NDArray[np.float64]:
    angle = np.arccos(_COSINES)
    found = {}
    for name in {KINDS[s.kind].material for s in site.surfaces}:
        plain = np.nan_to_num(emissivity_at_angle(material(name), angle, band="7.5-13.5"))
        found[name] = np.clip(plain + change.get(name, 0.0), 0.0, 1.0)
    return np.stack([found[KINDS[s.kind].material] for s in site.surfaces])
