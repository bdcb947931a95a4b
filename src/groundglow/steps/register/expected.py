"""Where poses say that a frame's ground appears in another frame, and how surely."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.pose import pixel_to_plane, plane_homography
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog

__all__ = ["Expectation", "Plane", "expect", "grid_of", "log_plane", "transfer"]

#: a, b, c, d of the ground a x + b y + c z = d in the flight's local frame, unit normal.
Plane = tuple[float, float, float, float]
#: Share of a frame's width that relief and an unlevel ground may move a place, in one standard deviation.
RELIEF_SHARE = 0.03


@dataclass(frozen=True)
class Expectation:
    """A homography that poses predict, row-major like `Tie.homography`.

    ``sd_px`` is the standard deviation of a place transferred with it, ``overlap`` the share of the first frame
    that falls within the second, ``motion_px`` the mean distance that places move.
    """

    homography: tuple[float, ...]
    sd_px: float
    overlap: float
    motion_px: float


def log_plane(log: FlightLog) -> Plane | None:
    """The ground as the log knows it; None when a local frame of unknown place states no plane."""
    if log.ground_plane is not None:
        return log.ground_plane
    return (0.0, 0.0, 1.0, log.ground_height) if log.origin is not None else None


def grid_of(shape: tuple[int, int], count: int = 9) -> NDArray[np.float64]:
    """Places spread evenly over a frame, shape (count * count, 2), column and row."""
    rows, columns = shape
    column, row = np.meshgrid(np.linspace(0, columns - 1, count), np.linspace(0, rows - 1, count))
    return np.stack([column.ravel(), row.ravel()], axis=1)


def transfer(homography: NDArray[np.float64], places: NDArray[np.float64]) -> NDArray[np.float64]:
    """Places (n, 2) taken through a homography, shape (n, 2).

    Examples
    --------
    >>> transfer(np.array([[1.0, 0, 5], [0, 1, -2], [0, 0, 1]]), np.array([[1.0, 1.0]]))
    array([[ 6., -1.]])
    """
    return np.asarray(cv2.perspectiveTransform(places[None].astype(np.float64), homography)[0])


def expect(log: FlightLog, plane: Plane | None, a: Pose | None, b: Pose | None) -> Expectation | None:
    """What poses predict for a pair; None without poses, ground or focal length, or when a camera looks past it."""
    if plane is None or a is None or b is None or log.focal_px <= 0:
        return None
    heights = [_distance(log, plane, pose) for pose in (a, b)]
    if not np.all(np.isfinite(heights)):
        return None
    *normal, constant = plane
    matrix = plane_homography(a, b, log.focal_px, log.shape, plane=(*normal, -constant))
    places = grid_of(log.shape)
    moved = transfer(matrix, places)
    rows, columns = log.shape
    within = np.all((moved > -0.5) & (moved < np.array([columns, rows]) - 0.5), axis=1)
    return Expectation(
        homography=tuple(float(x) for x in matrix.ravel()),
        sd_px=float(np.hypot(_doubt(log, a, heights[0]), _doubt(log, b, heights[1]))) + RELIEF_SHARE * columns,
        overlap=float(within.mean()),
        motion_px=float(np.linalg.norm(moved - places, axis=1).mean()),
    )


def _distance(log: FlightLog, plane: Plane, pose: Pose) -> float:
    """From a camera to the ground along its line of sight; NaN when it looks past it."""
    rows, columns = log.shape
    *normal, constant = plane
    camera = (pose.position, pose.rotation, log.focal_px, log.shape)
    middle = pixel_to_plane((columns - 1) / 2, (rows - 1) / 2, *camera, (*normal, -constant))
    return float(np.linalg.norm(middle - pose.position))


def _doubt(log: FlightLog, pose: Pose, distance: float) -> float:
    """Standard deviation of a place in the frame for the doubt of its pose, px.

    What moves or turns the camera along its line of sight stretches or turns the picture about its middle; what
    moves or turns it across shifts the picture as a whole.
    """
    sight = pose.rotation[2]
    lever = float(np.hypot(*log.shape)) / np.sqrt(12.0)
    shares = []
    for sd, scale in ((pose.position_sd, 1.0 / distance), (pose.attitude_sd, 1.0)):
        variance = np.nan_to_num(sd) ** 2
        along = float(sight**2 @ variance)
        across = float(np.max((1.0 - sight**2) * variance))
        shares.append(scale * np.hypot(lever * np.sqrt(along), log.focal_px * np.sqrt(2.0 * across)))
    return float(np.hypot(*shares))
