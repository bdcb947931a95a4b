"""Uncertainty budget of one quantity: every input by name, its share, and which part of the doubt it is.

First-order propagation with correlated inputs, and the second-order term that tells when it fails; use
:mod:`groundglow.model.montecarlo` then.

References
----------
JCGM 100:2008 (GUM): equation 10 (independent inputs), 13 and 16 (correlated inputs), the note to 5.1.2
(second order), G.2b (Welch-Satterthwaite).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

from groundglow.errors import InputError, RangeError
from groundglow.model.doubt import Doubt

__all__ = ["Budget", "Line", "Quantity", "covariance", "make_budget", "second_order_variance", "to_doubt"]

Part = Literal["independent", "frame", "flight"]
Function = Callable[..., float]

#: Step of a numeric derivative, in standard uncertainties.
DERIVATIVE_STEP = 0.01
#: Step where an input has no uncertainty, as a share of its value.
RELATIVE_STEP = 1e-6


@dataclass(frozen=True)
class Quantity:
    """One input of a budget.

    Parameters
    ----------
    name : str
        Names the source of doubt; equal names in two budgets mean the same random number.
    value : float
    unit : str
    standard_uncertainty : float
        In the unit of the value, >= 0.
    part : {"independent", "frame", "flight"}
        Different in each pixel, shared by a frame, or shared by the flight.
    degrees_of_freedom : float
        Of the standard uncertainty, default infinite.

    Raises
    ------
    RangeError
        When the uncertainty is negative or not finite.

    Examples
    --------
    >>> Quantity("emissivity", 0.95, "", 0.01).part
    'flight'
    """

    name: str
    value: float
    unit: str
    standard_uncertainty: float
    part: Part = "flight"
    degrees_of_freedom: float = np.inf

    def __post_init__(self) -> None:
        if not (np.isfinite(self.standard_uncertainty) and self.standard_uncertainty >= 0):
            raise RangeError(
                f"standard uncertainty of {self.name}",
                self.standard_uncertainty,
                self.unit,
                "finite and >= 0",
                "a standard deviation",
            )


@dataclass(frozen=True)
class Line:
    """One line of a budget.

    Attributes
    ----------
    quantity : Quantity
    sensitivity : float
        Change of the result for a unit change of the input.
    contribution : float
        Signed change of the result for one standard uncertainty of the input.
    share : float
        Share of the variance, correlations included: the lines sum to one.
    """

    quantity: Quantity
    sensitivity: float
    contribution: float
    share: float


@dataclass(frozen=True, eq=False)
class Budget:
    """Value and combined standard uncertainty of a quantity, line by line.

    Attributes
    ----------
    name, value, unit, standard_uncertainty
        Of the result.
    lines : tuple of Line
    correlation : ndarray, shape (lines, lines)
        Correlation coefficients of the inputs.
    degrees_of_freedom : float
        Effective; NaN when correlated inputs have finite degrees of freedom, where the formula does not hold.
    """

    name: str
    value: float
    unit: str
    standard_uncertainty: float
    lines: tuple[Line, ...]
    correlation: NDArray[np.float64]
    degrees_of_freedom: float

    def expanded_uncertainty(self, coverage: float = 0.95) -> float:
        """Half width of the interval that holds the value with this probability, Student's t.

        Raises
        ------
        InputError
            When the degrees of freedom are not known.

        Examples
        --------
        >>> line = Quantity("a", 1.0, "K", 1.0)
        >>> round(make_budget("y", "K", lambda a: a, [line]).expanded_uncertainty(), 2)
        1.96
        """
        if np.isnan(self.degrees_of_freedom):
            raise InputError(
                f"{self.name}: correlated inputs with few degrees of freedom have no effective degrees of "
                "freedom. Use a Monte Carlo interval."
            )
        factor = stdtrit(min(self.degrees_of_freedom, 1e9), 0.5 + coverage / 2)
        return float(factor * self.standard_uncertainty)


def _matrix(
    quantities: Sequence[Quantity], correlations: Mapping[tuple[str, str], float] | None
) -> NDArray[np.float64]:
    names = [q.name for q in quantities]
    if len(set(names)) < len(names):
        raise InputError(f"Budget: inputs {', '.join(names)} have a name twice. Give each its own.")
    matrix = np.eye(len(names))
    for (first, second), value in (correlations or {}).items():
        if first not in names or second not in names:
            raise InputError(f"Budget: correlation of {first} and {second}: allowed {', '.join(names)}.")
        i, j = names.index(first), names.index(second)
        matrix[i, j] = matrix[j, i] = value
    if np.linalg.eigvalsh(matrix).min() < -1e-9:
        raise InputError("Budget: the correlations contradict each other. Check signs and limits -1 to 1.")
    return matrix


def _moved(values: NDArray[np.float64], moves: Mapping[int, float]) -> NDArray[np.float64]:
    moved = values.copy()
    for i, step in moves.items():
        moved[i] += step
    return moved


def _steps(quantities: Sequence[Quantity], share: float) -> NDArray[np.float64]:
    sigma = np.array([q.standard_uncertainty for q in quantities])
    spare = np.maximum(np.abs([q.value for q in quantities]), 1.0) * RELATIVE_STEP
    return np.where(sigma > 0, share * sigma, spare)


def _derivatives(function: Function, quantities: Sequence[Quantity]) -> NDArray[np.float64]:
    values = np.array([q.value for q in quantities], dtype=float)
    steps = _steps(quantities, DERIVATIVE_STEP)
    return np.array(
        [
            (function(*_moved(values, {i: h})) - function(*_moved(values, {i: -h}))) / (2 * h)
            for i, h in enumerate(steps)
        ]
    )


def _freedom(quantities: Sequence[Quantity], parts: NDArray[np.float64], matrix: NDArray[np.float64]) -> float:
    freedom = np.array([q.degrees_of_freedom for q in quantities])
    finite = np.isfinite(freedom) & (parts != 0)
    if (np.abs(matrix[finite]).sum(axis=1) > 1).any():
        return float("nan")
    weight = float((parts[finite] ** 4 / freedom[finite]).sum())
    return float((parts**2).sum() ** 2 / weight) if weight > 0 else float("inf")


def make_budget(
    name: str,
    unit: str,
    function: Function,
    quantities: Sequence[Quantity],
    *,
    sensitivities: Sequence[float] | None = None,
    correlations: Mapping[tuple[str, str], float] | None = None,
) -> Budget:
    """Budget of a function of named inputs.

    Parameters
    ----------
    name, unit : str
        Of the result.
    function : callable
        Of the inputs' values, in their order.
    quantities : sequence of Quantity
    sensitivities : sequence of float, optional
        Partial derivatives in the same order; default numeric, by central differences.
    correlations : mapping of (name, name) to float, optional
        Correlation coefficients, default none.

    Returns
    -------
    Budget

    Raises
    ------
    InputError
        When names repeat, a correlation names no input, or correlations contradict each other.

    Notes
    -----
    u^2 = sum over i, j of c_i c_j u_i u_j r_ij (JCGM 100:2008 equation 16). A line's share is its sum over j
    divided by u^2; with correlations it may be negative.

    Examples
    --------
    >>> inputs = [Quantity("a", 2.0, "V", 0.3), Quantity("b", 5.0, "V", 0.4)]
    >>> total = make_budget("sum", "V", lambda a, b: a + b, inputs)
    >>> round(total.standard_uncertainty, 6), [round(line.share, 2) for line in total.lines]
    (0.5, [0.36, 0.64])
    """
    matrix = _matrix(quantities, correlations)
    slopes = _derivatives(function, quantities) if sensitivities is None else np.asarray(sensitivities, float)
    parts = slopes * np.array([q.standard_uncertainty for q in quantities])
    joint = parts * (matrix @ parts)
    variance = max(float(joint.sum()), 0.0)
    shares = joint / variance if variance > 0 else np.zeros_like(joint)
    lines = tuple(
        Line(q, float(c), float(p), float(s)) for q, c, p, s in zip(quantities, slopes, parts, shares, strict=True)
    )
    value = float(function(*(q.value for q in quantities)))
    return Budget(name, value, unit, variance**0.5, lines, matrix, _freedom(quantities, parts, matrix))


def covariance(first: Budget, second: Budget) -> float:
    """Covariance of two results of the same inputs: what they share.

    Parameters
    ----------
    first, second : Budget
        Of the same quantities in the same order.

    Returns
    -------
    float

    Raises
    ------
    InputError
        When the inputs differ.

    Notes
    -----
    JCGM 100:2008, H.2.3 equation H.9.

    Examples
    --------
    >>> inputs = [Quantity("a", 2.0, "V", 0.3), Quantity("b", 5.0, "V", 0.4)]
    >>> total = make_budget("sum", "V", lambda a, b: a + b, inputs)
    >>> rest = make_budget("difference", "V", lambda a, b: a - b, inputs)
    >>> round(covariance(total, rest), 6)
    -0.07
    """
    if [line.quantity for line in first.lines] != [line.quantity for line in second.lines]:
        raise InputError(f"{first.name} and {second.name} have different inputs. Give both budgets the same list.")
    a = np.array([line.contribution for line in first.lines])
    b = np.array([line.contribution for line in second.lines])
    return float(a @ first.correlation @ b)


def second_order_variance(function: Function, quantities: Sequence[Quantity]) -> float:
    """Variance that first-order propagation leaves out, for independent inputs with normal errors.

    Parameters
    ----------
    function, quantities
        As for :func:`make_budget`.

    Returns
    -------
    float
        In the squared unit of the result; where it is not small beside the first order, use Monte Carlo.

    Notes
    -----
    Sum over i, j of (f_ij^2 / 2 + f_i f_ijj) u_i^2 u_j^2 (JCGM 100:2008, note to 5.1.2), by differences over
    one standard uncertainty.

    Examples
    --------
    >>> inputs = [Quantity("a", 0.0, "", 1.0), Quantity("b", 0.0, "", 1.0)]
    >>> round(second_order_variance(lambda a, b: a * b, inputs), 6)
    1.0
    """
    values = np.array([q.value for q in quantities], dtype=float)
    active = [i for i, q in enumerate(quantities) if q.standard_uncertainty > 0]
    u = np.array([q.standard_uncertainty for q in quantities])

    def at(**moves: float) -> float:
        return float(function(*_moved(values, {int(k[1:]): v for k, v in moves.items()})))

    middle = at()
    total = 0.0
    for i in active:
        slope = (at(**{f"i{i}": u[i]}) - at(**{f"i{i}": -u[i]})) / 2
        for j in active:
            total += _second_terms(at, (i, j), (float(u[i]), float(u[j])), (slope, middle))
    return total


def _second_terms(
    at: Callable[..., float], pair: tuple[int, int], steps: tuple[float, float], known: tuple[float, float]
) -> float:
    (i, j), (u, v), (slope, middle) = pair, steps, known
    if i == j:
        plus, minus = at(**{f"i{i}": u}), at(**{f"i{i}": -u})
        bend = plus - 2 * middle + minus
        twist = (at(**{f"i{i}": 2 * u}) - 2 * plus + 2 * minus - at(**{f"i{i}": -2 * u})) / 2
        return 0.5 * bend**2 + slope * twist
    corners = {(a, b): at(**{f"i{i}": a * u, f"i{j}": b * v}) for a in (1, -1) for b in (1, -1)}
    cross = (corners[1, 1] - corners[1, -1] - corners[-1, 1] + corners[-1, -1]) / 4
    sides = (at(**{f"i{i}": u}) - at(**{f"i{i}": -u})) / 2
    twist = (corners[1, 1] + corners[1, -1] - corners[-1, 1] - corners[-1, -1]) / 2 - 2 * sides
    return 0.5 * cross**2 + slope * twist


def to_doubt(budget: Budget) -> Doubt:
    """Three-part doubt of a budget's result.

    Parameters
    ----------
    budget : Budget

    Returns
    -------
    Doubt
        Arrays of shape ``()``; a source is named after its input. Correlated inputs of one part become
        independent sources that give the same total (Cholesky factor of the correlation).

    Raises
    ------
    InputError
        When inputs of different parts are correlated.

    Examples
    --------
    >>> inputs = [Quantity("noise", 0.0, "K", 0.05, "independent"), Quantity("drift", 0.0, "K", 0.2, "frame")]
    >>> doubt = to_doubt(make_budget("reading", "K", lambda a, b: 300.0 + a + b, inputs))
    >>> round(float(doubt.independent), 6), round(float(doubt.frame["drift"]), 6)
    (0.05, 0.2)
    """
    parts = np.array([line.quantity.part for line in budget.lines])
    apart = parts[:, None] != parts[None, :]
    if np.any(budget.correlation[apart]):
        raise InputError(f"{budget.name}: inputs of different parts are correlated. Put them in one part.")
    sources = {part: _sources(budget, parts == part) for part in ("independent", "frame", "flight")}
    independent = np.sqrt(sum(np.square(s) for s in sources["independent"].values()) + np.zeros(()))
    return Doubt(np.asarray(independent), sources["frame"], sources["flight"])


def _sources(budget: Budget, chosen: NDArray[np.bool_]) -> dict[str, NDArray[np.floating]]:
    matrix = budget.correlation[np.ix_(chosen, chosen)]
    lines = [line for line, take in zip(budget.lines, chosen, strict=True) if take]
    parts = np.array([line.contribution for line in lines]) @ _factor(matrix)
    return {line.quantity.name: np.asarray(part) for line, part in zip(lines, parts, strict=True)}


def _factor(matrix: NDArray[np.float64]) -> NDArray[np.float64]:
    """Lower triangular factor of a correlation matrix, also of a singular one (correlation one)."""
    size = len(matrix)
    factor = np.zeros_like(matrix)
    for i in range(size):
        for j in range(i + 1):
            rest = matrix[i, j] - factor[i, :j] @ factor[j, :j]
            if i == j:
                factor[i, i] = np.sqrt(max(rest, 0.0))
            elif factor[j, j] > 1e-12:
                factor[i, j] = rest / factor[j, j]
    return factor
