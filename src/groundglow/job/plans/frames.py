"""Frames of a job one by one: where each looks, whether it is measured, its measured field."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from groundglow.errors import FileError
from groundglow.frames.fields import read_field
from groundglow.frames.places import LocalPlane
from groundglow.frames.reading import read_frame
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import flight_spec
from groundglow.job.plans.measure import field_path
from groundglow.model.pose import pixel_to_ground
from groundglow.records.field import Field
from groundglow.records.log import FlightLog, LogEntry
from groundglow.steps.check.thumb import thumbnail

__all__ = ["Footprint", "footprint", "measured_field", "thumb"]


@dataclass(frozen=True)
class Footprint:
    """Where a frame looks: longitude and latitude, degrees, of its middle and its corners, from top left, clockwise."""

    middle: tuple[float, float]
    corners: tuple[tuple[float, float], ...]


def footprint(log: FlightLog, entry: LogEntry) -> Footprint | None:
    """Where a frame looks on level ground; None when it cannot be told."""
    if entry.pose is None or log.origin is None or not log.metres_per_unit or not log.focal_px:
        return None
    rows, columns = log.shape
    column = np.array([(columns - 1) / 2, -0.5, columns - 0.5, columns - 0.5, -0.5])
    row = np.array([(rows - 1) / 2, -0.5, -0.5, rows - 0.5, rows - 0.5])
    pose = entry.pose
    ground = pixel_to_ground(column, row, pose.position, pose.rotation, log.focal_px, log.shape, log.ground_height)
    if not np.isfinite(ground).all():
        return None
    scale = log.metres_per_unit
    lon, lat = LocalPlane(log.origin).to_geographic(ground[:, 0] * scale, ground[:, 1] * scale)
    middle, *corners = ((float(a), float(b)) for a, b in zip(lon, lat, strict=True))
    return Footprint(middle, tuple(corners))


def measured_field(job: JobFolder, flight: FlightFolder, entry: LogEntry) -> Field:
    """The measured field of a frame.

    Raises
    ------
    FileError
        When it is not measured yet.
    """
    path = field_path(job, flight, job.root / entry.path)
    if not path.is_file():
        raise FileError(entry.name, "is not measured yet", "Run the measuring step.")
    return read_field(path)


def thumb(job: JobFolder, flight: FlightFolder, entry: LogEntry, side: int) -> bytes:
    """A small grey picture of a frame as recorded, PNG."""
    return thumbnail(read_frame(job.root / entry.path, flight_spec(flight)).values, side)
