"""Coverage: which share of the site's zones was seen, and by how many frames."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.model.pose import ground_to_pixel
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog

__all__ = ["Coverage", "coverage"]


@dataclass(frozen=True)
class Coverage:
    """Shares (0..1) of one zone's area seen by at least 1, 2 and 5 frames, by the poses as recorded."""

    zone: str
    area_m2: float
    seen_once: float
    seen_twice: float
    seen_five: float


def coverage(log: FlightLog, zones: Mapping[str, Any], step: float = 1.0) -> tuple[Coverage, ...]:
    """Coverage of each zone on a grid of points over level ground.

    Parameters
    ----------
    log : FlightLog
        With poses in metres.
    zones : mapping of str to shapely geometry
        Areas in local metres.
    step : float
        Distance of the points, m.
    """
    poses = [e.pose for e in log.used if e.pose is not None]
    return tuple(_of_zone(log, name, _points_inside(area, step), poses, step) for name, area in zones.items())


def _of_zone(log: FlightLog, name: str, points: NDArray[np.float64], poses: Sequence[Pose], step: float) -> Coverage:
    ground = np.column_stack([points, np.full(len(points), log.ground_height)])
    seen = np.zeros(len(points), dtype=int)
    rows, columns = log.shape
    for pose in poses:
        column, row = ground_to_pixel(ground, pose.position, pose.rotation, log.focal_px, log.shape)
        seen += (column > -0.5) & (column < columns - 0.5) & (row > -0.5) & (row < rows - 0.5)
    shares = [float(np.mean(seen >= n)) if len(seen) else 0.0 for n in (1, 2, 5)]
    return Coverage(name, len(points) * step**2, *shares)


def _points_inside(area: Any, step: float) -> NDArray[np.float64]:
    west, south, east, north = area.bounds
    x, y = np.meshgrid(np.arange(west, east, step) + step / 2, np.arange(south, north, step) + step / 2)
    inside = shapely.contains_xy(area, x.ravel(), y.ravel())
    return np.asarray(np.column_stack([x.ravel(), y.ravel()])[inside])
