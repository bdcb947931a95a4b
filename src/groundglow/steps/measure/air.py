"""What lies between and around: the air's path to each pixel and what each surface reflects, with doubt."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.air import air_path
from groundglow.model.band import Band, BandTable
from groundglow.model.pose import pixel_to_ground
from groundglow.model.sky import SKY_TEMPERATURE_SD, sky_hemisphere_radiance, sky_radiance
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog
from groundglow.records.visit import Condition, Conditions
from groundglow.steps.measure.surfaces import GroundSurface

__all__ = ["Air", "Reflection", "air_at", "distance_map", "path_doubt", "reflection"]

#: Distance when no pose is known: (value, standard uncertainty), m. Wide on purpose, listed in the report.
UNKNOWN_DISTANCE = (60.0, 40.0)


@dataclass(frozen=True)
class Air:
    """Conditions at the time of one frame."""

    temperature: Condition
    humidity: Condition
    pressure: Condition
    cloud: Condition

    @property
    def assumed(self) -> tuple[str, ...]:
        """Names of what nobody gave."""
        named = {"air temperature": self.temperature, "relative humidity": self.humidity, "cloud": self.cloud}
        return tuple(name for name, c in named.items() if c.assumed)


@dataclass(frozen=True)
class Reflection:
    """Band radiance that a surface reflects, and its change for one standard uncertainty of each source."""

    radiance: float
    sky: float
    cloud: float


#: Steps to which weather is rounded, SI: far below its doubt, so that frames share the tables of the air.
ROUNDED = {"air_temperature": 0.1, "relative_humidity": 0.005, "pressure": 100.0, "cloud_fraction": 0.02}


def air_at(conditions: Conditions, time: float | None) -> Air:
    """The air at the time of a frame, its values rounded as `ROUNDED` says."""
    return Air(*(_rounded(conditions.at(name, time), step) for name, step in ROUNDED.items()))


def _rounded(condition: Condition, step: float) -> Condition:
    return replace(condition, value=round(round(condition.value / step) * step, 6))


def distance_map(log: FlightLog, pose: Pose | None) -> tuple[NDArray[np.float32], float]:
    """Distance from the camera to the ground in each pixel, m, and its standard uncertainty."""
    rows, columns = log.shape
    if pose is None or not log.metres_per_unit or not log.focal_px:
        return np.full((rows, columns), UNKNOWN_DISTANCE[0], dtype=np.float32), UNKNOWN_DISTANCE[1]
    step = 32
    column, row = np.meshgrid(np.arange(0, columns + step, step), np.arange(0, rows + step, step))
    ground = pixel_to_ground(
        column.astype(float),
        row.astype(float),
        pose.position,
        pose.rotation,
        log.focal_px,
        log.shape,
        log.ground_height,
    )
    coarse = np.linalg.norm(ground - pose.position, axis=-1)
    fine = cv2.resize(np.nan_to_num(coarse, nan=5000.0).astype(np.float32), None, fx=step, fy=step)
    return fine[:rows, :columns], float(pose.position_sd[2])


def path_doubt(band: Band, distance: float, distance_sd: float, air: Air) -> dict[str, tuple[float, float]]:
    """Change of (transmittance, path radiance) for one standard uncertainty of each source of the air."""
    temperature, humidity, pressure = air.temperature, air.humidity, air.pressure

    def at(far: float, warm: float, moist: float) -> tuple[float, float]:
        found = air_path(
            band, far, air_temperature=warm, relative_humidity=min(max(moist, 0.0), 1.0), pressure=pressure.value
        )
        return float(found.transmittance), float(found.radiance)

    base = at(distance, temperature.value, humidity.value)
    steps = {
        "air temperature": at(distance, temperature.value + temperature.standard_uncertainty, humidity.value),
        "humidity": at(distance, temperature.value, humidity.value - humidity.standard_uncertainty),
        "distance": at(max(distance - distance_sd, 1.0), temperature.value, humidity.value),
    }
    return {name: (one[0] - base[0], one[1] - base[1]) for name, one in steps.items()}


def reflection(band: Band, table: BandTable, surface: GroundSurface, air: Air) -> Reflection:
    """What one surface reflects upwards: the sky in the mirror's direction, or a mean over sky and ground.

    A mirror-like surface (glass, still water) seen from above reflects the sky at twice its tilt from the
    zenith; any other one takes the cosine-weighted mean of the sky it sees, ``(1 + cos tilt) / 2``, and ground
    at air temperature for the rest.
    """
    cloudy, overcast, clear = (_sky(band, surface, air, share) for share in (air.cloud.value, 1.0, 0.0))
    around = float(table.radiance(air.temperature.value))
    share = 1.0 if surface.mirror_like else (1.0 + np.cos(surface.tilt)) / 2.0
    apparent = float(table.temperature(cloudy))
    sky = float(table.slope(apparent)) * SKY_TEMPERATURE_SD
    return Reflection(
        radiance=share * cloudy + (1.0 - share) * around,
        sky=share * sky,
        cloud=share * (overcast - clear) * air.cloud.standard_uncertainty,
    )


def _sky(band: Band, surface: GroundSurface, air: Air, cloud: float) -> float:
    at = {"air_temperature": air.temperature.value, "relative_humidity": air.humidity.value, "cloud_fraction": cloud}
    if surface.mirror_like:
        return float(sky_radiance(band, min(2.0 * surface.tilt, np.deg2rad(89.0)), **at))
    return float(sky_hemisphere_radiance(band, **at))
