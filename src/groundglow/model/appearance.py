"""How large a thing appears from where it is looked at: the upright box around it in the picture."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.model.limits import require
from groundglow.model.optics import require_positive

__all__ = ["BOX_ROUNDING", "apparent_box", "apparent_size", "box_in_pixels"]

Array = NDArray[np.float64]

#: Whole pixels that a side of unknown place touches beyond its own length: one, on average (computed; a test counts).
BOX_ROUNDING: Final = 1.0

_TURN, _WEIGHT = np.polynomial.legendre.leggauss(32)
#: Headings 0 to pi / 2, which by symmetry stand for all, and their weights as shares.
_HEADINGS, _SHARES = 0.25 * np.pi * (_TURN + 1.0), 0.5 * _WEIGHT


def _checked(length: ArrayLike, width: ArrayLike, height: ArrayLike, depression: ArrayLike) -> tuple[Array, ...]:
    sides = [require_positive(n, v, "m", "a side") for n, v in (("length", length), ("width", width))]
    tall, down = np.asarray(height, dtype=float), np.asarray(depression, dtype=float)
    require("height", tall, tall >= 0, unit="m", allowed=">= 0", why="0 is flat on the ground", hint="")
    seen = (down >= 0) & (down <= 0.5 * np.pi + 1e-12)
    hint = "Give the angle below the horizon in radians: pi / 2 is straight down."
    require("depression", down, seen, unit="rad", allowed="0 to pi / 2", why="below the horizon", hint=hint)
    return sides[0], sides[1], tall, down


def apparent_box(
    length: ArrayLike, width: ArrayLike, height: ArrayLike, *, depression: ArrayLike, heading: ArrayLike = 0.0
) -> tuple[Array, Array]:
    """Sides of the upright box around a thing, square to the line of sight, m.

    Parameters
    ----------
    length, width : array_like
        Sides on the ground, m, > 0.
    height : array_like
        m, >= 0.
    depression : array_like
        Angle of the line of sight below the horizon, rad, 0 to pi / 2.
    heading : array_like
        Between the long side and the picture's columns (across the line of sight), rad.

    Returns
    -------
    across, upright : ndarray
        Along the rows and columns of a picture that is not rolled, m. Over IFOV x distance they are pixels.

    Raises
    ------
    RangeError

    See Also
    --------
    apparent_size : averaged over the heading.

    Notes
    -----
    A block of length L, width W and height H far away: (1) across = L |cos| + W |sin| of the heading;
    (2) upright = (L |sin| + W |cos|) sin(depression) + H cos(depression). Rounded things fill less of it.

    References
    ----------
    Parallel projection of a block (geometry).

    Examples
    --------
    A person standing, 0.5 x 0.3 x 1.7 m, from straight above and from 45 degrees:

    >>> across, upright = apparent_box(0.5, 0.3, 1.7, depression=np.radians([90, 45]))
    >>> across.round(2), upright.round(2)
    (array([0.5, 0.5]), array([0.3 , 1.41]))
    """
    long, wide, tall, down = _checked(length, width, height, depression)
    turn = np.asarray(heading, dtype=float)
    cosine, sine = np.abs(np.cos(turn)), np.abs(np.sin(turn))
    across = long * cosine + wide * sine
    upright = (long * sine + wide * cosine) * np.sin(down) + tall * np.cos(down)
    return np.asarray(across + 0.0 * upright), np.asarray(upright)


def _over_headings(
    length: ArrayLike, width: ArrayLike, height: ArrayLike, depression: ArrayLike
) -> tuple[Array, Array]:
    each = [np.asarray(v, dtype=float)[..., None] for v in (length, width, height, depression)]
    return apparent_box(each[0], each[1], each[2], depression=each[3], heading=_HEADINGS)


def apparent_size(length: ArrayLike, width: ArrayLike, height: ArrayLike, depression: ArrayLike) -> Array:
    """Side of a square as large as the box around a thing, averaged over how it is turned, m.

    Parameters
    ----------
    length, width, height, depression : array_like
        As for `apparent_box`.

    Returns
    -------
    ndarray
        m.

    Raises
    ------
    RangeError

    See Also
    --------
    box_in_pixels : the same in the picture.

    Notes
    -----
    Mean over the heading of sqrt(across x upright), by 32 nodes of Gauss and Legendre: error below 1e-9.

    References
    ----------
    As `apparent_box`.

    Examples
    --------
    A car of 4.5 x 1.8 x 1.5 m:

    >>> apparent_size(4.5, 1.8, 1.5, np.radians([90, 60, 30])).round(2)
    array([3.92, 4.04, 3.59])
    """
    across, upright = _over_headings(length, width, height, depression)
    return np.asarray(np.sqrt(across * upright) @ _SHARES)


def box_in_pixels(
    length: ArrayLike, width: ArrayLike, height: ArrayLike, depression: ArrayLike, *, sampling: ArrayLike
) -> Array:
    """Side of a square as large as the box of whole pixels around a thing, averaged over how it is turned, px.

    Parameters
    ----------
    length, width, height, depression : array_like
        As for `apparent_box`.
    sampling : array_like
        What a pixel spans at the thing's distance, square to the line of sight: IFOV x distance, m.

    Returns
    -------
    ndarray
        px.

    Raises
    ------
    RangeError

    Notes
    -----
    As `apparent_size`, each side over the sampling and longer by `BOX_ROUNDING`: a box that holds all pixels
    that a thing touches is one pixel longer than the thing, on average over its place.

    References
    ----------
    As `apparent_box`.

    Examples
    --------
    >>> float(box_in_pixels(0.5, 0.3, 1.7, np.radians(50), sampling=0.06).round(1))
    15.6
    """
    each = require_positive("sampling", sampling, "m", "what a pixel spans")[..., None]
    across, upright = _over_headings(length, width, height, depression)
    return np.asarray(np.sqrt((across / each + BOX_ROUNDING) * (upright / each + BOX_ROUNDING)) @ _SHARES)
