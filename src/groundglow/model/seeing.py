"""Whether a thing can be seen: from its rise and size to the probability of a task.

Two ways lead to "seen". A spot of a few pixels is *detected* when its rise stands out of noise and clutter
(contrast to noise). A thing that somebody must *recognise* needs detail: the number of line pairs across it
that the whole chain still resolves, and a probability for each task by that number.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import expit, ndtr

from groundglow.model.limits import require
from groundglow.model.optics import require_positive
from groundglow.model.pointspread import PointSpread, transfer

__all__ = [
    "JOHNSON_CYCLES",
    "JOHNSON_CYCLES_SD",
    "THRESHOLD_SNR",
    "contrast_to_noise",
    "critical_dimension",
    "cycles_for_probability",
    "false_alarms",
    "minimum_resolvable_difference",
    "probability_above_threshold",
    "probability_of_task",
    "resolved_frequency",
]

Array = NDArray[np.float64]

#: Line pairs across the critical dimension for a probability of one half. Johnson 1958, "Analysis of image forming
#: systems", Image Intensifier Symposium (values as quoted by several secondary sources).
JOHNSON_CYCLES: Final = {"detect": 1.0, "orient": 1.4, "recognise": 4.0, "identify": 6.4}

#: Their spread over the targets of that trial, same source.
JOHNSON_CYCLES_SD: Final = {"detect": 0.25, "orient": 0.35, "recognise": 0.8, "identify": 1.5}

#: Signal to noise at which an eye just makes out a bar: 2.5 to 3 after Rosell and Willson 1973 (value from memory).
THRESHOLD_SNR = 2.5

# Of a bar target's difference, what the averages over a bright and a dark bar still differ by when only the
# fundamental of the square wave passes: (4 / pi) of amplitude x (2 / pi) of mean over half a period.
_BAR_CONTRAST = 8.0 / np.pi**2
# A bar of the standard four-bar target is seven times as long as wide (ASTM E1213; ratio by NDT training text).
_BAR_ASPECT = 7.0
_NYQUIST = 0.5


def contrast_to_noise(
    rise: ArrayLike, noise: ArrayLike, *, transmittance: ArrayLike = 1.0, response: ArrayLike = 1.0
) -> Array:
    """Rise of a target in the picture over the noise around it.

    Parameters
    ----------
    rise : array_like
        Target minus surroundings in apparent temperature (or counts), at the target, signed.
    noise : array_like
        Standard deviation of what it must stand out from, > 0, same unit: detector noise, residual pattern
        and clutter together (root of the sum of squares).
    transmittance : array_like
        Of the air, 0..1. Air damps contrast by its transmittance; what it adds is alike on both.
    response : array_like
        Share of the rise that blur and sampling leave (`target_response`), 0..1.

    Returns
    -------
    ndarray
        Signed, in standard deviations.

    Raises
    ------
    RangeError

    Notes
    -----
    rise x transmittance x response / noise.

    References
    ----------
    Measurement equation, differenced; common practice.

    Examples
    --------
    2 K through air of 0.93 on a target that keeps 45 % of its rise, over 60 mK:

    >>> round(float(contrast_to_noise(2.0, 0.06, transmittance=0.93, response=0.45)), 2)
    13.95
    """
    spread = require_positive("noise", noise, "K", "a standard deviation")
    for name, share in (("transmittance", transmittance), ("response", response)):
        array = np.asarray(share, dtype=float)
        require(name, array, (array >= 0) & (array <= 1), unit="", allowed="0 to 1", why="a share", hint="")
    return np.asarray(np.asarray(rise, float) * np.asarray(transmittance, float) * np.asarray(response, float) / spread)


def probability_above_threshold(contrast: ArrayLike, sigmas: ArrayLike) -> Array:
    """Probability that a departure exceeds a threshold in spite of noise.

    Parameters
    ----------
    contrast : array_like
        Contrast to noise, taken without its sign.
    sigmas : array_like
        Threshold in standard deviations of the noise.

    Returns
    -------
    ndarray
        0..1.

    See Also
    --------
    false_alarms : what the same threshold lets through where nothing is.

    Notes
    -----
    Phi(|contrast| - sigmas), normal noise.

    References
    ----------
    Normal distribution; the matched threshold test of any text on detection.

    Examples
    --------
    >>> probability_above_threshold([3.0, 5.0, 8.0], 5.0).round(3)
    array([0.023, 0.5  , 0.999])
    """
    return np.asarray(ndtr(np.abs(np.asarray(contrast, dtype=float)) - np.asarray(sigmas, dtype=float)))


def false_alarms(sigmas: ArrayLike, pixels: ArrayLike) -> Array:
    """Expected number of pixels of normal noise above a threshold on one side.

    Parameters
    ----------
    sigmas : array_like
        Threshold in standard deviations.
    pixels : array_like
        Number of independent pixels.

    Returns
    -------
    ndarray

    Notes
    -----
    pixels x (1 - Phi(sigmas)). Real clutter is not normal: a lower bound.

    References
    ----------
    Normal distribution.

    Examples
    --------
    >>> [round(float(n), 2) for n in false_alarms([3.0, 5.0], 640 * 512)]
    [442.33, 0.09]
    """
    return np.asarray(np.asarray(pixels, dtype=float) * ndtr(-np.asarray(sigmas, dtype=float)))


def critical_dimension(length: ArrayLike, width: ArrayLike) -> Array:
    """Critical dimension of a target: the side of a square as large as it appears, m.

    Parameters
    ----------
    length, width : array_like
        Sides as seen from the camera, m.

    Returns
    -------
    ndarray
        m.

    Raises
    ------
    RangeError

    Notes
    -----
    sqrt(length x width).

    References
    ----------
    Common practice since two-dimensional sampling replaced scan lines (from memory).

    Examples
    --------
    >>> round(float(critical_dimension(1.8, 0.5)), 3)
    0.949
    """
    sides = (require_positive(n, v, "m", "a side") for n, v in (("length", length), ("width", width)))
    return np.asarray(np.sqrt(next(sides) * next(sides)))


def minimum_resolvable_difference(
    frequency: ArrayLike, noise: ArrayLike, spread: PointSpread, *, frames: float = 1.0
) -> Array:
    """Temperature difference at which the bars of a standard target are just told apart, K.

    Parameters
    ----------
    frequency : array_like
        Of the bars, cycles per pixel, > 0.
    noise : array_like
        Standard deviation of a pixel, K.
    spread : PointSpread
    frames : float
        Number of pictures that the eye adds up.

    Returns
    -------
    ndarray
        K; infinite where no contrast passes and above half a cycle per pixel.

    Raises
    ------
    RangeError

    Notes
    -----
    A bar is 1 / 2f wide and seven times as long, n = 7 / 4 f^2 pixels; bright and dark bar differ by
    (8 / pi^2) M(f) of the bars' difference, with a noise of noise x sqrt(2 / (n frames)). The difference at
    which their ratio is `THRESHOLD_SNR`: (1) D = T noise sqrt(8 f^2 / (7 frames)) / ((8 / pi^2) M(f)), with M the
    geometric mean of the transfer along columns and rows. White noise; clutter is worse than that.

    References
    ----------
    Definition of the target: ASTM E1213, section 4. The derivation is ours; the form is that of Lloyd,
    *Thermal Imaging Systems*, 1975 (from memory).

    Examples
    --------
    >>> minimum_resolvable_difference([0.1, 0.4, 0.6], 0.05, PointSpread(diffraction=0.8)).round(3)
    array([0.019, 0.145,   inf])
    """
    f = require_positive("frequency", frequency, "cycles per pixel", "a frequency")
    noise = require_positive("noise", noise, "K", "a standard deviation")
    passed = _BAR_CONTRAST * _both_ways(spread, f)
    blurred = (passed <= 1e-12) | (f > _NYQUIST)
    needed = THRESHOLD_SNR * noise * f * np.sqrt(8.0 / (_BAR_ASPECT * frames)) / np.where(blurred, 1.0, passed)
    return np.asarray(np.where(blurred, np.inf, needed))


def _both_ways(spread: PointSpread, f: Array) -> Array:
    zero = np.zeros_like(f)
    return np.asarray(np.sqrt(np.abs(transfer(spread, f, zero)) * np.abs(transfer(spread, zero, f))))


def resolved_frequency(contrast: ArrayLike, noise: ArrayLike, spread: PointSpread, *, frames: float = 1.0) -> Array:
    """Finest bars that a contrast lets an eye resolve, cycles per pixel.

    Parameters
    ----------
    contrast : array_like
        Difference of apparent temperature at the camera, after the air, K; its sign is not used.
    noise : array_like
        Standard deviation of a pixel, K.
    spread : PointSpread
    frames : float
        Number of pictures that the eye adds up.

    Returns
    -------
    ndarray
        At most 0.5, the limit of sampling: one line pair on two pixels.

    Raises
    ------
    RangeError

    See Also
    --------
    minimum_resolvable_difference : the inverse.

    Notes
    -----
    Bisection of (1) of `minimum_resolvable_difference`, which rises with frequency, to 1e-9.

    References
    ----------
    As `minimum_resolvable_difference`.

    Examples
    --------
    Plenty of contrast leaves sampling as the limit; 20 mK in a noise of 50 mK do not:

    >>> resolved_frequency([5.0, 0.02], 0.05, PointSpread(diffraction=0.8)).round(3)
    array([0.5  , 0.106])
    """
    wanted, noise = np.broadcast_arrays(np.abs(np.asarray(contrast, dtype=float)), np.asarray(noise, dtype=float))
    low, high = np.full(wanted.shape, 1e-9), np.full(wanted.shape, _NYQUIST)
    for _ in range(30):
        middle = 0.5 * (low + high)
        seen = minimum_resolvable_difference(middle, noise, spread, frames=frames) <= wanted
        low, high = np.where(seen, middle, low), np.where(seen, high, middle)
    enough = minimum_resolvable_difference(np.full(wanted.shape, _NYQUIST), noise, spread, frames=frames) <= wanted
    return np.asarray(np.where(enough, _NYQUIST, np.where(wanted > 0, low, 0.0)))


def probability_of_task(cycles: ArrayLike, cycles_for_half: ArrayLike) -> Array:
    """Probability that an observer with time enough does a task, by the line pairs resolved across a target.

    Blind to what happens below the limiting frequency (noise, clutter, display): a comparison of kits and
    distances, not a promise.

    Parameters
    ----------
    cycles : array_like
        Line pairs across the critical dimension, >= 0.
    cycles_for_half : array_like
        Line pairs for a probability of one half (`JOHNSON_CYCLES`), > 0.

    Returns
    -------
    ndarray
        0..1.

    Raises
    ------
    RangeError

    See Also
    --------
    cycles_for_probability : the inverse.

    Notes
    -----
    (1) r^E / (1 + r^E), E = 2.7 + 0.7 r, r = cycles / cycles for half.

    References
    ----------
    Target transfer probability function in its published form; Johnson 1958 for the criteria. Its limit:
    *Optical Engineering* 43(11), 2004.

    Examples
    --------
    >>> probability_of_task([0.5, 1.0, 2.0], JOHNSON_CYCLES["detect"]).round(4)
    array([0.1077, 0.5   , 0.9449])
    """
    ratio = np.asarray(cycles, dtype=float) / require_positive("cycles_for_half", cycles_for_half, "", "line pairs")
    require("cycles", ratio, ratio >= 0, unit="", allowed=">= 0", why="line pairs", hint="")
    with np.errstate(divide="ignore"):
        return np.asarray(expit(_log_odds(ratio)))


def _log_odds(ratio: Array) -> Array:
    return np.asarray((2.7 + 0.7 * ratio) * np.log(ratio))


def cycles_for_probability(probability: ArrayLike, cycles_for_half: ArrayLike) -> Array:
    """Line pairs across a target that a task needs for a probability.

    Parameters
    ----------
    probability : array_like
        0 < probability < 1.
    cycles_for_half : array_like
        Line pairs for a probability of one half, > 0.

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError

    See Also
    --------
    probability_of_task : the inverse.

    Notes
    -----
    Bisection of the log odds, which rise with the ratio, to 1e-12 of it.

    References
    ----------
    As `probability_of_task`.

    Examples
    --------
    >>> cycles_for_probability([0.8, 0.95], 1.0).round(3)
    array([1.452, 2.041])
    """
    wanted = np.asarray(probability, dtype=float)
    within = (wanted > 0) & (wanted < 1)
    require("probability", wanted, within, unit="", allowed="0 < probability < 1", why="a share", hint="")
    odds = np.log(wanted) - np.log1p(-wanted)
    low, high = np.full(odds.shape, -40.0), np.full(odds.shape, 10.0)  # logarithm of the ratio
    for _ in range(60):
        middle = 0.5 * (low + high)
        above = _log_odds(np.exp(middle)) > odds
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    half = require_positive("cycles_for_half", cycles_for_half, "", "line pairs")
    return np.asarray(np.exp(0.5 * (low + high)) * half)
