"""The log of a flight: looks at frames joined with poses, odd ones set aside, geometry stated."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog, LogEntry, Origin
from groundglow.steps.check.look import Look

__all__ = ["FlightPoses", "assemble"]

#: Sharpness below this share of the flight's median is noted as blurred (common practice, no source).
BLURRED_SHARE = 0.5


@dataclass(frozen=True)
class FlightPoses:
    """Poses of a flight by frame name, with the geometry they share (see `FlightLog`)."""

    poses: Mapping[str, tuple[float | None, Pose]]
    origin: Origin | None
    metres_per_unit: float | None
    ground_height: float | None
    shared_position_sd: float
    notes: Sequence[str]


def assemble(
    flight: str,
    looks: Sequence[Look],
    placed: FlightPoses,
    *,
    spec: FlightSpec,
    paths: Mapping[str, str],
) -> FlightLog:
    """Join what is known of a flight's frames into its log, in order of time, then name.

    Parameters
    ----------
    flight : str
        ``<visit>/<flight>``.
    looks : sequence of Look
        One a frame, unusable ones with their reason.
    placed : FlightPoses
    spec : FlightSpec
        Geometry of the camera.
    paths : mapping of frame name to path within the job

    Returns
    -------
    FlightLog
    """
    shape = _shape(looks, spec)
    entries = tuple(sorted((_entry(x, placed.poses, paths, shape) for x in looks), key=_order))
    said = [*placed.notes, *_geometry_notes(spec), *_blur_notes(entries)]
    return FlightLog(
        flight=flight,
        shape=shape,
        kind=spec.values.kind,
        focal_px=_focal_px(spec),
        origin=placed.origin,
        metres_per_unit=placed.metres_per_unit,
        ground_height=placed.ground_height or 0.0,
        shared_position_sd=placed.shared_position_sd,
        entries=entries,
        notes=tuple(said),
    )


def _order(entry: LogEntry) -> tuple[float, str]:
    return (entry.time if entry.time is not None else np.inf, entry.name)


def _shape(looks: Sequence[Look], spec: FlightSpec) -> tuple[int, int]:
    if spec.camera.height_px and spec.camera.width_px:
        return spec.camera.height_px, spec.camera.width_px
    counted = Counter(x.shape for x in looks if not x.reason)
    return counted.most_common(1)[0][0] if counted else (0, 0)


def _entry(
    seen: Look, poses: Mapping[str, tuple[float | None, Pose]], paths: Mapping[str, str], shape: tuple[int, int]
) -> LogEntry:
    time, pose = poses.get(seen.name, (None, None))
    reason = seen.reason
    if not reason and seen.shape != shape:
        reason = f"{seen.shape[1]} x {seen.shape[0]} px, the flight has {shape[1]} x {shape[0]}"
    return LogEntry(
        seen.name, paths[seen.name], time if time is not None else seen.stamp.time, pose, reason, seen.stats
    )


def _focal_px(spec: FlightSpec) -> float:
    camera = spec.camera
    if camera.focal_mm is None or camera.pitch_um is None:
        return 0.0
    return camera.focal_mm * 1000.0 / camera.pitch_um


def _geometry_notes(spec: FlightSpec) -> list[str]:
    unknown = _focal_px(spec) == 0.0
    return ["Focal length or pixel pitch unknown: no sizes on the ground."] if unknown else []


def _blur_notes(entries: Sequence[LogEntry]) -> list[str]:
    sharpness = {e.name: e.stats["sharpness"] for e in entries if e.used}
    if not sharpness:
        return ["No frame can be used."]
    middle = float(np.median(list(sharpness.values())))
    blurred = [name for name, value in sharpness.items() if value < BLURRED_SHARE * middle]
    return [f"Less sharp than the rest of the flight: {', '.join(blurred)}."] if blurred else []
