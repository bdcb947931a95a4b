"""A pose log as columns of numbers: names, times, places and angles, blank cells as NaN."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.frames.clock import UNKNOWN_ZONE, clock_time
from groundglow.frames.tables import Row, read_rows
from groundglow.records.flight import PosesSpec
from groundglow.records.frame import Stamp

__all__ = ["ANGLES", "GEOGRAPHIC", "LOCAL", "MATRIX", "PHOTOGRAMMETRIC", "PoseLog", "log_of_stamps", "read_log"]

Floats = NDArray[np.float64]

GEOGRAPHIC = ("lon_deg", "lat_deg", "height_m")
LOCAL = ("x", "y", "z")
ANGLES = ("yaw_deg", "pitch_deg", "roll_deg")
PHOTOGRAMMETRIC = ("omega_deg", "phi_deg", "kappa_deg")
MATRIX = tuple(f"r{i}{k}" for i in (1, 2, 3) for k in (1, 2, 3))
NUMBERS = (*GEOGRAPHIC, *LOCAL, *ANGLES, *PHOTOGRAMMETRIC, *MATRIX)
KNOWN = {"frame", "time_utc", "time_camera", *NUMBERS, *(f"{n}_sd" for n in NUMBERS)}


@dataclass(frozen=True)
class PoseLog:
    """One row a frame (or a moment), in the order of the log.

    Parameters
    ----------
    where : str
        File or source, for messages.
    frames : tuple of str
        File name without folder; empty where the log names none.
    times : tuple of float or None
        Seconds since 1970-01-01T00:00Z.
    columns : mapping of str to ndarray, shape (rows,)
        Numbers by column name, NaN where blank; only columns that are there.
    notes : tuple of str
    rows : tuple of int
        Row numbers in the file.
    """

    where: str
    frames: tuple[str, ...]
    times: tuple[float | None, ...]
    columns: Mapping[str, Floats]
    notes: tuple[str, ...] = ()
    rows: tuple[int, ...] = field(default=())

    def has(self, names: tuple[str, ...]) -> bool:
        """True when all these columns are there and at least one row fills them."""
        return set(names) <= set(self.columns) and bool(np.isfinite(self.table(names)).all(axis=1).any())

    def table(self, names: tuple[str, ...]) -> Floats:
        """Columns side by side, shape (rows, names); NaN where a column or cell is absent."""
        blank = np.full(len(self.frames), np.nan)
        return np.stack([self.columns.get(name, blank) for name in names], axis=1)

    def place(self, index: int) -> str:
        """File and row, for messages."""
        return f"{self.where}, row {self.rows[index]}" if self.rows else f"{self.where}, {self.frames[index]}"


def read_log(path: Path, poses: PosesSpec) -> PoseLog:
    """The pose log in a CSV file, its foreign column names replaced by ours.

    Raises
    ------
    FileError, InputError
        Also for a frame named twice, and for a time that is none.
    """
    rows = read_rows(path, poses.columns)
    if not rows:
        raise InputError(f"{path}: has a header but no row of poses")
    frames = tuple(_name(row) for row in rows)
    _check_once(path, rows, frames)
    present = [n for n in KNOWN - {"frame", "time_utc", "time_camera"} if n in rows[0].cells]
    return PoseLog(
        str(path),
        frames,
        tuple(_time(row, poses) for row in rows),
        {name: _numbers(rows, name) for name in sorted(present)},
        _notes(path, rows[0], poses),
        tuple(row.number for row in rows),
    )


def log_of_stamps(stamps: Mapping[str, Stamp]) -> PoseLog:
    """The log that frames' own Exif makes, in order of time (of name where there is none)."""
    order = sorted(stamps, key=lambda name: (stamps[name].time or 0.0, name))
    found = [stamps[name] for name in order]
    columns = {n: np.array([getattr(s, n) for s in found], dtype=np.float64) for n in (*GEOGRAPHIC, *ANGLES)}
    return PoseLog("Exif", tuple(order), tuple(s.time for s in found), columns)


def _name(row: Row) -> str:
    return PurePosixPath((row.text("frame") or "").replace("\\", "/")).name


def _check_once(path: Path, rows: list[Row], frames: tuple[str, ...]) -> None:
    seen: dict[str, int] = {}
    for row, name in zip(rows, frames, strict=True):
        if name and name in seen:
            raise InputError(f"{path}, row {row.number}: frame {name} is also in row {seen[name]}; keep one")
        seen[name] = row.number


def _time(row: Row, poses: PosesSpec) -> float | None:
    text = row.text("time_camera")
    if row.text("time_utc") or text is None:
        return row.time_of("time_utc")
    time = clock_time(text, time_zone=poses.time_zone, clock_offset=poses.clock_offset_s)
    if time is None:
        raise row.error("time_camera", "is not a time; write it as 2026-02-03T04:05:06")
    return time


def _numbers(rows: list[Row], name: str) -> Floats:
    cells = [row.number_of(name) for row in rows]
    return np.array([np.nan if c is None else c for c in cells], dtype=np.float64)


def _notes(path: Path, row: Row, poses: PosesSpec) -> tuple[str, ...]:
    unknown = [name for name in row.cells if name and name not in KNOWN]
    notes = [f"{path.name}: columns not used: {', '.join(unknown)}"] if unknown else []
    if "time_camera" in row.cells and poses.time_zone == UNKNOWN_ZONE:
        notes.append("the camera clock's time zone is unknown: times order the frames, they are not UTC")
    return tuple(notes)
