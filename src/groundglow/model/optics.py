"""Detector and lens: field of view, instantaneous field of view, footprint and ground sampling.

What a point or a small target becomes in the picture lives in `pointspread` and `targetsize`; how flight
lines follow from a footprint, in `overlap`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import RangeError
from groundglow.model.collinearity import pixel_to_ground
from groundglow.model.limits import require

__all__ = [
    "GroundSampling",
    "digital_levels",
    "field_of_view",
    "focal_length_px",
    "footprint",
    "ground_sampling",
    "ground_sampling_at_nadir",
    "height_for_ground_sampling",
    "ifov",
    "require_positive",
]

Array = NDArray[np.float64]


def require_positive(name: str, values: ArrayLike, unit: str, why: str) -> Array:
    """Values as float64, after checking that all are above zero (NaN passes: unknown).

    Raises
    ------
    RangeError

    Examples
    --------
    >>> float(require_positive("focal_length", 0.013, "m", "a length"))
    0.013
    """
    array = np.asarray(values, dtype=np.float64)
    require(name, array, array > 0, unit=unit, allowed="> 0", why=why, hint="Check the unit: SI inside.")
    return array


def _optics(pitch: ArrayLike, focal_length: ArrayLike) -> tuple[Array, Array]:
    return (
        require_positive("pitch", pitch, "m", "distance between pixel centres"),
        require_positive("focal_length", focal_length, "m", "distance from lens to detector"),
    )


def ifov(pitch: ArrayLike, focal_length: ArrayLike) -> Array:
    """Instantaneous field of view of one pixel, rad.

    Parameters
    ----------
    pitch : array_like
        Distance between pixel centres, m.
    focal_length : array_like
        m.

    Returns
    -------
    ndarray
        rad, at the middle of the picture.

    Raises
    ------
    RangeError
        A pitch or focal length that is not above zero.

    Notes
    -----
    pitch / focal length; the exact angle 2 atan(p / 2 f) differs by 1e-6 of it for real lenses.

    References
    ----------
    Definition; common practice.

    Examples
    --------
    12 um behind 13 mm see 0.923 mrad:

    >>> round(float(ifov(12e-6, 13e-3)) * 1e3, 6)
    0.923077
    """
    pitch, focal_length = _optics(pitch, focal_length)
    return np.asarray(pitch / focal_length)


def focal_length_px(pitch: ArrayLike, focal_length: ArrayLike) -> Array:
    """Focal length in pixels, as the functions of `pose` take it.

    Parameters
    ----------
    pitch, focal_length : array_like
        m.

    Returns
    -------
    ndarray
        px.

    Notes
    -----
    focal length / pitch, the inverse of `ifov`.

    References
    ----------
    Definition.

    Examples
    --------
    >>> round(float(focal_length_px(12e-6, 13e-3)), 3)
    1083.333
    """
    return np.asarray(1.0 / ifov(pitch, focal_length))


def field_of_view(pixels: ArrayLike, pitch: ArrayLike, focal_length: ArrayLike) -> Array:
    """Full angle that a row or column of pixels sees, rad.

    Parameters
    ----------
    pixels : array_like
        Number of pixels along the side.
    pitch, focal_length : array_like
        m.

    Returns
    -------
    ndarray
        rad, from outer edge to outer edge.

    Notes
    -----
    2 atan(n p / 2 f), a lens without distortion.

    References
    ----------
    Geometry; common practice.

    Examples
    --------
    >>> np.degrees(field_of_view([640, 512], 12e-6, 13e-3)).round(4)
    array([32.9127, 26.5911])
    """
    pixels = require_positive("pixels", pixels, "px", "a number of pixels")
    return np.asarray(2.0 * np.arctan(0.5 * pixels * ifov(pitch, focal_length)))


def ground_sampling_at_nadir(height: ArrayLike, pitch: ArrayLike, focal_length: ArrayLike) -> Array:
    """Ground length that one pixel covers straight below, m.

    Parameters
    ----------
    height : array_like
        Above the ground, m.
    pitch, focal_length : array_like
        m.

    Returns
    -------
    ndarray
        m per pixel. Times the number of pixels it is the side of the footprint.

    See Also
    --------
    height_for_ground_sampling : the inverse.
    ground_sampling : at any tilt.

    Notes
    -----
    height x pitch / focal length.

    References
    ----------
    Definition of the ground sampling distance; common practice.

    Examples
    --------
    >>> gsd = ground_sampling_at_nadir(60.0, 12e-6, 13e-3)
    >>> round(float(gsd), 7), (gsd * [640, 512]).round(4).tolist()
    (0.0553846, [35.4462, 28.3569])
    """
    return np.asarray(require_positive("height", height, "m", "above the ground") * ifov(pitch, focal_length))


def height_for_ground_sampling(sampling: ArrayLike, pitch: ArrayLike, focal_length: ArrayLike) -> Array:
    """Height above the ground at which one pixel covers a given length straight below, m.

    Parameters
    ----------
    sampling : array_like
        m per pixel.
    pitch, focal_length : array_like
        m.

    Returns
    -------
    ndarray
        m.

    See Also
    --------
    ground_sampling_at_nadir : the inverse.

    Notes
    -----
    sampling x focal length / pitch.

    References
    ----------
    Definition.

    Examples
    --------
    >>> round(float(height_for_ground_sampling(0.05, 12e-6, 13e-3)), 3)
    54.167
    """
    sampling = require_positive("sampling", sampling, "m per pixel", "a length on the ground")
    return np.asarray(sampling / ifov(pitch, focal_length))


def footprint(
    position: ArrayLike, rotation: ArrayLike, focal_px: float, shape: tuple[int, int], height: float = 0.0
) -> Array:
    """Corners of the level ground that a picture shows, m.

    Parameters
    ----------
    position : array_like, shape (3,)
        Of the camera, m.
    rotation : array_like, shape (3, 3)
        World to camera.
    focal_px : float
        px.
    shape : (int, int)
        Rows, columns.
    height : float
        z of the ground, m.

    Returns
    -------
    ndarray, shape (4, 3)
        Top left, top right, bottom right, bottom left, at the outer edges of the corner pixels; NaN for
        a corner above the horizon.

    Notes
    -----
    The four corner rays cut with the plane z = height; over terrain pass the same corners, (-1/2, -1/2)
    and so on, to `pixel_to_terrain`.

    References
    ----------
    Geometry.

    Examples
    --------
    >>> corners = footprint([0, 0, 60.0], np.diag([1.0, -1, -1]), 13e-3 / 12e-6, (512, 640))
    >>> np.ptp(corners, axis=0).round(4)
    array([35.4462, 28.3569,  0.    ])
    """
    rows, columns = shape
    column = np.array([-0.5, columns - 0.5, columns - 0.5, -0.5])
    row = np.array([-0.5, -0.5, rows - 0.5, rows - 0.5])
    return pixel_to_ground(column, row, position, rotation, focal_px, shape, height)


class GroundSampling(NamedTuple):
    """What one pixel covers where its ray meets a surface; all arrays of one shape.

    Parameters
    ----------
    finest, coarsest : ndarray
        Length on the surface along the direction in which a pixel covers least and most, m per pixel.
    area : ndarray
        Surface in one pixel, m2.
    distance : ndarray
        From camera to surface, m.
    incidence : ndarray
        Angle between line of sight and the surface's normal, rad; 0 is square on.
    """

    finest: Array
    coarsest: Array
    area: Array
    distance: Array
    incidence: Array


def ground_sampling(
    points: ArrayLike,
    position: ArrayLike,
    rotation: ArrayLike,
    focal_px: float,
    *,
    normal: ArrayLike = (0.0, 0.0, 1.0),
) -> GroundSampling:
    """What a pixel covers at given points of the ground, at any tilt, over level ground or terrain.

    Parameters
    ----------
    points : array_like, shape (..., 3)
        Where rays meet the surface (`pixel_to_ground`, `pixel_to_terrain`), m.
    position : array_like, shape (3,)
        Of the camera, m.
    rotation : array_like, shape (3, 3)
        World to camera.
    focal_px : float
        px.
    normal : array_like, shape (..., 3)
        Of the surface at each point, any length (`terrain_normals`); default level ground.

    Returns
    -------
    GroundSampling
        NaN for points behind the camera or on a side of the surface turned away.

    Raises
    ------
    RangeError
        A focal length that is not above zero.

    Notes
    -----
    With depth w = z of R (X - C), d = (X - C) / w and unit camera axes e: dX/dcolumn =
    w / f (e_right - d (n.e_right) / (n.d)), likewise for the row with e_down. Finest and coarsest are the
    singular values of these two columns, the area their product: the picture of a small surface element,
    exact to first order in the pixel's size.

    References
    ----------
    Derivative of the collinearity equations (geometry).

    Examples
    --------
    60 m up, straight below and 45 degrees aside on level ground, where a pixel covers 1/cos^2 = 2 times more
    along the tilt, 1/cos across it:

    >>> down = np.diag([1.0, -1.0, -1.0])
    >>> found = ground_sampling([[0, 0, 0], [0, 60, 0]], [0, 0, 60], down, 13e-3 / 12e-6)
    >>> found.finest.round(4), np.degrees(found.incidence).round(6)
    (array([0.0554, 0.0554]), array([ 0., 45.]))
    """
    if not focal_px > 0:
        raise RangeError("focal_px", focal_px, "px", "> 0", "focal length over pixel pitch")
    sight = np.asarray(points, dtype=float) - np.asarray(position, dtype=float)
    axes = np.asarray(rotation, dtype=float)
    upright = np.asarray(normal, dtype=float)
    upright = upright / np.linalg.norm(upright, axis=-1, keepdims=True)
    distance = np.linalg.norm(sight, axis=-1)
    with np.errstate(invalid="ignore", divide="ignore"):
        cosine = -(upright * sight).sum(axis=-1) / distance
        seen = (sight @ axes[2] > 0) & (cosine > 0)
        columns = [_per_pixel(sight, upright, axes, k) / focal_px for k in (0, 1)]
    finest, coarsest = _singular_values(*columns)
    incidence = np.arccos(np.clip(cosine, -1, 1))
    every = (finest, coarsest, finest * coarsest, distance, incidence)
    return GroundSampling(*(np.where(seen, x, np.nan) for x in every))


def _per_pixel(sight: Array, normal: Array, axes: Array, k: int) -> Array:
    """Move on the surface per unit of camera axis k at depth 1 times depth."""
    depth = (sight @ axes[2])[..., None]
    slant = (normal @ axes[k])[..., None] / (normal * sight).sum(axis=-1, keepdims=True)
    return np.asarray(depth * (axes[k] - sight * slant))


def _singular_values(first: Array, second: Array) -> tuple[Array, Array]:
    """Smaller and larger singular value of the 3 x 2 matrices with these columns."""
    a, b, c = (first**2).sum(-1), (second**2).sum(-1), (first * second).sum(-1)
    large = 0.5 * (a + b + np.hypot(a - b, 2 * c))
    area = np.sqrt(np.maximum(a * b - c * c, 0.0))
    return area / np.sqrt(large), np.sqrt(large)


def digital_levels(bits: int) -> int:
    """Number of values that a pixel of this many bits can take.

    Parameters
    ----------
    bits : int
        At least 1.

    Returns
    -------
    int

    Raises
    ------
    RangeError
        Fewer than one bit.

    Notes
    -----
    2^bits. A span cut into steps of one level adds a noise of step / sqrt(12).

    References
    ----------
    Definition.

    Examples
    --------
    >>> digital_levels(14)
    16384
    """
    if bits < 1:
        raise RangeError("bits", bits, "", ">= 1", "a pixel has at least two values")
    return int(2**bits)
