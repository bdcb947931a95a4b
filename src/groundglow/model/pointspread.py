"""What the camera makes of a point: diffraction, aberration, the pixel, motion and the detector's lag.

Everything is expressed in pixels, and as a transfer function (share of contrast that passes, by spatial
frequency), because the causes multiply there. The energy of a diffraction-limited point falls off only
with the cube of the distance: its wide skirt, not its narrow core, is what takes contrast from targets of
several pixels, and a Gaussian of the same width has no such skirt.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import j0, j1

from groundglow.errors import RangeError
from groundglow.model.optics import require_positive

__all__ = [
    "NOMINAL_TIME_CONSTANT",
    "NOMINAL_WAVELENGTH",
    "PointSpread",
    "encircled_energy",
    "lag_response",
    "point_spread",
    "point_spread_sigma",
    "transfer",
]

Array = NDArray[np.float64]
Pair = tuple[float, float]

#: Thermal time constant of an uncooled detector, s: 8 to 12 ms, common practice, no source.
NOMINAL_TIME_CONSTANT = 10e-3

#: Effective wavelength, m, where the band is not known better: the mean of a band weighted by the slope of Planck's
#: law at 300 K, 10.6 um for 8-14 um and 10.15 um for 7.5-13.5 um (computed; a test finds them again).
NOMINAL_WAVELENGTH = 10.4e-6

# Full width at half maximum of an Airy pattern over (wavelength x f-number); of a Gaussian over its sigma.
_AIRY_WIDTH = 1.0289940
_GAUSSIAN_WIDTH = 2.0 * math.sqrt(2.0 * math.log(2.0))


@dataclass(frozen=True)
class PointSpread:
    """Causes of blur of one camera in one flight, px.

    Parameters
    ----------
    diffraction : float
        Wavelength x f-number / pitch, >= 0.
    aberration : float
        Standard deviation of a Gaussian for all that the lens adds, >= 0.
    pixel : float
        Side of the sensitive part of a pixel, 0..1.
    smear : (float, float)
        Motion during the exposure along columns and rows.
    lag : (float, float)
        Motion of the picture during one thermal time constant along columns and rows; things trail behind.
    veil : float
        Share of the light that is scattered evenly over the picture, 0 <= veil < 1.
    """

    diffraction: float = 0.0
    aberration: float = 0.0
    pixel: float = 1.0
    smear: Pair = (0.0, 0.0)
    lag: Pair = (0.0, 0.0)
    veil: float = 0.0

    def __post_init__(self) -> None:
        _require_share("pixel", self.pixel, self.pixel <= 1, "0 <= pixel <= 1")
        _require_share("veil", self.veil, self.veil < 1, "0 <= veil < 1")
        for name, value in (("diffraction", self.diffraction), ("aberration", self.aberration)):
            _require_share(name, value, math.isfinite(value), ">= 0")


def _require_share(name: str, value: float, below: bool, allowed: str) -> None:
    if not (value >= 0 and below):
        raise RangeError(name, value, "px" if allowed == ">= 0" else "", allowed, "a part of the point spread")


def point_spread(
    pitch: float,
    f_number: float,
    *,
    wavelength: float = NOMINAL_WAVELENGTH,
    aberration: float = 0.0,
    velocity: Pair = (0.0, 0.0),
    exposure: float = 0.0,
    time_constant: float = 0.0,
) -> PointSpread:
    """Blur of a camera from its figures.

    Parameters
    ----------
    pitch : float
        Distance between pixel centres, m.
    f_number : float
        Focal length over aperture.
    wavelength : float
        Effective wavelength of the band, m: `NOMINAL_WAVELENGTH` or the band's own weighted mean. What a band
        does together differs from what that wavelength does by less than 0.002 of a rise (tests).
    aberration : float
        Standard deviation of a Gaussian for what the lens adds to diffraction, m on the detector.
    velocity : (float, float)
        Motion of the picture along columns and rows, px/s.
    exposure : float
        Integration time, s. Zero for a detector whose lag says it all.
    time_constant : float
        Thermal time constant of an uncooled detector, s (`NOMINAL_TIME_CONSTANT`).

    Returns
    -------
    PointSpread

    Raises
    ------
    RangeError

    Notes
    -----
    diffraction = wavelength x f-number / pitch; smear = velocity x exposure; lag = velocity x time constant.

    References
    ----------
    Goodman, *Introduction to Fourier Optics*, chapter 6 (from memory).

    Examples
    --------
    >>> spread = point_spread(12e-6, 1.25, wavelength=10e-6, velocity=(0.0, 90.0), time_constant=10e-3)
    >>> round(spread.diffraction, 4), spread.lag
    (1.0417, (0.0, 0.9))
    """
    pitch, f_number = (
        float(require_positive(n, v, u, "a figure of the camera"))
        for n, v, u in (("pitch", pitch, "m"), ("f_number", f_number, ""))
    )
    across, along = velocity
    return PointSpread(
        diffraction=wavelength * f_number / pitch,
        aberration=aberration / pitch,
        smear=(across * exposure, along * exposure),
        lag=(across * time_constant, along * time_constant),
    )


def transfer(spread: PointSpread, frequency_x: ArrayLike, frequency_y: ArrayLike) -> NDArray[np.complex128]:
    """Share of contrast that passes, and its shift, by spatial frequency.

    Parameters
    ----------
    spread : PointSpread
    frequency_x, frequency_y : array_like
        Along columns and rows, cycles per pixel, broadcastable.

    Returns
    -------
    ndarray of complex
        1 at frequency zero. The phase is the shift that the detector's lag causes.

    Notes
    -----
    Product of
    (1) circular aperture: (2/pi) (acos s - s sqrt(1 - s^2)), s = f wavelength N, 0 from s = 1;
    (2) aberration: exp(-2 pi^2 sigma^2 f^2);
    (3) pixel: sinc(a fx) sinc(a fy); (4) motion: sinc(fx sx + fy sy);
    (5) first-order lag: 1 / (1 - 2 pi i (fx lx + fy ly)); (6) veil: 1 - veil except at zero.

    References
    ----------
    Goodman, *Introduction to Fourier Optics*, section 6.3 (aperture; from memory); the others are Fourier
    transforms of a Gaussian, a box and an exponential.

    Examples
    --------
    The pixel alone passes 2/pi at the highest frequency that it samples rightly:

    >>> round(float(transfer(PointSpread(), 0.5, 0.0).real), 4)
    0.6366
    """
    fx, fy = np.broadcast_arrays(np.asarray(frequency_x, dtype=float), np.asarray(frequency_y, dtype=float))
    frequency = np.hypot(fx, fy)
    passed = _aperture(frequency * spread.diffraction) * np.exp(-2 * (np.pi * spread.aberration * frequency) ** 2)
    passed = passed * np.sinc(spread.pixel * fx) * np.sinc(spread.pixel * fy)
    passed = passed * np.sinc(fx * spread.smear[0] + fy * spread.smear[1])
    passed = passed * np.where(frequency > 0, 1.0 - spread.veil, 1.0)
    return np.asarray(passed / (1.0 - 2j * np.pi * (fx * spread.lag[0] + fy * spread.lag[1])))


def _aperture(s: Array) -> Array:
    s = np.minimum(s, 1.0)
    return np.asarray((2.0 / np.pi) * (np.arccos(s) - s * np.sqrt(1.0 - s * s)))


def point_spread_sigma(spread: PointSpread) -> Pair:
    """Standard deviations of a Gaussian about as wide as the point's picture, px along columns and rows.

    For simulated or matched blur of about a pixel's width. Not for the energy of a small target: a
    Gaussian lacks the skirt that costs it contrast (`targetsize`).

    Parameters
    ----------
    spread : PointSpread

    Returns
    -------
    (float, float)
        px.

    Notes
    -----
    Root of the sum of squares: Airy pattern as the Gaussian of its half width, 1.029 / 2.355 wavelength x
    f-number; a box as side / sqrt(12); a first-order lag as its length. The veil is left out.

    References
    ----------
    Half width of the Airy pattern: first root of (2 J1(x) / x)^2 = 1/2, x = 1.616340 (computed; a test
    finds it again).

    Examples
    --------
    >>> [round(s, 3) for s in point_spread_sigma(PointSpread(diffraction=1.0))]
    [0.524, 0.524]
    """
    round_part = (spread.diffraction * _AIRY_WIDTH / _GAUSSIAN_WIDTH) ** 2 + spread.aberration**2
    square = round_part + spread.pixel**2 / 12.0
    column, row = (math.sqrt(square + s**2 / 12.0 + g**2) for s, g in zip(spread.smear, spread.lag, strict=True))
    return column, row


def encircled_energy(radius: ArrayLike, f_number: float, *, wavelength: float = NOMINAL_WAVELENGTH) -> Array:
    """Share of a point's light within a radius on the detector, for a lens limited by diffraction.

    Parameters
    ----------
    radius : array_like
        m, >= 0.
    f_number : float
        Focal length over aperture.
    wavelength : float
        m.

    Returns
    -------
    ndarray
        0..1.

    Raises
    ------
    RangeError

    Notes
    -----
    1 - J0(v)^2 - J1(v)^2 with v = pi r / (wavelength N). Far out 2 / (pi v) is still missing: the skirt.

    References
    ----------
    Rayleigh 1881; Born and Wolf, *Principles of Optics*, section 8.5.2: 83.8 %, 91.0 % and 93.8 % within the
    first three dark rings (from memory).

    Examples
    --------
    >>> float(encircled_energy(1.21967 * 10e-6, 1.0, wavelength=10e-6).round(3))
    0.838
    """
    f_number = float(require_positive("f_number", f_number, "", "focal length over aperture"))
    v = np.pi * np.asarray(radius, dtype=float) / (wavelength * f_number)
    return np.asarray(1.0 - j0(v) ** 2 - j1(v) ** 2)


def lag_response(time: ArrayLike, time_constant: float = NOMINAL_TIME_CONSTANT) -> Array:
    """Share of a sudden change that an uncooled detector shows after a time.

    Parameters
    ----------
    time : array_like
        Since the change, s; before it (negative) nothing shows.
    time_constant : float
        s.

    Returns
    -------
    ndarray
        0..1.

    Raises
    ------
    RangeError

    Notes
    -----
    1 - exp(-t / tau), a first-order lag.

    References
    ----------
    Thermal balance of a detector with one heat capacity and one conductance; the time constant is common
    practice, no source.

    Examples
    --------
    A thing that stays on a pixel for one time constant shows 63 % of its rise, for five 99 %:

    >>> lag_response([10e-3, 50e-3], 10e-3).round(3)
    array([0.632, 0.993])
    """
    tau = float(require_positive("time_constant", time_constant, "s", "a duration"))
    return np.asarray(-np.expm1(-np.maximum(np.asarray(time, dtype=float), 0.0) / tau))
