"""Doubt in three parts: what is independent, what a frame shares, what a flight shares.

A value read from a thermal frame is uncertain in three different ways, and they add up differently:

* **independent** - noise, different in each pixel: it shrinks in a mean, never cancels;
* **frame** - shared by all pixels of one frame (drift, what is left of the pattern): it cancels in a
  difference within the frame;
* **flight** - shared by the whole flight or camera (calibration, emissivity of one material, the air):
  it cancels in any difference within the flight, as far as both pixels feel it alike.

The shared parts are therefore kept as *signed sensitivities per named source*: the change of the value
for one standard uncertainty of that source, K (or counts). Differences subtract them source by source.

References
----------
JCGM 100:2008 (GUM), section 5.1.2 equation 10 (independent inputs) and 5.2.2 equation 13 (shared inputs).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError

__all__ = ["COVERAGE_95", "Doubt", "combined", "difference", "interval", "mean_doubt", "select"]

#: Two-sided 95 % coverage factor of a normal distribution (JCGM 100:2008, table G.1).
COVERAGE_95 = 1.959963984540054

Sources = Mapping[str, NDArray[np.floating]]


@dataclass(frozen=True)
class Doubt:
    """Three-part doubt of an array of values.

    Parameters
    ----------
    independent : ndarray, shape S
        Standard uncertainty that is independent from pixel to pixel, in the unit of the value.
    frame, flight : mapping of str to ndarray, each broadcastable to shape S
        Signed change of the value for one standard uncertainty of the named source, in the unit of the
        value. A source is one random number: shared by the frame, or by the flight.

    Examples
    --------
    >>> doubt = Doubt(np.array([0.05, 0.05]), flight={"calibration": np.array(5.0)})
    >>> float(combined(doubt)[0].round(4))
    5.0002
    """

    independent: NDArray[np.floating]
    frame: Sources = field(default_factory=dict)
    flight: Sources = field(default_factory=dict)


def _squares(sources: Sources) -> NDArray[np.floating] | float:
    return sum((np.square(s) for s in sources.values()), 0.0)


def combined(doubt: Doubt) -> NDArray[np.floating]:
    """Combined standard uncertainty of each value (root of the sum of squares over all sources).

    Parameters
    ----------
    doubt : Doubt

    Returns
    -------
    ndarray, shape S
        Standard uncertainty in the unit of the value.

    Notes
    -----
    JCGM 100:2008 equation 10; sources are independent of each other.

    Examples
    --------
    >>> float(combined(Doubt(np.array(3.0), frame={"drift": np.array(-4.0)})))
    5.0
    """
    total = np.square(doubt.independent) + _squares(doubt.frame) + _squares(doubt.flight)
    return np.asarray(np.sqrt(total))


def select(doubt: Doubt, where: Any) -> Doubt:
    """Doubt of a part of the array, by any NumPy index or boolean mask.

    Examples
    --------
    >>> select(Doubt(np.array([1.0, 2.0]), flight={"air": np.array([0.1, 0.2])}), 1).flight["air"]
    array(0.2)
    """
    shape = np.shape(doubt.independent)

    def part(values: ArrayLike) -> NDArray[np.floating]:
        return np.asarray(np.broadcast_to(np.asarray(values), shape)[where])

    return _mapped(doubt, part, part(doubt.independent))


def _mapped(
    doubt: Doubt,
    function: Callable[[NDArray[np.floating]], NDArray[np.floating]],
    independent: NDArray[np.floating],
) -> Doubt:
    return Doubt(
        independent,
        {name: function(s) for name, s in doubt.frame.items()},
        {name: function(s) for name, s in doubt.flight.items()},
    )


def mean_doubt(doubt: Doubt, weights: ArrayLike | None = None) -> Doubt:
    """Doubt of the mean of all values: only the independent part shrinks with their number.

    Parameters
    ----------
    doubt : Doubt
        Of values of shape S.
    weights : array_like, shape S, optional
        Weights of the mean, default equal; they are scaled to sum to one.

    Returns
    -------
    Doubt
        Of one value (arrays of shape ``()``).

    Raises
    ------
    InputError
        When there is no value, or the weights sum to zero.

    Notes
    -----
    JCGM 100:2008 equation 13 with the mean's weights as sensitivities: a shared source enters with the
    weighted mean of its signed sensitivities.

    Examples
    --------
    >>> four = Doubt(np.full(4, 0.2), frame={"drift": np.array(0.5)})
    >>> mean = mean_doubt(four)
    >>> float(mean.independent), float(mean.frame["drift"])
    (0.1, 0.5)
    """
    shape = np.shape(doubt.independent)
    raw = np.ones(shape) if weights is None else np.broadcast_to(np.asarray(weights, float), shape)
    share = raw / _total(raw)

    def mean(values: NDArray[np.floating]) -> NDArray[np.floating]:
        if np.ndim(values) == 0:
            return np.asarray(values)
        return np.asarray((np.broadcast_to(values, shape) * share).sum())

    return _mapped(doubt, mean, np.asarray(np.sqrt(np.square(doubt.independent * share).sum())))


def _total(weights: NDArray[np.floating]) -> float:
    if weights.size == 0:
        raise InputError("The mean has no value: nothing was selected. Check the mask or the outline.")
    total = float(weights.sum())
    if total == 0.0:
        raise InputError("The mean's weights sum to zero; allowed any other sum. Check the weights.")
    return total


def _subtract(a: Sources, b: Sources) -> dict[str, NDArray[np.floating]]:
    zero = np.zeros(())
    return {name: np.asarray(a.get(name, zero) - b.get(name, zero)) for name in sorted({*a, *b})}


def _apart(a: Sources, b: Sources) -> dict[str, NDArray[np.floating]]:
    return {f"{name} (1)": v for name, v in a.items()} | {f"{name} (2)": -v for name, v in b.items()}


def difference(a: Doubt, b: Doubt, *, shared: str = "frame") -> Doubt:
    """Doubt of ``a - b``: shared sources are subtracted with their signs, not added as deviations.

    Parameters
    ----------
    a, b : Doubt
        Of values of broadcastable shapes.
    shared : {"frame", "flight", "nothing"}
        What the two values have in common: the same frame (all named sources), the same flight
        (only the flight's sources), or nothing.

    Returns
    -------
    Doubt

    Notes
    -----
    JCGM 100:2008 equation 13: a source that both values feel alike drops out of the difference.

    Examples
    --------
    >>> hot = Doubt(np.array(0.05), flight={"calibration": np.array(5.0)})
    >>> cool = Doubt(np.array(0.05), flight={"calibration": np.array(4.9)})
    >>> float(combined(difference(hot, cool)).round(3))
    0.122
    """
    if shared not in ("frame", "flight", "nothing"):
        raise InputError(f'shared is {shared!r}; allowed "frame", "flight" or "nothing".')
    return Doubt(
        np.hypot(a.independent, b.independent),
        _subtract(a.frame, b.frame) if shared == "frame" else _apart(a.frame, b.frame),
        _apart(a.flight, b.flight) if shared == "nothing" else _subtract(a.flight, b.flight),
    )


def interval(value: ArrayLike, doubt: Doubt) -> tuple[NDArray[np.floating], NDArray[np.floating]]:
    """Lower and upper end of the 95 % interval, in the unit of the value.

    Notes
    -----
    value -+ 1.96 standard uncertainties: normal errors, JCGM 100:2008 annex G with many degrees of freedom.

    Examples
    --------
    >>> low, high = interval(20.0, Doubt(np.array(1.0)))
    >>> float(low.round(2)), float(high.round(2))
    (18.04, 21.96)
    """
    half = COVERAGE_95 * combined(doubt)
    middle = np.asarray(value, dtype=float)
    return middle - half, middle + half
