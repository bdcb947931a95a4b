"""What a tilted surface faces: its angle of view, what it mirrors, its share of sky, glint of the sun.

Directions are unit vectors (east, north, up) that point away from the surface. A zenith angle is 0 straight up;
an azimuth runs clockwise from true north. Tilt is 0 for a level surface that faces up; the azimuth of a
surface is that of its fall line, downhill.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError

__all__ = [
    "Facing",
    "direction",
    "face",
    "reflected_direction",
    "sky_share",
    "sun_glint",
    "surface_normal",
    "zenith_and_azimuth",
]

Array = NDArray[np.float64]


def direction(zenith: ArrayLike, azimuth: ArrayLike) -> Array:
    """Unit vector (east, north, up) of a zenith angle and an azimuth, shape (..., 3).

    See Also
    --------
    zenith_and_azimuth : the inverse.

    References
    ----------
    Definition.

    Examples
    --------
    >>> direction(np.pi / 2, np.pi / 2).round(6) + 0.0
    array([1., 0., 0.])
    """
    z, a = np.broadcast_arrays(np.asarray(zenith, float), np.asarray(azimuth, float))
    return np.stack([np.sin(z) * np.sin(a), np.sin(z) * np.cos(a), np.cos(z)], axis=-1)


def zenith_and_azimuth(vector: ArrayLike) -> tuple[Array, Array]:
    """Zenith angle 0..pi and azimuth 0..2 pi of a direction, rad.

    Parameters
    ----------
    vector : array_like, shape (..., 3)
        East, north, up; need not be of unit length. A zero vector gives NaN.

    See Also
    --------
    direction : the inverse.

    References
    ----------
    Definition.

    Examples
    --------
    >>> zenith, azimuth = zenith_and_azimuth([-1.0, 0.0, 1.0])
    >>> float(np.degrees(zenith).round(3)), float(np.degrees(azimuth).round(3))
    (45.0, 270.0)
    """
    unit = _unit(vector)
    zenith = np.arctan2(np.hypot(unit[..., 0], unit[..., 1]), unit[..., 2])
    return zenith, np.mod(np.arctan2(unit[..., 0], unit[..., 1]), 2 * np.pi)


def _unit(vector: ArrayLike) -> Array:
    """Unit vectors; NaN for a zero vector."""
    v = np.asarray(vector, dtype=float)
    if v.shape[-1:] != (3,):
        raise InputError(f"A direction has three parts (east, north, up), found an array of shape {v.shape}.")
    length = np.linalg.norm(v, axis=-1, keepdims=True)
    return np.asarray(v / np.where(length > 0, length, np.nan))


def surface_normal(tilt: ArrayLike, azimuth: ArrayLike) -> Array:
    """Unit normal of a surface, shape (..., 3): its zenith angle is the tilt.

    Parameters
    ----------
    tilt : array_like
        0 level and facing up, pi/2 a wall, pi a ceiling, rad.
    azimuth : array_like
        Direction that the surface faces (downhill), clockwise from true north, rad.

    References
    ----------
    Definition.

    Examples
    --------
    >>> surface_normal(np.radians(90), np.radians(180)).round(6) + 0.0
    array([ 0., -1.,  0.])
    """
    return direction(tilt, azimuth)


def reflected_direction(normal: ArrayLike, to_camera: ArrayLike) -> Array:
    """Direction from which mirror-reflected radiation reaches the surface, unit vectors (..., 3).

    The direction to the camera mirrored in the normal: 2 (n . v) n - v. It points away from the surface,
    towards what is mirrored. NaN where the surface faces away from the camera.

    Parameters
    ----------
    normal, to_camera : array_like, shape (..., 3)
        Outward normal and direction from the surface to the camera; any length.

    References
    ----------
    Law of reflection.

    Examples
    --------
    >>> reflected_direction([0, 0, 1], [-1, 0, 1]).round(4)
    array([0.7071, 0.    , 0.7071])
    """
    n, v = _unit(normal), _unit(to_camera)
    cosine = np.sum(n * v, axis=-1, keepdims=True)
    return np.asarray(np.where(cosine > 0, 2 * cosine * n - v, np.nan))


def sky_share(tilt: ArrayLike) -> Array:
    """Share of a rough surface's hemisphere that is sky above level, open ground: (1 + cos tilt) / 2.

    Parameters
    ----------
    tilt : array_like
        rad, 0..pi.

    References
    ----------
    Liu & Jordan 1963, Sol. Energy 7:53 (isotropic sky); the equation from memory.

    Examples
    --------
    >>> sky_share(np.radians([0, 60, 90])).round(3)
    array([1.  , 0.75, 0.5 ])
    """
    return np.asarray(0.5 * (1 + np.cos(np.asarray(tilt, dtype=float))))


def sun_glint(reflected: ArrayLike, to_sun: ArrayLike, *, within: float = 0.0873) -> tuple[NDArray[np.bool_], Array]:
    """Whether the mirrored direction meets the sun, and the angle between the two.

    Parameters
    ----------
    reflected, to_sun : array_like, shape (..., 3)
        `reflected_direction` and the direction to the sun.
    within : float
        Largest angle that counts as glint, rad; 5 degrees by default: the sun's radius is 0.27 degrees, the rest
        is for ripples and doubtful tilts (common practice, no source).

    Returns
    -------
    glint : ndarray of bool
        False below the horizon and where the direction is NaN.
    angle : ndarray
        rad.

    References
    ----------
    Definition.

    Examples
    --------
    >>> flag, angle = sun_glint([0, 0, 1], [0, 0.02, 1])
    >>> bool(flag), float(np.degrees(angle).round(2))
    (True, 1.15)
    """
    a, b = np.broadcast_arrays(_unit(reflected), _unit(to_sun))
    angle = np.arctan2(np.linalg.norm(np.cross(a, b), axis=-1), np.sum(a * b, axis=-1))
    return np.asarray((angle <= within) & (b[..., 2] > 0)), angle


@dataclass(frozen=True)
class Facing:
    """How a surface is seen: angles in rad, arrays of one shape; NaN where it faces away.

    ``view_angle`` is between the normal and the camera; ``reflected_zenith`` and ``reflected_azimuth`` say where
    mirror-reflected radiation comes from, and ``mirrors_sky`` whether that is above the horizon; ``sky_share`` is
    for a rough surface.
    """

    view_angle: Array
    reflected_zenith: Array
    reflected_azimuth: Array
    mirrors_sky: NDArray[np.bool_]
    sky_share: Array
    reflected: Array


def face(tilt: ArrayLike, azimuth: ArrayLike, to_camera: ArrayLike) -> Facing:
    """How a tilted surface is seen from a direction, and what it mirrors.

    Parameters
    ----------
    tilt, azimuth : array_like
        Of the surface, rad; see `surface_normal`.
    to_camera : array_like, shape (..., 3)
        Direction from the surface to the camera (east, north, up), any length.

    Returns
    -------
    Facing

    References
    ----------
    Law of reflection; Liu & Jordan 1963 for the share of sky.

    Examples
    --------
    A roof pitched 30 degrees to the south mirrors a point 60 degrees down the southern sky to a camera overhead.

    >>> seen = face(np.radians(30), np.radians(180), [0, 0, 1])
    >>> [float(np.degrees(a).round(3)) for a in (seen.view_angle, seen.reflected_zenith, seen.reflected_azimuth)]
    [30.0, 60.0, 180.0]
    >>> bool(seen.mirrors_sky), float(seen.sky_share.round(3))
    (True, 0.933)
    """
    normal, view = surface_normal(tilt, azimuth), _unit(to_camera)
    reflected = reflected_direction(normal, view)
    angle = np.arctan2(np.linalg.norm(np.cross(normal, view), axis=-1), np.sum(normal * view, axis=-1))
    zenith, around = zenith_and_azimuth(reflected)
    seen = np.where(angle < np.pi / 2, angle, np.nan)
    share = np.broadcast_to(sky_share(tilt), seen.shape)
    return Facing(seen, zenith, around, np.asarray(zenith < np.pi / 2), np.asarray(share), reflected)
