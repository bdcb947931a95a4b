"""How much of a small target's rise a reading shows, and the correction for it.

The picture of a target is its outline blurred by the camera's point spread. Its pixels therefore show a
mixture: ``reading = background + response x (target - background)``, linear in radiance and, for rises of
some tens of kelvin, nearly so in temperature. The response lies below one even for targets of several
pixels, because the skirt of diffraction reaches far (`pointspread`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import j1

from groundglow.errors import RangeError
from groundglow.model.pointspread import PointSpread, transfer

__all__ = [
    "LARGEST_TARGET",
    "PEAK",
    "Reading",
    "Response",
    "Shape",
    "blurred_target",
    "smallest_size",
    "target_response",
]

Array = NDArray[np.float64]
Shape = Literal["disc", "rectangle"]

#: Side or diameter, px, above which the response is not worked out: it is within 1 % of one.
LARGEST_TARGET = 100.0


@dataclass(frozen=True)
class Reading:
    """Which pixels make the number that is read.

    Parameters
    ----------
    core : float
        0: the one pixel that departs most. Otherwise the mean over pixels whose centres lie within this
        share of the target's size around its middle, 0..1 (the peak pixel where there is none).
    ring : (float, float), optional
        Radii, px, between which the background is read. Without it the background is known.
    """

    core: float = 0.0
    ring: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.core <= 1:
            raise RangeError("core", self.core, "", "0 <= core <= 1", "a share of the target's size")
        if self.ring is not None and not 0 <= self.ring[0] < self.ring[1]:
            raise RangeError("ring", self.ring, "px", "0 <= inner < outer", "radii of the background")


class Response(NamedTuple):
    """Share of a target's rise that a reading shows.

    Parameters
    ----------
    share : float
        Mean over all ways in which the target can lie on the pixels.
    sd : float
        Standard deviation over these ways.
    """

    share: float
    sd: float


#: The reading of the one pixel that departs most, against a known background.
PEAK = Reading()


class _Canvas(NamedTuple):
    """A periodic square of ``side`` px sampled ``fine`` times per pixel, half a sample off the centre."""

    side: int
    fine: int


def _canvas(size: float) -> _Canvas:
    for side, fine in ((64, 8), (128, 4), (256, 2), (512, 2)):
        if size <= side / 5.0:
            return _Canvas(side, fine)
    raise RangeError(
        "size", size, "px", f"<= {LARGEST_TARGET:g}", "larger targets read true within 1 %", "Leave it uncorrected."
    )


@lru_cache(maxsize=8)
def _blur(spread: PointSpread, canvas: _Canvas) -> tuple[Array, Array, NDArray[np.complex128]]:
    n = canvas.side * canvas.fine
    fx = np.asarray(np.fft.rfftfreq(n, 1.0 / canvas.fine)[None, :], dtype=np.float64)
    fy = np.asarray(np.fft.fftfreq(n, 1.0 / canvas.fine)[:, None], dtype=np.float64)
    blur = transfer(spread, fx, fy) * np.exp(1j * np.pi * (fx + fy) / canvas.fine)
    blur[0, 0] *= 1.0 - spread.veil  # what is scattered over the whole picture leaves the canvas
    return fx, fy, blur


def _outline(shape: Shape, length: float, width: float, fx: Array, fy: Array) -> Array:
    """Fourier transform of the target's outline, px2."""
    if shape == "rectangle":
        return np.asarray(length * width * np.sinc(fx * length) * np.sinc(fy * width))
    f = np.hypot(fx * length, fy * width)
    safe = np.where(f > 0, f, 1.0)
    return np.asarray(length * width * np.where(f > 0, j1(np.pi * f) / (2.0 * safe), np.pi / 4.0))


def _check(length: float, width: float) -> None:
    if not (length > 0 and width > 0):
        raise RangeError("size", (length, width), "px", "> 0", "sides of a target")


