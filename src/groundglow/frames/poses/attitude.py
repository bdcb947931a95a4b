"""Attitude as logs write it, to the world-to-camera rotation that the model uses."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.frames.poses.log import ANGLES, MATRIX, PHOTOGRAMMETRIC, PoseLog
from groundglow.model.pose import from_y_up, rotation_from_omega_phi_kappa, rotation_from_yaw_pitch_roll
from groundglow.records.flight import PosesSpec

__all__ = ["course", "log_rotations", "rotations_of_angles"]

Floats = NDArray[np.float64]

#: A camera fixed to the airframe, looking straight down, the top of its picture towards the nose.
NADIR_MOUNT = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
#: Shorter ways than this between two positions give no course, m.
SHORTEST_WAY = 1.0
#: Logs round their matrices; what is off by more is no rotation.
ORTHONORMAL = 1e-3
#: A matrix and the angles beside it may differ by this much before a note says so, rad.
AGREEMENT = np.radians(0.1)


def rotations_of_angles(angles: Floats, poses: PosesSpec) -> Floats:
    """World-to-camera rotations, shape (n, 3, 3), of yaw, pitch and roll in degrees, shape (n, 3).

    ``pitch_zero`` and ``of`` of flight.toml say what the angles mean. An aircraft's attitude is taken as
    that of a camera fixed to it which looks straight down, image top towards the nose.

    Examples
    --------
    >>> down = rotations_of_angles(np.array([[0.0, 0.0, 0.0]]), PosesSpec(pitch_zero="nadir"))
    >>> down[0, 2].round(9) + 0.0  # the line of sight
    array([ 0.,  0., -1.])
    """
    yaw, pitch, roll = np.radians(angles).T
    if poses.of == "aircraft":
        return np.asarray(NADIR_MOUNT @ rotation_from_yaw_pitch_roll(yaw, pitch, roll))
    shift = np.pi / 2 if poses.pitch_zero == "nadir" else 0.0
    return rotation_from_yaw_pitch_roll(yaw, pitch - shift, roll)


def course(position: Floats) -> Floats:
    """Direction of movement in rad clockwise from north, from the neighbours before and after.

    Parameters
    ----------
    position : ndarray, shape (n, 2 or 3)
        East and north in m, in order of time; NaN where unknown.

    Returns
    -------
    ndarray, shape (n,)
        NaN where the neighbours are unknown or nearer than 1 m.

    Examples
    --------
    >>> course(np.array([[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]])).round(4)
    array([1.5708, 1.5708, 1.5708])
    """
    known = np.flatnonzero(np.isfinite(position[:, :2]).all(axis=1))
    out = np.full(len(position), np.nan)
    if len(known) < 2:
        return out
    places = position[known, :2]
    order = np.arange(len(known))
    east, north = (places[np.minimum(order + 1, order[-1])] - places[np.maximum(order - 1, 0)]).T
    out[known] = np.where(np.hypot(east, north) >= SHORTEST_WAY, np.arctan2(east, north), np.nan)
    return out


def log_rotations(log: PoseLog, poses: PosesSpec) -> tuple[Floats, tuple[str, ...]]:
    """World-to-camera rotations of a log with r11..r33, omega/phi/kappa or yaw/pitch/roll, and notes.

    Returns
    -------
    rotations : ndarray, shape (n, 3, 3)
        NaN where the row gives none.
    notes : tuple of str

    Raises
    ------
    InputError
        When the log has no angles at all, or a matrix is no rotation.
    """
    if log.has(MATRIX):
        matrix = _orthonormal(log)
        return _to_ours(matrix, poses), _disagreement(log, matrix)
    if log.has(PHOTOGRAMMETRIC):
        return _to_ours(_by_angles(log), poses), ()
    if log.has(ANGLES):
        return rotations_of_angles(log.table(ANGLES), poses), ()
    raise InputError(
        f"{log.where}: positions x, y, z come without attitude; add omega_deg, phi_deg, kappa_deg or r11..r33, "
        "or map the file's own names under [poses] columns in flight.toml"
    )


def _by_angles(log: PoseLog) -> Floats:
    return rotation_from_omega_phi_kappa(*np.radians(log.table(PHOTOGRAMMETRIC)).T)


def _to_ours(rotation: Floats, poses: PosesSpec) -> Floats:
    turned = np.swapaxes(rotation, -1, -2) if poses.rotation == "camera-to-world" else rotation
    return from_y_up(turned) if poses.camera_axes == "y-up-looking-minus-z" else turned


def _orthonormal(log: PoseLog) -> Floats:
    """The nearest rotations to the rounded matrices of the log."""
    matrix = log.table(MATRIX).reshape(-1, 3, 3)
    known = np.isfinite(matrix).all(axis=(1, 2))
    off = np.abs(matrix @ np.swapaxes(matrix, 1, 2) - np.eye(3)).max(axis=(1, 2))
    wrong = np.flatnonzero(known & ((off > ORTHONORMAL) | (np.linalg.det(matrix) < 0)))
    if wrong.size:
        raise InputError(
            f"{log.place(int(wrong[0]))}: r11..r33 is no rotation (its rows are not of length 1 at right "
            f"angles, or it mirrors); {wrong.size} row(s) like this. Check the order of the columns."
        )
    u, _, v = np.linalg.svd(matrix[known])
    out = np.full_like(matrix, np.nan)
    out[known] = u @ v
    return out


def _disagreement(log: PoseLog, matrix: Floats) -> tuple[str, ...]:
    if not log.has(PHOTOGRAMMETRIC):
        return ()
    turn = np.swapaxes(_by_angles(log), -1, -2) @ matrix
    cosine = (np.trace(turn, axis1=1, axis2=2) - 1) / 2
    worst = float(np.nanmax(np.arccos(np.clip(cosine, -1, 1))))
    if worst < AGREEMENT:
        return ()
    return (
        f"r11..r33 and omega/phi/kappa of the log differ by up to {np.degrees(worst):.1f} degrees; the matrix is used",
    )
