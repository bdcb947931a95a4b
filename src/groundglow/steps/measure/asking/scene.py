"""One scene as the model's readings take it: surface, what it reflects, air and distance, each with its doubt."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.model.band import BandTable
from groundglow.model.reading import Situation, Stated, sky_factor
from groundglow.model.through_air import surface_temperature_through_air
from groundglow.model.weather import LIMITS
from groundglow.records.visit import Condition
from groundglow.steps.measure.air import Air, Reflection, reflection
from groundglow.steps.measure.asking.knowns import Known, Made
from groundglow.steps.measure.surfaces import GroundSurface

__all__ = ["Mirrored", "Scene", "mirrored", "moved", "pixel_temperatures", "situation"]

Array = NDArray[np.float64]

#: Inputs of the air that move a computed sky, with their limits and the least step of a difference, SI.
SKY_INPUTS = {"air temperature": ("air_temperature", 0.5), "relative humidity": ("relative_humidity", 0.02)}


@dataclass(frozen=True)
class Scene:
    """A surface in its surroundings.

    ``air`` holds air temperature, relative humidity, pressure and cloud by name. Without ``reflected`` the surface
    reflects the sky that the air makes.
    """

    table: BandTable
    made: Made
    air: Mapping[str, Known]
    distance: Known
    reflected: Known | None = None

    @property
    def knowns(self) -> tuple[Known, ...]:
        """All inputs that were said, recorded or assumed and that matter."""
        air = [k for k in self.air.values() if self.reflected is None or k.name != "cloud"]
        return (self.made.emissivity, *([self.reflected] if self.reflected else []), *air, self.distance)


def moved(scene: Scene, name: str, to: float) -> Scene:
    """The scene with one input of the air at another value, its doubt kept."""
    return replace(scene, air={**scene.air, name: replace(scene.air[name], value=to)})


@dataclass(frozen=True)
class Mirrored:
    """Reflected apparent temperature, K, its standard uncertainty, and for a computed sky what that is made of, K."""

    kelvin: float
    standard_uncertainty: float
    parts: Mapping[str, float]


def mirrored(scene: Scene) -> Mirrored:
    """What the surface reflects: as given, or the sky computed from the air, with its doubt.

    The doubt of a computed sky holds that of the sky model, of cloud, and of the air temperature and humidity that
    the sky is computed from. These are then taken as independent of the air on the path, where they act by far less.
    """
    if scene.reflected is not None:
        known = scene.reflected
        return Mirrored(known.value, known.standard_uncertainty, {})
    found = _sky(scene)
    kelvin = float(scene.table.temperature(found.radiance))
    slope = float(scene.table.slope(kelvin))
    parts = {
        "sky model": found.sky / slope,
        "cloud": found.cloud * scene.air["cloud"].standard_uncertainty / slope,
        **{name: _by_air(scene, name) for name in SKY_INPUTS},
    }
    return Mirrored(kelvin, float(np.sqrt(sum(p * p for p in parts.values()))), parts)


def _sky(scene: Scene) -> Reflection:
    """Radiance, its change for one standard uncertainty of the sky model, and for cloud from 0 to 1."""
    made, air = scene.made, scene.air
    surface = GroundSurface(made.name, None, made.emissivity.value, 0.0, made.mirror_like, made.tilt)
    # A cloud's doubt of one makes the change by cloud one by the unit of cloud.
    cloud = Condition(air["cloud"].value, 1.0)
    weather = Air(
        air["air temperature"].condition, air["relative humidity"].condition, air["pressure"].condition, cloud
    )
    return reflection(scene.table.band, scene.table, surface, weather)


def _by_air(scene: Scene, name: str) -> float:
    """Change of the sky's apparent temperature for one standard uncertainty of an input of the air, K."""
    limit, least = SKY_INPUTS[name]
    known = scene.air[name]
    step = max(known.standard_uncertainty, least)
    low, high = (float(np.clip(known.value + side * step, *LIMITS[limit][:2])) for side in (-1, 1))
    below, above = (float(scene.table.temperature(_sky(moved(scene, name, to)).radiance)) for to in (low, high))
    return (above - below) / (high - low) * known.standard_uncertainty


def situation(scene: Scene) -> Situation:
    """The scene for :func:`groundglow.model.reading.reading_with_interval`."""
    seen = mirrored(scene)
    air = scene.air
    return Situation(
        _stated(scene.made.emissivity),
        Stated(seen.kelvin, seen.standard_uncertainty),
        _stated(air["air temperature"]),
        _stated(air["relative humidity"]),
        _stated(scene.distance),
        pressure=air["pressure"].value,
    )


def _stated(known: Known) -> Stated:
    return Stated(known.value, known.standard_uncertainty)


def pixel_temperatures(scene: Scene, radiance: Array, distance: Array) -> Array:
    """Surface temperature of each pixel at the stated values, K; NaN where there is no solution."""
    passing = float(sky_factor(scene.table.band, situation(scene)))
    found = surface_temperature_through_air(
        scene.table,
        radiance,
        emissivity=scene.made.emissivity.value,
        reflected_radiance=passing * float(scene.table.radiance(mirrored(scene).kelvin)),
        distance=np.clip(distance, 0.0, LIMITS["distance"].high),
        air_temperature=scene.air["air temperature"].value,
        relative_humidity=scene.air["relative humidity"].value,
        pressure=scene.air["pressure"].value,
    )
    return np.asarray(found.temperature)
