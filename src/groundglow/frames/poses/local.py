"""From positions in a local frame, such as a photogrammetric adjustment gives, to a track."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.frames.poses.attitude import log_rotations
from groundglow.frames.poses.doubt import ADJUSTED_DEG, sd_of_log
from groundglow.frames.poses.log import ANGLES, LOCAL, PHOTOGRAMMETRIC, PoseLog
from groundglow.frames.poses.track import Track
from groundglow.records.flight import PosesSpec

__all__ = ["SHARE_OF_WAY", "local_track"]

Floats = NDArray[np.float64]

#: Without any stated doubt, positions are taken to be sure to this share of the way between frames.
SHARE_OF_WAY = 0.1


def local_track(log: PoseLog, poses: PosesSpec) -> Track:
    """The track of a log with x, y, z; in m when ``metres_per_unit`` is said, else in the log's unit.

    Raises
    ------
    InputError
        When attitude is missing, or doubts are given in m for units that are not known in m.
    """
    scale = poses.metres_per_unit
    _check_metres(poses)
    position = log.table(LOCAL) * (scale or 1.0)
    rotation, turn_notes = log_rotations(log, poses)
    position_sd, doubt_notes = _position_sd(log, poses, position)
    ground = poses.ground_height_m
    unit_notes = () if scale else ("local frame of unknown scale: no metres and no places on a map",)
    return Track(
        position,
        position_sd * (scale or 1.0),
        rotation,
        _attitude_sd(log, poses),
        None,
        1.0 if scale else None,
        ground,
        poses.shared_position_sd_m or 0.0,
        (*unit_notes, *turn_notes, *doubt_notes),
    )


def _check_metres(poses: PosesSpec) -> None:
    if poses.metres_per_unit is not None:
        return
    named = ("ground_height_m", "position_sd_m", "height_sd_m", "shared_position_sd_m")
    given = [name for name in named if getattr(poses, name) is not None]
    if given:
        raise InputError(
            f"flight.toml [poses]: {', '.join(given)} in m, but the log's unit is unknown; add "
            "metres_per_unit, or remove them"
        )


def _position_sd(log: PoseLog, poses: PosesSpec, position: Floats) -> tuple[Floats, tuple[str, ...]]:
    """In the log's own unit: the log's, else what flight.toml says, else a share of the way."""
    scale = poses.metres_per_unit or 1.0
    level, height = poses.position_sd_m, poses.height_sd_m
    way = SHARE_OF_WAY * _median_way(position)
    default = np.array([way if level is None else level, way if level is None else level, way])
    default[2] = default[0] if height is None else height
    note = (f"doubt of positions not stated: taken as {way:.3g} ({SHARE_OF_WAY:.0%} of the way between frames)",)
    stated = level is not None or f"{LOCAL[0]}_sd" in log.columns
    return sd_of_log(log, LOCAL, default / scale), () if stated else note


def _median_way(position: Floats) -> float:
    ways = np.linalg.norm(np.diff(position, axis=0), axis=1)
    ways = ways[np.isfinite(ways)]
    return float(np.median(ways)) if ways.size else 0.0


def _attitude_sd(log: PoseLog, poses: PosesSpec) -> Floats:
    """About the axes of the local frame, rad: the largest of the three, whichever way they turn."""
    names = PHOTOGRAMMETRIC if log.has(PHOTOGRAMMETRIC) else ANGLES
    stated = ADJUSTED_DEG if poses.attitude_sd_deg is None else poses.attitude_sd_deg
    heading = stated if poses.heading_sd_deg is None else poses.heading_sd_deg
    largest = sd_of_log(log, names, np.full(3, max(stated, heading))).max(axis=1)
    return np.asarray(np.radians(np.repeat(largest[:, None], 3, axis=1)))
