"""One band through the hours: what reaches the camera of a target by distance, and how surely a temperature comes back.

All of it is the measuring model's own, worked out once for each hour and a few distances; the many kits then read
these tables.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.model.air import SKY_TEMPERATURE_SD, air_path, sky_hemisphere_radiance
from groundglow.model.band import Band, BandTable, ideal_band, lookup, nominal_band
from groundglow.model.reading import Situation, Stated, apparent_temperature, camera_doubt
from groundglow.model.reading.effects import effects
from groundglow.model.sensing import at_sensor_radiance, surroundings_at
from groundglow.records.fit import Ask
from groundglow.steps.fit.scene import Scene

__all__ = ["DISTANCES", "FARTHEST", "Doubts", "Seen", "band_of", "doubts_of", "seen_through"]

Array = NDArray[np.float64]

#: Where the air model ends, m.
FARTHEST = 5000.0
#: Distances of the table of the air, m, in equal ratios: transmittance between them is within 1e-4 (tests).
DISTANCES = np.geomspace(1.0, FARTHEST, 64)
#: Distances at which doubts are worked out, m.
DOUBT_DISTANCES = np.array([3.0, 10.0, 30.0, 100.0, 300.0, 1000.0])
#: Standard uncertainties of what the air is asked for: K, share, share of the distance (common practice, no source).
AIR_SD, HUMIDITY_SD, DISTANCE_SD = 1.0, 0.05, 0.05
_RATED = 300.0  # K, at which noise is stated
_NOMINAL = {(7.5, 13.5): "7.5-13.5", (8.0, 14.0): "8-14"}


def band_of(edges: tuple[float, float]) -> Band:
    """Response of a camera of which only the edges are known, m: a nominal one where there is one.

    Examples
    --------
    >>> band_of((7.5e-6, 13.5e-6)).nominal
    True
    """
    low, high = (round(edge * 1e6, 3) for edge in edges)
    name = _NOMINAL.get((low, high))
    return nominal_band(name) if name else ideal_band(low * 1e-6, high * 1e-6)


@dataclass(frozen=True)
class Seen:
    """What one band sees of a scene; arrays over hours (H) and `DISTANCES` (D).

    ``rise`` K of apparent temperature at the target, signed; ``sure_rise`` less the doubt of the ground model, never
    past zero and 0 where the target is hidden; ``noise`` the factor on a noise stated at 300 K; ``transmittance``
    (H, D); ``reflected`` K.
    """

    table: BandTable
    rise: Array
    sure_rise: Array
    noise: Array
    transmittance: Array
    reflected: Array


def _reflected(table: BandTable, scene: Scene, ask: Ask) -> Array:
    """Reflected apparent temperature: the sky of a level surface; half sky, half ground of an upright one."""
    sky = np.array(
        [
            sky_hemisphere_radiance(
                table.band,
                air_temperature=float(air),
                relative_humidity=float(moist),
                pressure=scene.pressure,
                cloud_fraction=ask.sky.cloud_fraction,
            )
            for air, moist in zip(scene.air, scene.relative_humidity, strict=True)
        ]
    )
    share = 0.5 if ask.view == "side" else 1.0
    return np.asarray(table.temperature(share * sky + (1.0 - share) * table.radiance(scene.background)))


def _shown(table: BandTable, kelvin: Array, emissivity: float, reflected: Array) -> Array:
    """Apparent temperature without air between, K."""
    around = surroundings_at(table, reflected_temperature=reflected, air_temperature=reflected)
    return np.asarray(table.temperature(at_sensor_radiance(table, kelvin, emissivity, around)))


def seen_through(ask: Ask, scene: Scene, band: Band) -> Seen:
    """What a band sees of a scene, and through which air."""
    table = lookup(band)
    reflected = _reflected(table, scene, ask)
    around = _shown(table, scene.background, scene.background_emissivity, reflected)
    target = _shown(table, scene.target, ask.target.emissivity, reflected)
    rise = target - around
    sure = np.sign(rise) * np.maximum(np.abs(rise) - scene.rise_sd, 0.0)
    sure[scene.hidden(ask.target)] = 0.0
    air = air_path(
        band,
        DISTANCES[None, :],
        air_temperature=scene.air[:, None],
        relative_humidity=scene.relative_humidity[:, None],
        pressure=scene.pressure,
        visibility=ask.sky.visibility,
        source_temperature=float(np.clip(scene.target.mean(), 230.0, 1200.0)),
    )
    noise = table.slope(_RATED) / table.slope(around)
    return Seen(table, rise, sure, np.asarray(noise), air.transmittance, reflected)


@dataclass(frozen=True)
class Doubts:
    """How surely a reading of the whole target gives its temperature; arrays over hours and `DOUBT_DISTANCES`.

    ``temperature`` and ``rise``: standard uncertainty, K, from surface, air and response; ``gain``: change of the
    surface temperature for 1 K of apparent temperature; ``rise_gain`` of the rise for 1 K of calibration.
    """

    temperature: Array
    rise: Array
    gain: Array
    rise_gain: Array


def doubts_of(ask: Ask, scene: Scene, seen: Seen, hours: slice) -> Doubts:
    """Doubts of readings at some hours: of the target, and of its rise over a like thing without it."""
    band, distance = seen.table.band, DOUBT_DISTANCES
    shape = (2, scene.air[hours].size, distance.size)

    def spread(values: Array) -> Array:
        return np.broadcast_to(values[hours][None, :, None], shape).ravel()

    far = np.broadcast_to(distance, shape).ravel()
    situation = Situation(
        Stated(np.full(far.shape, ask.target.emissivity), ask.target.emissivity_sd),
        Stated(spread(seen.reflected), SKY_TEMPERATURE_SD),
        Stated(spread(scene.air), AIR_SD),
        Stated(spread(scene.relative_humidity), HUMIDITY_SD),
        Stated(far, DISTANCE_SD * far),
        scene.pressure,
        ask.sky.visibility,
    )
    both = np.stack([scene.target, scene.background])[:, hours, None]
    kelvin = np.broadcast_to(both, shape).ravel()
    camera = camera_doubt(band, noise=0.0, calibration=Stated(0.0, 1.0), drift=0.0).flat(far.shape)
    shown = apparent_temperature(band, kelvin, situation)
    found = effects(band, shown, situation.flat(far.shape), camera)
    parts = {name: change.reshape(shape) for name, change in found.contributions.items()}
    gain = -parts.pop("calibration")
    scenic = [parts[name] for name in parts if name not in ("noise", "drift")]
    own = np.sqrt(sum(part[0] ** 2 for part in scenic))
    apart = np.sqrt(sum((part[0] - part[1]) ** 2 for part in scenic))
    return Doubts(own, apart, gain[0], gain[0] - gain[1])
