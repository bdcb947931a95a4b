"""Share of a rectangle's rise that its peak pixel shows, from a table: for many cameras and distances at once.

`groundglow.model.targetsize` works out one target behind one lens, which takes some 40 ms. Comparing kits asks for
hundreds of thousands; they are interpolated in a table of it.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

from groundglow.model.optics import require_positive
from groundglow.model.targetcorrection import BLUR_UNCERTAINTY

__all__ = ["PeakResponse", "equivalent_diffraction", "peak_response"]

Array = NDArray[np.float64]

# Gaussian of the half width of an Airy pattern over wavelength x f-number, as in `point_spread_sigma`.
_AIRY_SIGMA = 1.0289940 / (2.0 * np.sqrt(2.0 * np.log(2.0)))


class PeakResponse(NamedTuple):
    """What the peak pixel shows of a rise, and how surely it can be corrected; arrays of one shape.

    Parameters
    ----------
    share : ndarray
        Mean share over all ways to lay the pixel grid.
    sd : ndarray
        Its standard deviation over these ways.
    by_size : ndarray
        Relative change of the share for a relative change of the target's size.
    by_blur : ndarray
        Relative change of the share for one standard uncertainty of an unmeasured lens's blur.
    """

    share: Array
    sd: Array
    by_size: Array
    by_blur: Array


class _Table(NamedTuple):
    """Share and standard deviation over (log short side, log ratio of sides, diffraction, lag)."""

    axes: tuple[Array, Array, Array, Array]
    values: Array


@cache
def _table() -> _Table:
    with files("groundglow.model").joinpath("data/peak_response.npz").open("rb") as stream:
        raw = dict(np.load(stream))
    short, aspect, diffraction, lag = (raw[name].astype(float) for name in ("short", "aspect", "diffraction", "lag"))
    values = np.ascontiguousarray(np.stack([raw["share"], raw["sd"]], axis=-1), dtype=np.float64)
    return _Table((np.log(short), np.log(aspect), diffraction, lag), values)


@njit(cache=True)
def _cell(axis: Array, x: float) -> tuple[int, float]:  # pragma: no cover - compiled
    """Cell of an axis that holds a number, and the place in it; the ends are held."""
    last = axis.size - 2
    i = 0
    while i < last and x >= axis[i + 1]:
        i += 1
    return i, min(max((x - axis[i]) / (axis[i + 1] - axis[i]), 0.0), 1.0)


@njit(cache=True)
def _interpolate(
    axes: tuple[Array, Array, Array, Array], values: Array, points: Array, out: Array
) -> None:  # pragma: no cover - compiled
    """Linear in four directions; points of shape (n, 4), out of shape (n, 2)."""
    for n in range(points.shape[0]):
        i, a = _cell(axes[0], points[n, 0])
        j, b = _cell(axes[1], points[n, 1])
        k, c = _cell(axes[2], points[n, 2])
        m, d = _cell(axes[3], points[n, 3])
        out[n] = 0.0
        for corner in range(16):
            p, q, r, t = corner & 1, (corner >> 1) & 1, (corner >> 2) & 1, corner >> 3
            weight = (a if p else 1 - a) * (b if q else 1 - b) * (c if r else 1 - c) * (d if t else 1 - d)
            for v in range(2):
                out[n, v] += weight * values[i + p, j + q, k + r, m + t, v]


def equivalent_diffraction(diffraction: ArrayLike, aberration: ArrayLike) -> Array:
    """Diffraction whose core is as wide as that of diffraction and a Gaussian aberration together, px.

    Parameters
    ----------
    diffraction, aberration : array_like
        As of `groundglow.model.pointspread.PointSpread`, px.

    Notes
    -----
    sqrt(d^2 + (a / 0.437)^2), the Gaussian of the Airy pattern's half width. The skirt of diffraction grows with
    it, that of an aberration does not: the share comes out low by up to 0.03 (tests).

    References
    ----------
    As `groundglow.model.pointspread.point_spread_sigma`.

    Examples
    --------
    >>> float(equivalent_diffraction(0.9, 0.0))
    0.9
    """
    return np.asarray(np.hypot(diffraction, np.asarray(aberration) / _AIRY_SIGMA))


def peak_response(short: ArrayLike, long: ArrayLike, diffraction: ArrayLike, lag: ArrayLike = 0.0) -> PeakResponse:
    """Share of a rectangle's rise that its peak pixel shows, against a known background.

    Parameters
    ----------
    short, long : array_like
        Sides in the picture, px, > 0.
    diffraction : array_like
        Wavelength x f-number / pitch, px; with `equivalent_diffraction` for a lens that adds to it.
    lag : array_like
        Motion of the picture during one thermal time constant, across the short side, px.

    Returns
    -------
    PeakResponse
        Below 0.3 px the share falls as the area seen, above 60 px the loss as 1 / side.

    Raises
    ------
    RangeError

    See Also
    --------
    groundglow.model.targetsize.target_response : exact, for one target.

    Notes
    -----
    Linear between the nodes of a table over log side, log ratio of sides, diffraction and lag; within 0.02 of
    the exact (tests). Beyond the table's ends of diffraction (0.3 to 2.5) and lag (0 to 4) the ends are taken.

    References
    ----------
    As `groundglow.model.targetsize.target_response`.

    Examples
    --------
    12 um pixels behind f/1.25: what 10 x 10 pixels still lose, and what 3 x 3 lose (compare `target_response`):

    >>> peak_response([3.0, 10.0], [3.0, 10.0], 10.0 * 1.25 / 12).share.round(2)
    array([0.86, 0.96])
    """
    near = require_positive("short", short, "px", "a side in the picture")
    far = np.maximum(require_positive("long", long, "px", "a side in the picture"), near)
    near, far, blur, motion = np.broadcast_arrays(near, far, np.asarray(diffraction, float), np.asarray(lag, float))
    share, sd = _at(near, far, blur, motion)
    larger = _at(near * 1.1, far * 1.1, blur, motion)[0]
    blurrier = _at(near, far, blur * (1.0 + BLUR_UNCERTAINTY), motion)[0]
    safe = np.maximum(share, 1e-9)
    return PeakResponse(share, sd, (larger / safe - 1.0) / 0.1, blurrier / safe - 1.0)


def _at(near: Array, far: Array, blur: Array, motion: Array) -> tuple[Array, Array]:
    axes, values = _table()
    points = np.stack([np.log(near), np.log(far / near), blur, motion], axis=-1)
    found = np.empty((near.size, 2))
    _interpolate(axes, values, np.ascontiguousarray(points.reshape(-1, 4)), found)
    found = found.reshape(*near.shape, 2)
    least, most = np.exp(axes[0][0]), np.exp(axes[0][-1])
    seen = np.where(near < least, np.square(near / least), 1.0)
    past = np.minimum(most / near, 1.0)
    share = np.where(near < least, found[..., 0] * seen, 1.0 - (1.0 - found[..., 0]) * past)
    return np.asarray(share), np.asarray(found[..., 1] * past * seen)