def blurred_target(length: float, width: float, spread: PointSpread, *, shape: Shape = "disc") -> tuple[Array, Array]:
    """Picture of a target of rise one before it is sampled by pixels, and where its samples lie.

    Parameters
    ----------
    length, width : float
        Sides of the rectangle, or axes of the ellipse, along columns and rows, px, up to 100.
    spread : PointSpread
        The camera's blur; the pixel's own area is in it.
    shape : {"disc", "rectangle"}

    Returns
    -------
    picture : ndarray, shape (n, n)
        Share of the rise that a pixel centred there would show.
    place : ndarray, shape (n,)
        Places of the samples along columns and rows from the target's middle, px; equally spaced, a whole
        number of them per pixel.

    Raises
    ------
    RangeError
        A side that is not above zero or above 100 px.

    Notes
    -----
    Inverse Fourier transform of (transform of the outline) x (transfer function) on a periodic square of at
    least five times the size; the neighbouring copies add less than 0.001.

    References
    ----------
    Goodman, *Introduction to Fourier Optics*, chapter 6: incoherent imaging as a convolution (from memory).

    Examples
    --------
    The energy of a 2 x 3 px target is all there:

    >>> picture, place = blurred_target(2.0, 3.0, PointSpread(diffraction=1.0), shape="rectangle")
    >>> round(float(picture.sum() * (place[1] - place[0]) ** 2), 6)
    6.0
    """
    _check(length, width)
    canvas = _canvas(max(length, width))
    fx, fy, blur = _blur(spread, canvas)
    n = canvas.side * canvas.fine
    picture = np.fft.irfft2(_outline(shape, length, width, fx, fy) * blur, s=(n, n)) * canvas.fine**2
    return np.fft.fftshift(picture), (np.arange(n) - n // 2 + 0.5) / canvas.fine


def _by_phase(values: Array, fine: int) -> Array:
    """Pixels of each of the fine x fine ways to lay the grid: shape (ways, pixels)."""
    side = len(values) // fine
    return np.asarray(values.reshape(side, fine, side, fine).transpose(1, 3, 0, 2).reshape(fine * fine, -1))


def _within(place: Array, middle: tuple[float, float], axes: tuple[float, float], shape: Shape) -> Array:
    u, v = 2 * (place[None, :] - middle[0]) / axes[0], 2 * (place[:, None] - middle[1]) / axes[1]
    inside = (u * u + v * v <= 1) if shape == "disc" else (np.abs(u) <= 1) & (np.abs(v) <= 1)
    return inside.astype(float)


def _mean_where(pixels: Array, wanted: Array, otherwise: Array) -> Array:
    count = wanted.sum(axis=1)
    return np.asarray(np.where(count > 0, (pixels * wanted).sum(axis=1) / np.maximum(count, 1), otherwise))


def _middle(picture: Array, place: Array) -> tuple[float, float]:
    """Centroid of what lies above half the peak, column and row: lag moves it."""
    bright = picture > 0.5 * picture.max()
    return float(place[np.nonzero(bright)[1]].mean()), float(place[np.nonzero(bright)[0]].mean())


def _read(picture: Array, place: Array, size: tuple[float, float], shape: Shape, reading: Reading) -> Array:
    """The reading for each way to lay the pixel grid."""
    fine = round(1.0 / (place[1] - place[0]))
    pixels = _by_phase(picture, fine)
    rise = pixels.max(axis=1)
    middle = _middle(picture, place)
    if reading.core > 0:
        axes = (reading.core * size[0], reading.core * size[1])
        rise = _mean_where(pixels, _by_phase(_within(place, middle, axes, shape), fine), rise)
    if reading.ring is not None:
        inner, outer = (_within(place, middle, (2 * r, 2 * r) if r else (1e-9, 1e-9), "disc") for r in reading.ring)
        rise = rise - _mean_where(pixels, _by_phase(outer - inner, fine), np.zeros(len(rise)))
    return np.asarray(rise)


def target_response(
    length: float, width: float, spread: PointSpread, *, shape: Shape = "disc", reading: Reading = PEAK
) -> Response:
    """Share of a target's rise that a reading shows, and how it varies with the pixel grid.

    Parameters
    ----------
    length, width : float
        Sides of the rectangle, or axes of the ellipse, along columns and rows, px, up to 100.
    spread : PointSpread
    shape : {"disc", "rectangle"}
    reading : Reading
        Peak pixel (default) or mean over a core, less a known background or one read in a ring.

    Returns
    -------
    Response
        The bias of a reading is (share - 1) x rise.

    Raises
    ------
    RangeError

    Notes
    -----
    Evaluated for all ways to lay the pixel grid over `blurred_target` in steps of 1/8 px (1/4 from 13 px on).

    References
    ----------
    As `blurred_target`; the 99 % definition of target size is ISO 10878:2013.

    Examples
    --------
    12 um pixels behind f/1.25: what 10 x 10 pixels still lose, and what 3 x 3 lose:

    >>> spread = PointSpread(diffraction=10.0 * 1.25 / 12)
    >>> [round(target_response(n, n, spread, shape="rectangle").share, 2) for n in (3, 10)]
    [0.86, 0.96]
    """
    picture, place = blurred_target(length, width, spread, shape=shape)
    readings = _read(picture, place, (length, width), shape, reading)
    return Response(float(readings.mean()), float(readings.std()))


def smallest_size(share: float, spread: PointSpread, *, shape: Shape = "rectangle", reading: Reading = PEAK) -> float:
    """Side of the smallest square, or diameter of the smallest disc, whose reading shows a share, px.

    Parameters
    ----------
    share : float
        0 < share < 1.
    spread : PointSpread
    shape : {"disc", "rectangle"}
    reading : Reading

    Returns
    -------
    float
        px; infinite where not even 100 px show that much.

    Raises
    ------
    RangeError
        A share outside 0..1.

    Notes
    -----
    Root of `target_response`, to 0.01 px.

    References
    ----------
    As `target_response`.

    Examples
    --------
    90 % of the rise takes 4 pixels behind a good lens:

    >>> math.ceil(smallest_size(0.90, PointSpread(diffraction=10.0 / 12)))
    4
    """
    if not 0 < share < 1:
        raise RangeError("share", share, "", "0 < share < 1", "part of a rise")

    def missing(size: float) -> float:
        return target_response(size, size, spread, shape=shape, reading=reading).share - share

    if missing(LARGEST_TARGET) < 0:
        return math.inf
    return float(brentq(missing, 0.05, LARGEST_TARGET, xtol=0.01))
