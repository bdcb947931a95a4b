"""Rotations that turn world axes into camera axes, from the angles in which attitude is written down.

World: x east, y north, z up. Camera: x right, y down, z forward along the line of sight. A rotation ``R``
is used as ``x_camera = R @ (X_world - position)``; its rows are the camera's right, down and forward
directions in world axes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "from_y_up",
    "rotation_from_omega_phi_kappa",
    "rotation_from_yaw_pitch_roll",
    "yaw_pitch_roll_from_rotation",
]

Array = NDArray[np.float64]

# Below this cosine of pitch (0.2 arc seconds from straight up or down) yaw and roll turn about one axis.
_STRAIGHT = 1e-6


def rotation_from_yaw_pitch_roll(yaw: ArrayLike, pitch: ArrayLike, roll: ArrayLike) -> Array:
    """World-to-camera rotation of a camera whose attitude is given as heading, elevation and bank.

    The camera first looks level to north; it is turned by ``yaw`` about the vertical, raised by ``pitch``
    and banked by ``roll`` about its line of sight.

    Parameters
    ----------
    yaw : array_like
        Clockwise from true north seen from above, rad.
    pitch : array_like
        Above the horizon, rad: 0 level, -pi/2 straight down.
    roll : array_like
        Right side down positive, rad.

    Returns
    -------
    ndarray, shape (..., 3, 3)
        Rotation for the broadcast shape of the angles.

    See Also
    --------
    yaw_pitch_roll_from_rotation : the inverse.

    Notes
    -----
    Right, down and forward are the rows. Forward = (sin yaw cos pitch, cos yaw cos pitch, sin pitch);
    right and down lie across it and are turned by roll from the level pair. Rounding only.

    References
    ----------
    Tait-Bryan sequence heading, elevation, bank as in ISO 1151-1:1988 (named from memory).

    Examples
    --------
    Straight down with yaw 0 the top of the picture is north, so image down is south:

    >>> rotation_from_yaw_pitch_roll(0.0, -np.pi / 2, 0.0).round(12)[1] + 0.0
    array([ 0., -1.,  0.])
    """
    yaw, pitch, roll = np.broadcast_arrays(*(np.asarray(a, dtype=float) for a in (yaw, pitch, roll)))
    sin_yaw, cos_yaw = np.sin(yaw), np.cos(yaw)
    forward = np.stack([sin_yaw * np.cos(pitch), cos_yaw * np.cos(pitch), np.sin(pitch)], axis=-1)
    level_right = np.stack([cos_yaw, -sin_yaw, np.zeros_like(yaw)], axis=-1)
    level_down = np.cross(forward, level_right)
    cos_roll, sin_roll = np.cos(roll)[..., None], np.sin(roll)[..., None]
    right = cos_roll * level_right + sin_roll * level_down
    down = cos_roll * level_down - sin_roll * level_right
    return np.stack([right, down, forward], axis=-2)


def yaw_pitch_roll_from_rotation(rotation: ArrayLike) -> tuple[Array, Array, Array]:
    """Heading, elevation and bank (rad) of a world-to-camera rotation.

    Parameters
    ----------
    rotation : array_like, shape (..., 3, 3)

    Returns
    -------
    yaw, pitch, roll : ndarray
        rad; yaw and roll in -pi..pi, pitch in -pi/2..pi/2. Straight up or down, where yaw and roll turn
        about the same axis, roll is 0 and yaw holds all of it.

    See Also
    --------
    rotation_from_yaw_pitch_roll : the inverse.

    Notes
    -----
    Read off the rows: yaw = atan2(f_east, f_north), pitch = atan2(f_up, level part of f),
    roll = atan2(-right_up, -down_up). Rounding only, some 1e-10 rad near straight down.

    References
    ----------
    Geometry; the inverse of the sequence above.

    Examples
    --------
    >>> angles = yaw_pitch_roll_from_rotation(rotation_from_yaw_pitch_roll(0.3, -1.2, 0.1))
    >>> [round(float(a), 9) for a in angles]
    [0.3, -1.2, 0.1]
    """
    right, down, forward = np.moveaxis(np.asarray(rotation, dtype=float), -2, 0)
    level = np.hypot(forward[..., 0], forward[..., 1])
    straight = level < _STRAIGHT
    pitch = np.arctan2(forward[..., 2], level)
    by_forward = np.arctan2(forward[..., 0], forward[..., 1])
    yaw = np.where(straight, np.arctan2(-right[..., 1], right[..., 0]), by_forward)
    roll = np.where(straight, 0.0, np.arctan2(-right[..., 2], -down[..., 2]))
    return yaw, pitch, roll


def rotation_from_omega_phi_kappa(omega: ArrayLike, phi: ArrayLike, kappa: ArrayLike) -> Array:
    """World-to-camera rotation from photogrammetric angles, **camera y up and looking along -z**.

    ``from_y_up`` turns the result into Groundglow's camera axes. With all angles zero such a camera looks
    straight down with the top of the picture to the north.

    Parameters
    ----------
    omega, phi, kappa : array_like
        Turns about x, then the once turned y, then the twice turned z axis, counter-clockwise, rad.

    Returns
    -------
    ndarray, shape (..., 3, 3)

    Notes
    -----
    M = Rz(kappa)^T Ry(phi)^T Rx(omega)^T.

    References
    ----------
    Wolf, Dewitt, Wilkinson, *Elements of Photogrammetry*, appendix C, equations C-33 (equation number
    from memory; the matrix is checked against published poses and an independent library).

    Examples
    --------
    >>> M = rotation_from_omega_phi_kappa(0.0, 0.0, np.pi / 2)  # picture's right is north
    >>> M.round(12)[0] + 0.0
    array([0., 1., 0.])
    """
    angles = np.broadcast_arrays(*(np.asarray(a, dtype=float) for a in (omega, phi, kappa)))
    so, sp, sk = (np.sin(a) for a in angles)
    co, cp, ck = (np.cos(a) for a in angles)
    rows = [
        [cp * ck, so * sp * ck + co * sk, -co * sp * ck + so * sk],
        [-cp * sk, -so * sp * sk + co * ck, co * sp * sk + so * ck],
        [sp, -so * cp, co * cp],
    ]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def from_y_up(rotation: ArrayLike) -> Array:
    """Rotation for camera axes x right, y down, z forward, from one with y up and looking along -z.

    Parameters
    ----------
    rotation : array_like, shape (..., 3, 3)
        World to camera, y up, line of sight along -z.

    Returns
    -------
    ndarray, shape (..., 3, 3)
        World to camera, y down, line of sight along +z. The function is its own inverse.

    Notes
    -----
    The second and third rows change sign: a half turn about the camera's x axis.

    References
    ----------
    Geometry.

    Examples
    --------
    >>> from_y_up(np.eye(3))[2]  # looks down
    array([-0., -0., -1.])
    """
    return np.asarray(np.asarray(rotation, dtype=float) * np.array([1.0, -1.0, -1.0])[:, None])
