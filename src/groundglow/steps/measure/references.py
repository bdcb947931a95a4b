"""Reference targets read in the frames: what contact said, what the camera says, and whether they agree."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from groundglow.model.doubt import COVERAGE_95, combined, mean_doubt, select
from groundglow.model.pose import ground_to_pixel
from groundglow.records.field import Field
from groundglow.records.log import FlightLog, LogEntry
from groundglow.records.visit import Reference
from groundglow.steps.measure.surfaces import position_doubt

__all__ = ["ReferenceReading", "place_reference", "read_reference"]

#: Half width of the window read at a target whose pixel is known: 3 x 3 px.
KNOWN_HALF = 1
MOST_HALF = 40
#: Kinds of target that are larger than the position is uncertain.
LARGE_KINDS = ("water",)


@dataclass(frozen=True)
class ReferenceReading:
    """One target as read by the camera, K; ``standard_uncertainty`` of the difference includes the contact's own."""

    name: str
    kind: str
    use: str
    frame: str
    contact: float
    read: float
    standard_uncertainty: float

    @property
    def within(self) -> bool:
        """True when the contact value lies in the 95 % interval of the reading."""
        return abs(self.read - self.contact) <= COVERAGE_95 * self.standard_uncertainty


@dataclass(frozen=True)
class Spot:
    """Where a target is in a frame: middle in pixels and half width of its window."""

    frame: str
    column: float
    row: float
    half: int

    @property
    def window(self) -> tuple[slice, slice]:
        """Rows and columns of the target's window."""
        column, row = round(self.column), round(self.row)
        return (
            slice(max(row - self.half, 0), row + self.half + 1),
            slice(max(column - self.half, 0), column + self.half + 1),
        )


def place_reference(
    reference: Reference, log: FlightLog, to_local: Callable[[float, float], tuple[float, float]] | None
) -> Spot | None:
    """The frame that shows a target best, and where in it; None when none does.

    A target given by frame and pixel is taken there. Water given by longitude and latitude is taken in the frame
    that has it nearest to the middle, with a window as wide as the position is uncertain. Anything smaller than
    that doubt cannot be told from its surroundings by its position: it needs frame and pixel.
    """
    if reference.frame is not None and reference.column is not None and reference.row is not None:
        known = any(e.name == reference.frame for e in log.used)
        return Spot(reference.frame, reference.column, reference.row, KNOWN_HALF) if known else None
    if reference.kind not in LARGE_KINDS or to_local is None or not log.focal_px:
        return None
    if reference.lon_deg is None or reference.lat_deg is None:
        return None
    x, y = to_local(reference.lon_deg, reference.lat_deg)
    seen = [s for e in log.used if (s := _seen(e, log, np.array([x, y, log.ground_height]))) is not None]
    middle = np.array([(log.shape[1] - 1) / 2, (log.shape[0] - 1) / 2])
    return min(seen, key=lambda s: float(np.hypot(*(np.array([s.column, s.row]) - middle))), default=None)


def _seen(entry: LogEntry, log: FlightLog, point: np.ndarray) -> Spot | None:
    pose = entry.pose
    if pose is None:
        return None
    column, row = (float(v) for v in ground_to_pixel(point, pose.position, pose.rotation, log.focal_px, log.shape))
    height = abs(float(pose.position[2]) - log.ground_height)
    half = int(np.clip(position_doubt(log, pose) * log.focal_px / max(height, 1.0), KNOWN_HALF, MOST_HALF))
    inside = half <= column < log.shape[1] - half and half <= row < log.shape[0] - half
    return Spot(entry.name, column, row, half) if inside else None


def read_reference(reference: Reference, spot: Spot, measured: Field) -> ReferenceReading | None:
    """Mean over the target's window, with its doubt; where the window is wide, its spread counts as well."""
    window = spot.window
    values = measured.value[window]
    good = np.isfinite(values) & (measured.mask[window] == 0)
    if measured.relative or not good.any():
        return None
    doubt = mean_doubt(select(select(measured.doubt, window), good))
    spread = float(np.std(values[good])) if spot.half > KNOWN_HALF else 0.0
    total = np.sqrt(float(combined(doubt)) ** 2 + spread**2 + reference.standard_uncertainty**2)
    return ReferenceReading(
        reference.name,
        reference.kind,
        reference.use,
        spot.frame,
        reference.value,
        float(np.mean(values[good])),
        float(total),
    )
