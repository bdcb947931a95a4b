"""Where a finding lies, how large it is on the ground, and how surely."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from groundglow.records.finding import Candidate
from groundglow.steps.find.ground import height_above
from groundglow.steps.find.group import Group, polygon
from groundglow.steps.find.sight import Sight

__all__ = ["Place", "place_of", "sizes"]

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Place:
    """Place of a finding in local metres and degrees; None for what geometry does not allow.

    ``views`` holds x, y and standard uncertainty of each single sight.
    """

    x: float | None
    y: float | None
    sd: float | None
    lon: float | None
    lat: float | None
    views: tuple[tuple[float, float, float] | None, ...]


def place_of(group: Group, best: Candidate, sight: Sight) -> Place:
    """Mean place over the sights of a spot; of an area, the place of its best sight.

    The standard uncertainty holds for each horizontal axis: the doubt of the adjusted footprints, which
    shrinks with the number of sights as far as it is not common to all frames; the unknown height of the thing,
    which shifts it away from under the camera and shrinks as sights lie around it; and the position of the
    receiver, shared and slowly wandering.
    """
    factor = sight.log.metres_per_unit
    used = [c for c in (group if best.shape_kind == "spot" else (best,)) if c.frame in sight.ground]
    if factor is None or not used:
        return Place(None, None, None, None, None, (None,) * len(group))
    x, y, sd = _mean_place(used, sight, factor)
    views = tuple(_mean_place([c], sight, factor) if c.frame in sight.ground else None for c in group)
    lon, lat = _geographic(sight, x, y)
    return Place(x, y, sd, lon, lat, views)


def _geographic(sight: Sight, x: float, y: float) -> tuple[float | None, float | None]:
    if sight.plane is None:
        return None, None
    lon, lat = sight.plane.to_geographic(x, y)
    return float(lon), float(lat)


def _mean_place(sights: list[Candidate], sight: Sight, factor: float) -> tuple[float, float, float]:
    frames = [c.frame for c in sights]
    points = np.array([(c.column, c.row) for c in sights])
    at = np.concatenate([sight.ground.to_ground(f, p) for f, p in zip(frames, points, strict=True)])
    x, y = np.median(at, axis=0) * factor if len(at) > 2 else at.mean(axis=0) * factor
    covariance = sight.ground.mean_covariance(frames, points) * factor**2
    variance = float(np.trace(covariance)) / 2 + sight.shared_position_sd**2 + _height_variance(sight, frames, at)
    return float(x), float(y), sqrt(variance)


def _height_variance(sight: Sight, frames: list[str], at: Array) -> float:
    """Variance per axis of the mean shift that an unknown height above the ground brings."""
    slopes = [(p - _below(sight, f)) / height_above(sight.log, f) for f, p in zip(frames, at, strict=True)]
    mean = np.mean(slopes, axis=0) * sight.settings.height_sd_m
    return float(mean @ mean) / 2


def _below(sight: Sight, frame: str) -> Array:
    """Place of the camera in the plane's east and north."""
    pose = sight.log.entry(frame).pose
    return np.asarray(pose.position[:2] if pose is not None else np.zeros(2), dtype=float)


def sizes(best: Candidate, sight: Sight) -> tuple[float | None, float | None]:
    """Area on the ground in m2 and diameter of the circle of the same area in m, of one sight.

    The outline is laid on the ground plane; its area is scaled to the pixels that belong to the thing.
    """
    factor = sight.log.metres_per_unit
    if factor is None or best.frame not in sight.ground:
        return None, None
    corners = np.array(best.outline)
    in_frame, on_ground = polygon(corners).area, polygon(sight.ground.to_ground(best.frame, corners)).area
    if not in_frame > 0 or not on_ground > 0:
        return None, None
    area = on_ground / in_frame * best.area_px * factor**2
    return float(area), sqrt(4 / pi * area)
