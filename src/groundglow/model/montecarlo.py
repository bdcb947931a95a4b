"""Propagation of distributions by an adaptive, seeded Monte Carlo, with shortest and symmetric intervals.

References
----------
JCGM 101:2008, Evaluation of measurement data - Supplement 1 to the GUM: 5.3.4 and 7.7
(intervals), 7.9 (adaptive procedure).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from groundglow.errors import InputError
from groundglow.model.distribution import Array, Sampler

__all__ = ["MonteCarlo", "monte_carlo", "shortest_interval", "symmetric_interval"]


@dataclass(frozen=True)
class MonteCarlo:
    """Result of a Monte Carlo.

    Attributes
    ----------
    estimate, standard_uncertainty : float
        Mean and standard deviation of all trials.
    shortest, symmetric : (float, float)
        Coverage intervals: the shortest, and the one with equal tails.
    trials : int
    settled : bool
        Whether the numeric tolerance was reached before the largest number of trials.
    """

    estimate: float
    standard_uncertainty: float
    shortest: tuple[float, float]
    symmetric: tuple[float, float]
    trials: int
    settled: bool


def symmetric_interval(values: ArrayLike, coverage: float = 0.95) -> tuple[float, float]:
    """Probabilistically symmetric coverage interval of a sample: equal tails (JCGM 101:2008, 7.7.1).

    Examples
    --------
    >>> symmetric_interval(np.arange(1001.0), 0.5)
    (250.0, 750.0)
    """
    low, high = np.quantile(np.asarray(values, float), [(1 - coverage) / 2, (1 + coverage) / 2])
    return float(low), float(high)


def shortest_interval(values: ArrayLike, coverage: float = 0.95) -> tuple[float, float]:
    """Shortest interval that holds a share of a sample (JCGM 101:2008, 7.7.4).

    Examples
    --------
    >>> shortest_interval([0.0, 1.0, 1.1, 1.2, 9.0], 0.5)
    (1.0, 1.2)
    """
    ordered = np.sort(np.asarray(values, float))
    span = min(int(np.ceil(coverage * ordered.size - 0.5)), ordered.size - 1)
    start = int(np.argmin(ordered[span:] - ordered[: ordered.size - span]))
    return float(ordered[start]), float(ordered[start + span])


def _tolerance(standard_uncertainty: float, digits: int) -> float:
    """Half a unit of the last of the significant digits of the standard uncertainty (7.9.2)."""
    if standard_uncertainty == 0:
        return 0.0
    return float(0.5 * 10.0 ** (np.floor(np.log10(standard_uncertainty)) - digits + 1))


def _summary(values: Array, coverage: float) -> Array:
    ends = (*shortest_interval(values, coverage), *symmetric_interval(values, coverage))
    return np.array([values.mean(), values.std(ddof=1), *ends])


def _settled(blocks: list[Array], digits: int) -> bool:
    """Whether the means over the blocks of all results are known to the tolerance."""
    if len(blocks) < 2:
        return False
    table = np.array(blocks)
    deviation = np.hypot(np.sqrt(np.mean(table[:, 1] ** 2)), table[:, 0].std())
    scatter = table.std(axis=0, ddof=1) / np.sqrt(len(blocks))
    return bool((2 * scatter <= _tolerance(float(deviation), digits)).all())


def monte_carlo(
    function: Callable[..., ArrayLike],
    samplers: Sequence[Sampler],
    *,
    seed: int,
    coverage: float = 0.95,
    digits: int = 2,
    largest: int = 2_000_000,
) -> MonteCarlo:
    """Distribution of a function of uncertain inputs: estimate, standard uncertainty, intervals.

    Parameters
    ----------
    function : callable
        Of the inputs as arrays of trials, in the order of the samplers (a joint sampler gives several).
    samplers : sequence of callable
        Such as :func:`groundglow.model.distribution.normal`; each draws independently of the others.
    seed : int
        Equal seeds give equal results.
    coverage : float
        Probability of the intervals.
    digits : int
        Significant digits of the standard uncertainty that shall hold; with 2 the result is usually
        settled within a million trials.
    largest : int
        Most trials.

    Returns
    -------
    MonteCarlo

    Raises
    ------
    InputError
        When the function gives NaN or infinite values, which have no mean.

    Notes
    -----
    JCGM 101:2008, 7.9.4: blocks of max(10^4, 100/(1-p)) trials until twice the standard deviation of the mean
    of each result is within the numeric tolerance; results from all trials.

    Examples
    --------
    >>> from groundglow.model.distribution import normal
    >>> result = monte_carlo(lambda a, b: a + b, [normal(1.0, 3.0), normal(2.0, 4.0)], seed=1)
    >>> round(result.standard_uncertainty, 1), result.settled
    (5.0, True)
    """
    rng = np.random.default_rng(seed)
    size = max(10_000, int(np.ceil(100 / (1 - coverage))))
    values: list[Array] = []
    blocks: list[Array] = []
    settled = False
    while not settled and len(values) * size < largest:
        values.append(_block(function, samplers, rng, size))
        blocks.append(_summary(values[-1], coverage))
        settled = _settled(blocks, digits)
    result = [float(v) for v in _summary(np.concatenate(values), coverage)]
    ends = (result[2], result[3]), (result[4], result[5])
    return MonteCarlo(result[0], result[1], *ends, trials=len(values) * size, settled=settled)


def _block(
    function: Callable[..., ArrayLike], samplers: Sequence[Sampler], rng: np.random.Generator, size: int
) -> Array:
    inputs = np.concatenate([np.atleast_2d(draw(rng, size)) for draw in samplers])
    values = np.broadcast_to(np.asarray(function(*inputs), dtype=np.float64), (size,))
    wrong = int((~np.isfinite(values)).sum())
    if wrong:
        raise InputError(
            f"Monte Carlo: {wrong} of {size} trials have no finite result. Cut the inputs' distributions to what "
            "is possible, for instance an emissivity to 0..1."
        )
    return values
