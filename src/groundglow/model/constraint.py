"""What targets of known temperature say of the sources that a flight shares: generalised least squares with prior.

Each shared source of doubt (calibration, sky, drift, air ...) is one random number with mean zero and standard
deviation one. A target whose temperature was taken by contact shows a weighted sum of them. The estimate takes that
off every pixel by the pixel's own sensitivities; what is left of the doubt is shared as before, but smaller.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chdtrc

from groundglow.errors import InputError
from groundglow.model.doubt import Doubt

__all__ = ["Constraint", "constrain", "constrained"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Constraint:
    """What is known of the shared sources after looking at targets.

    Parameters
    ----------
    names : tuple of str
        Sources, k of them.
    estimate : ndarray, shape (k,)
        In standard uncertainties of each source as stated.
    root : ndarray, shape (k, k)
        Symmetric square root of their covariance afterwards; the identity when nothing was learnt.
    agreement : float
        Probability of residuals at least as large if all stated doubts are right, 0..1; 1 without targets.
    """

    names: tuple[str, ...]
    estimate: Floats
    root: Floats
    agreement: float = 1.0


def constrain(names: Sequence[str], design: ArrayLike, residual: ArrayLike, noise: ArrayLike) -> Constraint:
    """Estimate shared sources from targets.

    Parameters
    ----------
    names : sequence of str
        Of the k sources.
    design : array_like, shape (n, k)
        Change of each target's residual for one standard uncertainty of each source.
    residual : array_like, shape (n,)
        What was read minus what the target's contact value predicts; any unit.
    noise : array_like, shape (n,)
        Standard uncertainty of each residual that no source explains (contact value, noise), same unit, > 0.

    Returns
    -------
    Constraint

    Raises
    ------
    InputError
        When shapes disagree or a noise is not positive.

    Notes
    -----
    With prior z ~ N(0, I) and d = H z + e, e ~ N(0, R): covariance P = (I + H' R^-1 H)^-1 and estimate
    P H' R^-1 d; the agreement is the upper tail of chi-squared for d' (H H' + R)^-1 d with n degrees of freedom.

    References
    ----------
    A. C. Aitken, On least squares and linear combination of observations, Proc. R. Soc. Edinburgh 55 (1935) 42-48;
    JCGM 102:2011, section 6 (least squares with prior information as further observations). From memory.

    Examples
    --------
    A target that reads 2 K high, known to 0.5 K, with a camera good to 1 K:

    >>> known = constrain(["calibration"], [[1.0]], [2.0], [0.5])
    >>> round(float(known.estimate[0]), 3), round(float(known.root[0, 0]), 3)
    (1.6, 0.447)
    """
    matrix, difference, spread = (np.asarray(a, dtype=np.float64) for a in (design, residual, noise))
    matrix = matrix.reshape(len(difference), len(names))
    if spread.shape != difference.shape or not np.all(spread > 0):
        raise InputError("Each residual needs a standard uncertainty above zero; give one a target.")
    weighed = matrix / spread[:, None]
    values, vectors = np.linalg.eigh(np.eye(len(names)) + weighed.T @ weighed)
    covariance = (vectors / values) @ vectors.T
    root = (vectors / np.sqrt(values)) @ vectors.T
    estimate = covariance @ weighed.T @ (difference / spread)
    return Constraint(tuple(names), estimate, root, _agreement(matrix, difference, spread))


def _agreement(matrix: Floats, difference: Floats, spread: Floats) -> float:
    if not len(difference):
        return 1.0
    whole = matrix @ matrix.T + np.diag(spread**2)
    return float(chdtrc(len(difference), difference @ np.linalg.solve(whole, difference)))


def constrained(value: NDArray[np.floating], doubt: Doubt, known: Constraint) -> tuple[NDArray[np.floating], Doubt]:
    """Values with the estimated sources taken off, and the doubt that is left.

    Parameters
    ----------
    value : ndarray, shape S
    doubt : Doubt
        Its ``flight`` sources are matched by name; sources that ``known`` does not name stay as they are.
    known : Constraint

    Notes
    -----
    First order: value - S z, and new signed sensitivities S P^(1/2), with S the sensitivities side by side. A source
    keeps its name; after targets it also carries what it now shares with the others.

    Examples
    --------
    >>> doubt = Doubt(np.array([0.1, 0.1]), flight={"calibration": np.array([1.0, 0.9])})
    >>> new, left = constrained(np.array([300.0, 310.0]), doubt, constrain(["calibration"], [[1.0]], [2.0], [0.5]))
    >>> new.round(2), left.flight["calibration"].round(3)
    (array([298.4 , 308.56]), array([0.447, 0.402]))
    """
    sources: Mapping[str, NDArray[np.floating]] = doubt.flight
    rows = [i for i, name in enumerate(known.names) if name in sources]
    if not rows:
        return value, doubt
    columns = [np.asarray(sources[known.names[i]]) for i in rows]
    shift = sum((c * value.dtype.type(known.estimate[i]) for i, c in zip(rows, columns, strict=True)), 0.0)
    new = {name: _mixed(columns, known.root[rows, j]) for j, name in enumerate(known.names)}
    return np.asarray(value - shift), Doubt(doubt.independent, doubt.frame, {**sources, **new})


def _mixed(columns: Sequence[NDArray[np.floating]], weights: Floats) -> NDArray[np.floating]:
    total: NDArray[np.floating] = np.zeros((), dtype=columns[0].dtype)
    for column, weight in zip(columns, weights, strict=True):
        total = np.asarray(total + column * column.dtype.type(weight))
    return total
