"""A stated quantity: value, standard uncertainty, the shape of its distribution, and what is possible at all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from groundglow.errors import InputError
from groundglow.model.limits import require

__all__ = ["NO_LIMITS", "Limits", "Stated", "as_stated", "cut_share", "deviation", "quantile"]

Floats = NDArray[np.float64]
#: Half width of a rectangular distribution in standard uncertainties (JCGM 101:2008, table 1).
HALF_WIDTH = 3.0**0.5


class Limits(NamedTuple):
    """Lowest and highest possible value."""

    low: float
    high: float


NO_LIMITS = Limits(-np.inf, np.inf)


@dataclass(frozen=True, eq=False)
class Stated:
    """Value and standard uncertainty of an input.

    Parameters
    ----------
    value, standard_uncertainty : array_like
        In SI, broadcast; the uncertainty is >= 0.
    distribution : {"normal", "rectangular"}
        Rectangular: equally probable within sqrt(3) standard uncertainties, such as limits of error on a data sheet.

    Raises
    ------
    RangeError
        When an uncertainty is negative or not finite.
    InputError
        For another distribution.

    Examples
    --------
    >>> Stated(0.95, 0.01).distribution
    'normal'
    """

    value: ArrayLike
    standard_uncertainty: ArrayLike = 0.0
    distribution: Literal["normal", "rectangular"] = "normal"

    def __post_init__(self) -> None:
        if self.distribution not in ("normal", "rectangular"):
            raise InputError(f"distribution is {self.distribution!r}; allowed 'normal' or 'rectangular'.")
        spread = np.asarray(self.standard_uncertainty, dtype=np.float64)
        require(
            "standard_uncertainty",
            np.where(np.isnan(spread), np.inf, spread),
            (spread >= 0) & np.isfinite(spread),
            unit="",
            allowed="finite and >= 0",
            why="a standard deviation",
            hint="Say how well the input is known.",
        )

    @property
    def arrays(self) -> tuple[Floats, Floats]:
        """Value and standard uncertainty as float64 arrays."""
        return np.asarray(self.value, dtype=np.float64), np.asarray(self.standard_uncertainty, dtype=np.float64)

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape of both, broadcast."""
        return np.broadcast_shapes(np.shape(self.value), np.shape(self.standard_uncertainty))

    def flat(self, shape: tuple[int, ...]) -> Stated:
        """The same at every element of a shape, as 1-D arrays."""
        value, spread = (np.broadcast_to(a, shape).ravel() for a in self.arrays)
        return Stated(value, spread, self.distribution)

    def part(self, where: slice | NDArray[np.intp]) -> Stated:
        """Some elements of 1-D arrays."""
        value, spread = self.arrays
        return Stated(value[where], spread[where], self.distribution)


def as_stated(given: Stated | ArrayLike) -> Stated:
    """The input itself, or a plain number as known without doubt.

    Examples
    --------
    >>> as_stated(0.95).standard_uncertainty
    0.0
    """
    return given if isinstance(given, Stated) else Stated(given)


def _ends(stated: Stated, limits: Limits) -> tuple[Floats, Floats]:
    """Probability below each limit (normal), or the ends of what is left of the rectangle."""
    value, spread = stated.arrays
    if stated.distribution == "rectangular":
        return np.maximum(value - HALF_WIDTH * spread, limits.low), np.minimum(value + HALF_WIDTH * spread, limits.high)
    safe = np.where(spread > 0, spread, 1.0)
    return ndtr((limits.low - value) / safe), ndtr((limits.high - value) / safe)


def quantile(stated: Stated, share: ArrayLike, limits: Limits = NO_LIMITS) -> Floats:
    """Value below which a share of the distribution lies, after what is impossible is cut off.

    Parameters
    ----------
    stated : Stated
    share : array_like
        0..1, broadcast against the stated arrays.
    limits : Limits
        Of what is possible, such as 0 and 1 for an emissivity.

    Returns
    -------
    ndarray

    Notes
    -----
    Normal: inverse of the cut distribution function. JCGM 101:2008, 6.4.2 and 6.4.7; the cut is common practice,
    no source.

    Examples
    --------
    >>> quantile(Stated(0.98, 0.02), [0.025, 0.5, 0.975], Limits(0.0, 1.0)).round(3)
    array([0.939, 0.976, 0.998])
    """
    value, spread = stated.arrays
    low, high = _ends(stated, limits)
    place = np.asarray(low + np.asarray(share) * (high - low))
    if stated.distribution == "rectangular":
        return place
    return np.asarray(np.where(spread > 0, np.clip(value + spread * ndtri(place), *limits), value))


def deviation(stated: Stated, limits: Limits = NO_LIMITS) -> Floats:
    """Root of the mean squared deviation from the stated value, after what is impossible is cut off.

    Notes
    -----
    Cut normal: u sqrt(1 + (a phi(a) - b phi(b)) / (Phi(b) - Phi(a))), a and b the limits in standard uncertainties
    (second moment by partial integration).

    Examples
    --------
    >>> deviation(Stated(0.98, 0.02), Limits(0.0, 1.0)).round(4), deviation(Stated(0.5, 0.02)).round(4)
    (np.float64(0.0169), np.float64(0.02))
    """
    value, spread = stated.arrays
    if stated.distribution == "rectangular":
        low, high = (end - value for end in _ends(stated, limits))
        return np.asarray(np.sqrt((low**2 + low * high + high**2) / 3))
    low, high = _ends(stated, limits)
    safe = np.where(spread > 0, spread, 1.0)
    tails = [_moment((limit - value) / safe) for limit in limits]
    return np.asarray(spread * np.sqrt(np.maximum(1 + (tails[0] - tails[1]) / np.maximum(high - low, 1e-300), 0)))


def _moment(x: Floats) -> Floats:
    """x phi(x), zero at infinity."""
    finite = np.clip(x, -40, 40)
    return np.asarray(finite * np.exp(-0.5 * finite**2) / np.sqrt(2 * np.pi))


def cut_share(stated: Stated, limits: Limits = NO_LIMITS) -> Floats:
    """Share of the stated distribution that lies outside of what is possible, 0..1.

    Examples
    --------
    >>> cut_share(Stated(0.98, 0.02), Limits(0.0, 1.0)).round(3)
    np.float64(0.159)
    """
    spread = stated.arrays[1]
    low, high = _ends(stated, limits)
    if stated.distribution == "rectangular":
        whole = np.where(spread > 0, 2 * HALF_WIDTH * spread, 1.0)
        return np.asarray(np.where(spread > 0, 1 - (high - low) / whole, 0.0))
    return np.asarray(np.where(spread > 0, 1 - (high - low), 0.0))
