"""Collinearity: the camera's place, a pixel and the point it shows lie on one straight line.

A pinhole camera without distortion; pixel centres have whole numbers and the principal point is the
middle of the picture, ((columns - 1) / 2, (rows - 1) / 2).
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import RangeError

__all__ = [
    "HasPose",
    "camera_matrix",
    "ground_to_pixel",
    "pixel_rays",
    "pixel_to_ground",
    "pixel_to_plane",
    "plane_homography",
]

Array = NDArray[np.float64]


class HasPose(Protocol):
    """Anything with a ``position`` (3,) and a world-to-camera ``rotation`` (3, 3)."""

    @property
    def position(self) -> Array:
        """Place of the camera in world axes, m."""

    @property
    def rotation(self) -> Array:
        """World to camera."""


def camera_matrix(focal_px: float, shape: tuple[int, int]) -> Array:
    """Matrix from camera axes to homogeneous pixel places (column, row, 1).

    Parameters
    ----------
    focal_px : float
        Focal length over pixel pitch, > 0, px.
    shape : (int, int)
        Rows, columns of the picture.

    Returns
    -------
    ndarray, shape (3, 3)

    Raises
    ------
    RangeError
        A focal length that is not above zero.

    Notes
    -----
    [[f, 0, (columns - 1) / 2], [0, f, (rows - 1) / 2], [0, 0, 1]].

    References
    ----------
    Hartley and Zisserman, *Multiple View Geometry*, 2nd ed., section 6.1 (from memory).

    Examples
    --------
    >>> camera_matrix(1000.0, (512, 640))[0]
    array([1000. ,    0. ,  319.5])
    """
    if not focal_px > 0:
        raise RangeError("focal_px", focal_px, "px", "> 0", "focal length over pixel pitch")
    rows, columns = shape
    return np.array([[focal_px, 0, (columns - 1) / 2], [0, focal_px, (rows - 1) / 2], [0, 0, 1.0]])


def pixel_rays(
    rotation: ArrayLike, focal_px: float, shape: tuple[int, int], column: ArrayLike, row: ArrayLike
) -> Array:
    """Unit vectors in world axes along which the pixels look.

    Parameters
    ----------
    rotation : array_like, shape (3, 3)
        World to camera.
    focal_px : float
        px.
    shape : (int, int)
        Rows, columns of the picture.
    column, row : array_like
        Pixel places, broadcastable; centres are whole numbers, parts are allowed.

    Returns
    -------
    ndarray, shape (..., 3)

    Notes
    -----
    R^T K^-1 (column, row, 1), scaled to length one.

    References
    ----------
    Hartley and Zisserman, *Multiple View Geometry*, 2nd ed., section 6.2.2 (from memory).

    Examples
    --------
    >>> from groundglow.model.rotation import rotation_from_yaw_pitch_roll
    >>> down = rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)
    >>> pixel_rays(down, 1000.0, (512, 640), 319.5, 255.5).round(12) + 0.0
    array([ 0.,  0., -1.])
    """
    column, row = np.broadcast_arrays(np.asarray(column, dtype=float), np.asarray(row, dtype=float))
    pixels = np.stack([column, row, np.ones_like(column)], axis=-1)
    to_world = np.asarray(rotation, dtype=float).T @ np.linalg.inv(camera_matrix(focal_px, shape))
    rays = pixels @ to_world.T
    return np.asarray(rays / np.linalg.norm(rays, axis=-1, keepdims=True))


def ground_to_pixel(
    points: ArrayLike, position: ArrayLike, rotation: ArrayLike, focal_px: float, shape: tuple[int, int]
) -> tuple[Array, Array]:
    """Column and row at which world points appear, px.

    Places outside the picture are returned as they come; compare them with ``shape``.

    Parameters
    ----------
    points : array_like, shape (..., 3)
        World points, m.
    position : array_like, shape (3,)
        Of the camera, m.
    rotation : array_like, shape (3, 3)
        World to camera.
    focal_px : float
        px.
    shape : (int, int)
        Rows, columns of the picture.

    Returns
    -------
    column, row : ndarray, shape (...)
        px; NaN for points beside or behind the camera.

    See Also
    --------
    pixel_to_ground, pixel_to_plane : inverses on a surface.

    Notes
    -----
    The collinearity equations: (column, row) - principal point = f (x, y) / z of R (X - C).

    References
    ----------
    Wolf, Dewitt, Wilkinson, *Elements of Photogrammetry*, collinearity condition; values are checked
    against an independent library in the tests.

    Examples
    --------
    A point 10 m north of the nadir, seen from 100 m with f = 1000 px, is 100 px above the middle:

    >>> from groundglow.model.rotation import rotation_from_yaw_pitch_roll
    >>> down = rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)
    >>> c, r = ground_to_pixel([0.0, 10.0, 0.0], [0.0, 0.0, 100.0], down, 1000.0, (512, 640))
    >>> round(float(c), 6), round(float(r), 6)
    (319.5, 155.5)
    """
    offset = np.asarray(points, dtype=float) - np.asarray(position, dtype=float)
    place = offset @ (camera_matrix(focal_px, shape) @ np.asarray(rotation, dtype=float)).T
    depth = np.where(place[..., 2] > 0, place[..., 2], np.nan)
    return np.asarray(place[..., 0] / depth), np.asarray(place[..., 1] / depth)


def pixel_to_plane(
    column: ArrayLike,
    row: ArrayLike,
    position: ArrayLike,
    rotation: ArrayLike,
    focal_px: float,
    shape: tuple[int, int],
    plane: ArrayLike,
) -> Array:
    """World points where the pixels' rays meet a plane, m.

    Parameters
    ----------
    column, row : array_like
        Pixel places, broadcastable.
    position, rotation, focal_px, shape
        As for `ground_to_pixel`.
    plane : array_like, shape (4,)
        a, b, c, d of a x + b y + c z + d = 0.

    Returns
    -------
    ndarray, shape (..., 3)
        NaN where the ray runs along the plane or away from it (above the horizon).

    See Also
    --------
    ground_to_pixel : the inverse.

    Notes
    -----
    X = C + t r with t = -(n.C + d) / (n.r), t > 0.

    References
    ----------
    Geometry.

    Examples
    --------
    >>> from groundglow.model.rotation import rotation_from_yaw_pitch_roll
    >>> down = rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0)
    >>> pixel_to_plane(319.5, 155.5, [0, 0, 100], down, 1e3, (512, 640), (0, 0, 1, -50)).round(9) + 0.0
    array([ 0.,  5., 50.])
    """
    rays = pixel_rays(rotation, focal_px, shape, column, row)
    origin, (*normal, constant) = np.asarray(position, dtype=float), np.asarray(plane, dtype=float)
    towards = rays @ np.asarray(normal)
    away = np.asarray(normal) @ origin + constant
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = np.asarray(-away / towards)
    distance = np.where(np.isfinite(distance) & (distance > 0), distance, np.nan)
    return np.asarray(origin + distance[..., None] * rays)


def pixel_to_ground(
    column: ArrayLike,
    row: ArrayLike,
    position: ArrayLike,
    rotation: ArrayLike,
    focal_px: float,
    shape: tuple[int, int],
    height: float = 0.0,
) -> Array:
    """World points where the pixels' rays meet level ground, m.

    Parameters
    ----------
    column, row : array_like
        Pixel places, broadcastable.
    position, rotation, focal_px, shape
        As for `ground_to_pixel`.
    height : float
        z of the ground, m.

    Returns
    -------
    ndarray, shape (..., 3)
        NaN above the horizon.

    See Also
    --------
    ground_to_pixel : the inverse.
    pixel_to_terrain : over a height raster.

    Notes
    -----
    `pixel_to_plane` with the plane z = height.

    References
    ----------
    Geometry.

    Examples
    --------
    >>> from groundglow.model.rotation import rotation_from_yaw_pitch_roll
    >>> level = rotation_from_yaw_pitch_roll(0.0, 0.0, 0.0)
    >>> pixel_to_ground(319.5, [155.5, 355.5], [0, 0, 10], level, 1e3, (512, 640)).round(6) + 0.0
    array([[ nan,  nan,  nan],
           [  0., 100.,   0.]])
    """
    return pixel_to_plane(column, row, position, rotation, focal_px, shape, (0.0, 0.0, 1.0, -height))


def plane_homography(
    pose_a: HasPose,
    pose_b: HasPose,
    focal_px: float,
    shape: tuple[int, int],
    *,
    plane: ArrayLike = (0.0, 0.0, 1.0, 0.0),
) -> Array:
    """Matrix that takes a pixel of picture a to the pixel of b that shows the same point of a plane.

    Parameters
    ----------
    pose_a, pose_b : HasPose
        Two poses of one camera (any objects with ``position`` and ``rotation``).
    focal_px : float
        px.
    shape : (int, int)
        Rows, columns of the pictures.
    plane : array_like, shape (4,)
        a, b, c, d of a x + b y + c z + d = 0; default the level ground z = 0.

    Returns
    -------
    ndarray, shape (3, 3)
        Acts on (column, row, 1); scaled so that its last element is 1, or to unit norm where that
        element vanishes.

    Raises
    ------
    RangeError
        Camera a lies in the plane, so that its picture shows no part of it.

    Notes
    -----
    H = K R_b [(C_a - C_b) n^T - (n.C_a + d) I] R_a^T K^-1. The inverse is the same with a and b swapped.

    References
    ----------
    Hartley and Zisserman, *Multiple View Geometry*, 2nd ed., section 13.1 (from memory).

    Examples
    --------
    Ten metres further north from 100 m with f = 1000 px, the ground moves 100 px down:

    >>> from types import SimpleNamespace as Pose
    >>> down = np.diag([1.0, -1.0, -1.0])
    >>> a, b = (Pose(position=np.array([0.0, y, 100.0]), rotation=down) for y in (0.0, 10.0))
    >>> H = plane_homography(a, b, 1000.0, (512, 640))
    >>> (H @ [319.5, 255.5, 1.0]).round(9)
    array([319.5, 355.5,   1. ])
    """
    matrix = camera_matrix(focal_px, shape)
    *normal, constant = np.asarray(plane, dtype=float)
    distance = float(np.asarray(normal) @ pose_a.position + constant)
    if distance == 0:
        raise RangeError("camera's distance from the plane", 0.0, "m", "not 0", "it would see no part of it")
    between = np.outer(pose_a.position - pose_b.position, normal) - distance * np.eye(3)
    homography = matrix @ pose_b.rotation @ between @ pose_a.rotation.T @ np.linalg.inv(matrix)
    scale = np.linalg.norm(homography)
    last = homography[2, 2]
    return np.asarray(homography / (last if abs(last) > 1e-12 * scale else scale))
