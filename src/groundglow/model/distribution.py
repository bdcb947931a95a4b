"""Distributions of uncertain inputs, as functions that draw trials for a Monte Carlo.

References
----------
JCGM 101:2008, Evaluation of measurement data - Supplement 1 to the GUM, 6.4.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError

__all__ = [
    "Array",
    "Sampler",
    "arcsine",
    "curvilinear_trapezoid",
    "normal",
    "normal_vector",
    "rectangular",
    "scaled_t",
    "truncated_normal",
]

Array = NDArray[np.float64]
#: Draws a number of trials: shape (trials,) or, for correlated inputs, (inputs, trials).
Sampler = Callable[[np.random.Generator, int], Array]


def normal(mean: float, standard_uncertainty: float) -> Sampler:
    """Normal distribution (JCGM 101:2008, 6.4.7).

    Examples
    --------
    >>> normal(5.0, 0.0)(np.random.default_rng(1), 2).tolist()
    [5.0, 5.0]
    """
    return lambda rng, count: rng.normal(mean, standard_uncertainty, count)


def truncated_normal(mean: float, standard_uncertainty: float, low: float, high: float) -> Sampler:
    """Normal distribution cut to what is possible, such as an emissivity to 0..1 (common practice, no source).

    Examples
    --------
    >>> draws = truncated_normal(0.98, 0.05, 0.0, 1.0)(np.random.default_rng(1), 1000)
    >>> bool(draws.max() <= 1.0)
    True
    """

    def draw(rng: np.random.Generator, count: int) -> Array:
        values = rng.normal(mean, standard_uncertainty, count)
        for _ in range(200):
            outside = (values < low) | (values > high)
            if not outside.any():
                return values
            values[outside] = rng.normal(mean, standard_uncertainty, int(outside.sum()))
        raise InputError(
            f"A normal distribution about {mean:g} with deviation {standard_uncertainty:g} hardly reaches "
            f"{low:g} to {high:g}. Check mean and limits."
        )

    return draw


def rectangular(low: float, high: float) -> Sampler:
    """Rectangular distribution (JCGM 101:2008, 6.4.2).

    Examples
    --------
    >>> bool(0 <= rectangular(0.0, 1.0)(np.random.default_rng(1), 1)[0] < 1)
    True
    """
    return lambda rng, count: rng.uniform(low, high, count)


def curvilinear_trapezoid(low: float, high: float, doubt: float) -> Sampler:
    """Rectangle whose limits are themselves known only to -+ doubt (JCGM 101:2008, 6.4.3).

    Examples
    --------
    >>> draws = curvilinear_trapezoid(-1.0, 1.0, 0.1)(np.random.default_rng(1), 1000)
    >>> bool(abs(draws).max() <= 1.1)
    True
    """

    def draw(rng: np.random.Generator, count: int) -> Array:
        bottom = low - doubt + 2 * doubt * rng.random(count)
        return np.asarray(bottom + (low + high - 2 * bottom) * rng.random(count))

    return draw


def arcsine(low: float, high: float) -> Sampler:
    """U-shaped distribution of a sinusoidal cycle seen at a random moment (JCGM 101:2008, 6.4.6).

    Examples
    --------
    >>> bool(abs(arcsine(-1.0, 1.0)(np.random.default_rng(1), 1000)).max() <= 1)
    True
    """
    return lambda rng, count: (low + high) / 2 + (high - low) / 2 * np.sin(2 * np.pi * rng.random(count))


def scaled_t(mean: float, scale: float, degrees_of_freedom: float) -> Sampler:
    """Shifted and scaled Student's t: a mean of few readings (JCGM 101:2008, 6.4.9).

    Examples
    --------
    >>> scaled_t(5.0, 0.0, 4)(np.random.default_rng(1), 1).tolist()
    [5.0]
    """
    return lambda rng, count: mean + scale * rng.standard_t(degrees_of_freedom, count)


def normal_vector(mean: ArrayLike, covariance: ArrayLike) -> Sampler:
    """Correlated normal inputs, drawn together (JCGM 101:2008, 6.4.8).

    Examples
    --------
    >>> normal_vector([1.0, 2.0], np.zeros((2, 2)))(np.random.default_rng(1), 3).shape
    (2, 3)
    """
    centre, matrix = np.asarray(mean, float), np.asarray(covariance, float)
    return lambda rng, count: rng.multivariate_normal(centre, matrix, count, method="eigh").T
