"""How sure poses are: what flight.toml and the log say, and wide defaults for what nobody said.

The defaults are common practice, no source: a satellite receiver without corrections, a barometric or
satellite height, a gimbal's or a hobby autopilot's attitude and compass.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.frames.poses.log import PoseLog
from groundglow.records.flight import PosesSpec

__all__ = [
    "ADJUSTED_DEG",
    "NADIR_ASSUMED_DEG",
    "NO_HEADING_DEG",
    "TRACK_HEADING_DEG",
    "PoseDoubt",
    "sd_of_log",
    "stated_doubt",
]

Floats = NDArray[np.float64]

#: Standard uncertainties where nobody gave them: m and degrees.
DEFAULTS = {
    "position_sd_m": 1.0,
    "shared_position_sd_m": 3.0,
    "height_sd_m": 3.0,
    "attitude_sd_deg": 2.0,
    "heading_sd_deg": 5.0,
}
#: Angles of a photogrammetric adjustment, where it gives no doubt of its own, degrees.
ADJUSTED_DEG = 0.5
#: Of a line of sight that is only taken to be straight down.
NADIR_ASSUMED_DEG = 10.0
#: Of a heading taken from the track: wind makes an aircraft crab.
TRACK_HEADING_DEG = 20.0
#: Standard deviation of a heading of which nothing is known (uniform over the circle).
NO_HEADING_DEG = 180.0 / np.sqrt(3.0)


@dataclass(frozen=True)
class PoseDoubt:
    """Standard uncertainties of a flight's poses, m and degrees, and a note on what was assumed."""

    position_sd_m: float
    shared_position_sd_m: float
    height_sd_m: float
    attitude_sd_deg: float
    heading_sd_deg: float
    notes: tuple[str, ...]


def stated_doubt(poses: PosesSpec) -> PoseDoubt:
    """What flight.toml says of the doubt of poses, with defaults where it is silent, which a note lists.

    Examples
    --------
    >>> stated_doubt(PosesSpec(position_sd_m=0.5)).position_sd_m
    0.5
    """
    said = {name: getattr(poses, name) for name in DEFAULTS}
    silent = [name for name, value in said.items() if value is None]
    values: dict[str, float] = {name: DEFAULTS[name] if v is None else v for name, v in said.items()}
    listed = ", ".join(f"{name} = {DEFAULTS[name]:g}" for name in silent)
    notes = (f"doubt of poses not stated, taken wide: {listed}",) if silent else ()
    return PoseDoubt(notes=notes, **values)


def sd_of_log(log: PoseLog, names: tuple[str, ...], default: Floats) -> Floats:
    """Standard uncertainties that the log gives a row, else the default; shape (rows, names)."""
    given = log.table(tuple(f"{name}_sd" for name in names))
    return np.where(np.isfinite(given) & (given >= 0), given, default)
