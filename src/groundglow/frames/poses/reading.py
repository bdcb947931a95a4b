"""Poses of a flight from a log or from Exif, in the flight's local frame and the model's axes.

Nothing is guessed in silence: what heights refer to has to be said, and every assumption is a note.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

from groundglow.errors import InputError
from groundglow.frames.poses.geographic import geographic_track
from groundglow.frames.poses.local import local_track
from groundglow.frames.poses.log import GEOGRAPHIC, LOCAL, PoseLog, log_of_stamps, read_log
from groundglow.frames.poses.track import Track, pose_between
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Pose, Stamp
from groundglow.records.log import Origin

__all__ = ["PoseRow", "Poses", "poses_from_stamps", "read_poses"]


@dataclass(frozen=True)
class PoseRow:
    """One row of a log: frame name (may be empty), time, pose; ``reason`` says why there is no pose."""

    frame: str
    time: float | None
    pose: Pose | None
    reason: str = ""


@dataclass(frozen=True)
class Poses:
    """Poses of one flight and the frame they are in.

    Parameters
    ----------
    rows : tuple of PoseRow
        In the order of the log.
    origin : Origin or None
        None for a local frame of unknown place.
    metres_per_unit : float or None
        1 when positions are in m; None when their unit is unknown.
    ground_height : float or None
        Height of level ground in the local frame; None when nobody said.
    shared_position_sd : float
        Horizontal standard uncertainty that all frames share, m.
    clock_sd : float
        Standard uncertainty of a frame's time against the log's, s.
    notes : tuple of str
        What was assumed, in words.
    """

    rows: tuple[PoseRow, ...]
    origin: Origin | None
    metres_per_unit: float | None
    ground_height: float | None
    shared_position_sd: float
    clock_sd: float
    notes: tuple[str, ...]

    def __iter__(self) -> Iterator[PoseRow]:
        """The rows."""
        return iter(self.rows)

    def __len__(self) -> int:
        """Number of rows."""
        return len(self.rows)

    @cached_property
    def _by_name(self) -> dict[str, PoseRow]:
        named = [row for row in self.rows if row.frame]
        return {Path(row.frame).stem: row for row in named} | {row.frame: row for row in named}

    @cached_property
    def _in_time(self) -> list[tuple[float, Pose]]:
        known = [(row.time, row.pose) for row in self.rows if row.time is not None and row.pose is not None]
        return sorted(known, key=lambda pair: pair[0])

    def of_frame(self, name: str) -> PoseRow | None:
        """The row of a frame by its file name, or by its stem when the log leaves the suffix out."""
        return self._by_name.get(name) or self._by_name.get(Path(name).stem)

    def at(self, time: float | None) -> Pose | None:
        """The pose at a time, between the rows before and after it; None outside the log.

        Positions run straight, attitudes turn evenly. The clock's doubt times the speed is added to the
        doubt of the position.
        """
        return None if time is None else pose_between(self._in_time, time, clock_sd=self.clock_sd)


def read_poses(path: Path, spec: FlightSpec, *, about: tuple[float, float] | None = None) -> Poses:
    """Poses of a log in CSV: geographic places, or a local frame.

    Parameters
    ----------
    path : Path
        Columns ``frame``, ``time_utc`` or ``time_camera``, then ``lon_deg, lat_deg, height_m`` with
        ``yaw_deg, pitch_deg, roll_deg``, or ``x, y, z`` with ``omega_deg, phi_deg, kappa_deg`` or
        ``r11..r33``; any of these numbers with ``_sd``. Blank is unknown. Without ``frame`` the log is
        looked up by time (`Poses.at`).
    spec : FlightSpec
        Its ``poses`` say what the numbers mean.
    about : (longitude, latitude), optional
        The site, degrees: origin of the local frame for flights within 20 km, so that they share it.

    Raises
    ------
    FileError
        When the file is missing.
    InputError
        When it lacks what is needed, or flight.toml does not say what heights refer to.
    """
    log = read_log(path, spec.poses)
    if log.has(GEOGRAPHIC[:2]):
        return _poses(log, geographic_track(log, spec.poses, about), spec)
    if log.has(LOCAL):
        return _poses(log, local_track(log, spec.poses), spec)
    raise InputError(
        f"{path}: has no positions: needs lon_deg, lat_deg, height_m, or x, y, z; known columns found: "
        f"{', '.join(log.columns) or 'none'}. Map the file's own names in flight.toml, such as "
        '[poses.columns] lon_deg = "Longitude"'
    )


def poses_from_stamps(
    stamps: Mapping[str, Stamp], spec: FlightSpec, *, about: tuple[float, float] | None = None
) -> Poses:
    """Poses from the frames' own Exif: place and height; straight down where no angle is given.

    Parameters
    ----------
    stamps : mapping of str to Stamp
        By frame name.
    spec : FlightSpec
    about : (longitude, latitude), optional
        As for `read_poses`.

    Raises
    ------
    InputError
        When no frame has a place, or flight.toml does not say what heights refer to.
    """
    log = log_of_stamps(stamps)
    if not log.has(GEOGRAPHIC[:2]):
        raise InputError(
            "no frame carries a place in its Exif; give a log under [poses] file in flight.toml, or write "
            'source = "none" there: then nothing is placed'
        )
    return _poses(log, geographic_track(log, spec.poses, about), spec)


def _poses(log: PoseLog, track: Track, spec: FlightSpec) -> Poses:
    return Poses(
        tuple(_row(log, track, i) for i in range(len(log.frames))),
        track.origin,
        track.metres_per_unit,
        track.ground_height,
        track.shared_position_sd,
        spec.poses.clock_sd_s,
        (*log.notes, *track.notes),
    )


def _row(log: PoseLog, track: Track, index: int) -> PoseRow:
    pose = track.pose(index)
    reason = "" if pose is not None else _missing(track, index)
    return PoseRow(log.frames[index], log.times[index], pose, reason)


def _missing(track: Track, index: int) -> str:
    unknown = {"place": track.position[index, :2], "height": track.position[index, 2]}
    names = [name for name, values in unknown.items() if not np.isfinite(values).all()]
    return f"its {' and '.join(names or ['attitude'])} is unknown: blank in the log"
