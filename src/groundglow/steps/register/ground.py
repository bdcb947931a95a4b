"""The ground under a flight whose local frame has no known place: a plane fitted to matched features."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.pose import camera_matrix
from groundglow.records.log import FlightLog, LogEntry
from groundglow.steps.register.description import Description
from groundglow.steps.register.expected import Plane
from groundglow.steps.register.match import matched_places
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["fit_ground"]

#: Pairs of frames that are triangulated, and how far apart in the flight the two of a pair are.
PAIRS, STEP = 12, 3
#: Least angle between the two rays to a point, rad.
LEAST_ANGLE = 0.02
#: Triples of points that vote for a plane.
TRIALS = 300
#: Points that a plane must rest on.
LEAST_POINTS = 60


def fit_ground(
    log: FlightLog, described: Callable[[str], Description], settings: RegisterSettings | None = None
) -> Plane | None:
    """The plane that most of the matched ground lies near, a x + b y + c z = d in the flight's local frame.

    Parameters
    ----------
    log : FlightLog
        With poses.
    described : callable
        The description of a frame, by name.
    settings : RegisterSettings, optional

    Returns
    -------
    tuple of four float, or None
        Unit normal and distance; None when poses or matches are too few.

    Notes
    -----
    Points are triangulated from pairs a few frames apart; the plane with the least median distance to them is
    found by drawing triples from a fixed seed, then fitted to the points within 2.5 robust deviations.

    References
    ----------
    Rousseeuw, Least median of squares regression, JASA 79 (1984); Hartley and Zisserman, *Multiple View
    Geometry*, 2nd ed., section 12.2 (linear triangulation).
    """
    settings = settings or RegisterSettings()
    posed = [e for e in log.used if e.pose is not None]
    if len(posed) <= STEP or log.focal_px <= 0:
        return None
    firsts = np.unique(np.linspace(0, len(posed) - 1 - STEP, PAIRS).round().astype(int))
    clouds = [_points(log, posed[i], posed[i + STEP], described, settings) for i in firsts]
    points = np.concatenate(clouds)
    return _plane(points) if len(points) >= LEAST_POINTS else None


def _points(
    log: FlightLog,
    a: LogEntry,
    b: LogEntry,
    described: Callable[[str], Description],
    settings: RegisterSettings,
) -> NDArray[np.float64]:
    """Matched places of two frames as points in space, shape (n, 3)."""
    one, other = matched_places(described(a.name).features, described(b.name).features, log.shape, settings)
    if len(one) == 0:
        return np.zeros((0, 3))
    sides = (one.T.astype(np.float64), other.T.astype(np.float64))
    points = cv2.triangulatePoints(_projection(log, a), _projection(log, b), *sides)
    with np.errstate(divide="ignore", invalid="ignore"):
        space = (points[:3] / points[3]).T
    return np.asarray(space[_well_seen(log, space, (a, one), (b, other), settings)])


def _projection(log: FlightLog, entry: LogEntry) -> NDArray[np.float64]:
    pose = _pose(entry)
    turn = np.column_stack([pose[1], -pose[1] @ pose[0]])
    return np.asarray(camera_matrix(log.focal_px, log.shape) @ turn)


def _pose(entry: LogEntry) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    if entry.pose is None:
        raise ValueError(f"{entry.name} has no pose")
    return entry.pose.position, entry.pose.rotation


def _well_seen(
    log: FlightLog,
    space: NDArray[np.float64],
    a: tuple[LogEntry, NDArray[np.float32]],
    b: tuple[LogEntry, NDArray[np.float32]],
    settings: RegisterSettings,
) -> NDArray[np.bool_]:
    """Which points lie in front of both cameras, project onto their places and are seen under an angle."""
    good = np.all(np.isfinite(space), axis=1)
    rays = []
    for entry, places in (a, b):
        position, _ = _pose(entry)
        shown = np.column_stack([space, np.ones(len(space))]) @ _projection(log, entry).T
        with np.errstate(divide="ignore", invalid="ignore"):
            off = np.linalg.norm(shown[:, :2] / shown[:, 2:] - places, axis=1)
        good &= (shown[:, 2] > 0) & (off < 3.0 * settings.tolerance_px)
        ray = space - position
        rays.append(ray / np.linalg.norm(ray, axis=1, keepdims=True))
    return np.asarray(good & (np.sum(rays[0] * rays[1], axis=1) < np.cos(LEAST_ANGLE)))


def _plane(points: NDArray[np.float64]) -> Plane | None:
    rng = np.random.default_rng(1)
    corners = points[rng.integers(0, len(points), (TRIALS, 3))]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = normals / np.maximum(length, np.finfo(float).tiny)
    heights = np.abs(normals @ points.T - np.sum(normals * corners[:, 0], axis=1)[:, None])
    median = np.where(length[:, 0] > 0, np.median(heights, axis=1), np.inf)
    best = int(np.argmin(median))
    near = points[heights[best] <= 2.5 * 1.4826 * median[best]]
    middle = near.mean(axis=0)
    normal = np.linalg.svd(near - middle, full_matrices=False)[2][2]
    normal = normal if normal[np.argmax(np.abs(normal))] > 0 else -normal
    return (float(normal[0]), float(normal[1]), float(normal[2]), float(normal @ middle))
