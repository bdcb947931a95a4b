"""The log of a flight after checking: each frame's file, time, pose and whether it is used."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np

from groundglow.records.frame import Pose

__all__ = ["FlightLog", "LogEntry", "Origin"]


@dataclass(frozen=True)
class Origin:
    """Where a flight's local frame sits: a transverse Mercator plane through this point, true north up.

    ``height_m`` is the height of the ground there above the reference the flight uses.
    """

    lon_deg: float
    lat_deg: float
    height_m: float


@dataclass(frozen=True)
class LogEntry:
    """One frame of a flight.

    ``reason`` is empty for a frame in use, else it says in words why the frame was set aside.
    ``stats`` holds numbers of the check: least, greatest, median, saturated share, sharpness.
    """

    name: str
    path: str
    time: float | None
    pose: Pose | None
    reason: str
    stats: dict[str, float]

    @property
    def used(self) -> bool:
        """True unless the frame was set aside."""
        return not self.reason


@dataclass(frozen=True)
class FlightLog:
    """All frames of one flight in order of time, with the geometry they share.

    Parameters
    ----------
    flight : str
        ``<visit>/<flight>``, the flight's folder below ``visits``.
    shape : tuple of int
        Rows and columns that frames of this flight have.
    kind : str
        A `ValueKind` value.
    focal_px : float
        Focal length over pixel pitch.
    origin : Origin or None
        None when poses are in a local frame of unknown place.
    metres_per_unit : float or None
        None when the local unit is unknown: then no metres and no square metres anywhere.
    ground_height : float
        Height of the ground in the local frame (same unit), a level plane at first.
    shared_position_sd : float
        Standard uncertainty of the horizontal position that all frames of the flight share, m.
    entries : tuple of LogEntry
    notes : tuple of str
        What was assumed, in words, for the report.
    ground_plane : tuple of float, optional
        Fitted plane ``a x + b y + c z = d`` (unit normal) when the ground is not ``z = ground_height``.
    """

    flight: str
    shape: tuple[int, int]
    kind: str
    focal_px: float
    origin: Origin | None
    metres_per_unit: float | None
    ground_height: float
    shared_position_sd: float
    entries: tuple[LogEntry, ...]
    notes: tuple[str, ...]
    ground_plane: tuple[float, float, float, float] | None = None

    @property
    def used(self) -> tuple[LogEntry, ...]:
        """The frames in use."""
        return tuple(e for e in self.entries if e.used)

    def entry(self, name: str) -> LogEntry:
        """The entry of one frame, by file name."""
        return next(e for e in self.entries if e.name == name)

    def to_json(self) -> str:
        """Text form with a fixed order of keys."""
        return json.dumps(asdict(self), default=_plain, indent=1, sort_keys=True, allow_nan=False)

    @classmethod
    def from_json(cls, text: str) -> FlightLog:
        """The log that `to_json` wrote."""
        raw = json.loads(text)
        raw["origin"] = Origin(**raw["origin"]) if raw["origin"] else None
        raw["shape"] = tuple(raw["shape"])
        raw["notes"] = tuple(raw["notes"])
        raw["ground_plane"] = tuple(raw["ground_plane"]) if raw["ground_plane"] else None
        raw["entries"] = tuple(_entry(e) for e in raw["entries"])
        return cls(**raw)

    def with_entries(self, entries: tuple[LogEntry, ...]) -> FlightLog:
        """The same flight with other entries."""
        return replace(self, entries=entries)


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"{type(value)} has no text form")


def _entry(raw: dict[str, Any]) -> LogEntry:
    pose = raw.pop("pose")
    arrays = {k: np.asarray(v, dtype=np.float64) for k, v in pose.items()} if pose else None
    return LogEntry(pose=Pose(**arrays) if arrays else None, **raw)
