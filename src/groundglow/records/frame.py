"""One recorded frame: its pixels, what they mean, when and where it was taken."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Frame", "Pose", "Stamp", "ValueKind"]


class ValueKind(StrEnum):
    """What the stored numbers of a frame mean. Said in flight.toml, never guessed."""

    COUNTS = "counts"
    APPARENT_TEMPERATURE = "apparent_temperature"
    RADIANCE = "radiance"
    SURFACE_TEMPERATURE = "surface_temperature"
    PICTURE = "picture"


@dataclass(frozen=True)
class Pose:
    """Where a camera was and how it looked, in the flight's local frame.

    Parameters
    ----------
    position : ndarray, shape (3,)
        East, north, up in m from the flight's origin (or local units when the flight has no metres).
    rotation : ndarray, shape (3, 3)
        World to camera; camera axes x right, y down, z forward along the line of sight, so that
        ``x_camera = rotation @ (X_world - position)``.
    position_sd : ndarray, shape (3,)
        Standard uncertainty of the position that varies from frame to frame, same unit.
    attitude_sd : ndarray, shape (3,)
        Standard uncertainty of rotations about the world's east, north and up axes, rad.
    """

    position: NDArray[np.float64]
    rotation: NDArray[np.float64]
    position_sd: NDArray[np.float64]
    attitude_sd: NDArray[np.float64]


@dataclass(frozen=True)
class Stamp:
    """What a frame's own metadata or its companion says: time, place, air. None is unknown."""

    time: float | None = None  # seconds since 1970-01-01T00:00Z, or of the camera's own clock
    lon_deg: float | None = None
    lat_deg: float | None = None
    height_m: float | None = None
    yaw_deg: float | None = None
    pitch_deg: float | None = None
    roll_deg: float | None = None
    air_temperature_c: float | None = None
    relative_humidity_pct: float | None = None
    pressure_hpa: float | None = None


@dataclass(frozen=True)
class Frame:
    """The pixels of one frame as recorded.

    Parameters
    ----------
    name : str
        File name without folder.
    values : ndarray, shape (rows, columns)
        uint16 or float32, exactly as stored.
    kind : ValueKind
    stamp : Stamp
    tags : dict
        Further metadata worth keeping, by its standard name.
    """

    name: str
    values: NDArray[Any]
    kind: ValueKind
    stamp: Stamp
    tags: dict[str, Any]
