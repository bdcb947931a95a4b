"""Searching an area: sweep width, coverage and the probability to have found what is there.

These figures rank plans. A search for people is led by those who are trained and responsible for it; a low
probability never says that nobody is there.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError
from groundglow.model.limits import require
from groundglow.model.optics import require_positive

__all__ = [
    "coverage_factor",
    "coverage_for_probability",
    "cumulative_probability",
    "random_search_probability",
    "sweep_width",
]

Array = NDArray[np.float64]


def _share(name: str, values: ArrayLike, *, below_one: bool = False) -> Array:
    array = np.asarray(values, dtype=float)
    within = (array >= 0) & ((array < 1) if below_one else (array <= 1))
    allowed = "0 <= probability < 1" if below_one else "0 to 1"
    require(name, array, within, unit="", allowed=allowed, why="a share", hint="Check percent against fraction.")
    return array


def sweep_width(lateral: ArrayLike, probability: ArrayLike) -> float:
    """Width of a strip, seen surely, in which as many would be found as the camera finds, m.

    Parameters
    ----------
    lateral : array_like, shape (n,)
        Distance from the track to one side (negative) and the other, m, rising.
    probability : array_like, shape (n,)
        That a thing passed at that distance is detected, 0..1.

    Returns
    -------
    float
        m.

    Raises
    ------
    InputError
        Arrays of different or no length, or distances that do not rise.
    RangeError

    Notes
    -----
    Integral of the lateral range curve by trapezia.

    References
    ----------
    Koopman, *Search and Screening*, OEG report 56, 1946, chapter 2 (named from memory).

    Examples
    --------
    >>> sweep_width([-20.0, 0.0, 20.0], [0.0, 1.0, 0.0])
    20.0
    """
    place, seen = np.asarray(lateral, dtype=float), _share("probability", probability)
    if place.shape != seen.shape or place.ndim != 1 or place.size < 2 or not (np.diff(place) > 0).all():
        raise InputError(
            f"lateral has shape {place.shape}, probability {seen.shape}; allowed two lists of one length, "
            "two or more, distances rising from left to right. Sort them."
        )
    return float(np.trapezoid(seen, place))


def coverage_factor(width: ArrayLike, length: ArrayLike, area: ArrayLike) -> Array:
    """How many times over the sweep width covers an area.

    Parameters
    ----------
    width : array_like
        Sweep width, m.
    length : array_like
        Of all tracks within the area, m.
    area : array_like
        m2.

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError

    Notes
    -----
    width x length / area. For parallel tracks: sweep width over spacing.

    References
    ----------
    Koopman 1946; common practice in search planning.

    Examples
    --------
    >>> float(coverage_factor(20.0, 12_000.0, 240_000.0))
    1.0
    """
    swept = require_positive("width", width, "m", "sweep width") * np.asarray(length, dtype=float)
    return np.asarray(swept / require_positive("area", area, "m2", "searched area"))


def random_search_probability(coverage: ArrayLike) -> Array:
    """Probability of detection when effort lies at random: a careful lower figure for a real search.

    Parameters
    ----------
    coverage : array_like
        `coverage_factor`, >= 0.

    Returns
    -------
    ndarray
        0..1.

    Raises
    ------
    RangeError

    See Also
    --------
    coverage_for_probability : the inverse.

    Notes
    -----
    1 - exp(-coverage).

    References
    ----------
    Koopman 1946, the random search formula.

    Examples
    --------
    >>> random_search_probability([0.5, 1.0, 2.0]).round(3)
    array([0.393, 0.632, 0.865])
    """
    effort = np.asarray(coverage, dtype=float)
    require("coverage", effort, effort >= 0, unit="", allowed=">= 0", why="times over", hint="")
    return np.asarray(-np.expm1(-effort))


def coverage_for_probability(probability: ArrayLike) -> Array:
    """Coverage factor that a random search needs for a probability of detection.

    Parameters
    ----------
    probability : array_like
        0 <= probability < 1.

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError

    See Also
    --------
    random_search_probability : the inverse.

    Notes
    -----
    -ln(1 - probability).

    References
    ----------
    Koopman 1946.

    Examples
    --------
    >>> float(coverage_for_probability(0.95).round(3))
    2.996
    """
    return np.asarray(-np.log1p(-_share("probability", probability, below_one=True)))


def cumulative_probability(probabilities: ArrayLike, axis: int = -1) -> Array:
    """Probability that at least one of several independent looks detects.

    Looks that share what hides a thing (a tree crown, a warm rock) are not independent: then this is
    too high.

    Parameters
    ----------
    probabilities : array_like, shape (..., n)
        Of the looks, 0..1.
    axis : int
        Along which looks follow each other.

    Returns
    -------
    ndarray, shape (...)
        0..1.

    Raises
    ------
    RangeError

    Notes
    -----
    1 - product of (1 - p).

    References
    ----------
    Independent events.

    Examples
    --------
    >>> float(cumulative_probability([0.5, 0.5, 0.5]))
    0.875
    """
    return np.asarray(1.0 - np.prod(1.0 - _share("probabilities", probabilities), axis=axis))
