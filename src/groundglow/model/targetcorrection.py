"""Correction of a small target's rise for its size in the picture, with its doubt.

The true size of a target of a few pixels is not what the picture shows: blur widens it. The correction
therefore starts from the *apparent* diameter - of the area above half the peak - and finds the disc that
looks like that and how much of its rise a reading shows.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from groundglow.model.limits import require
from groundglow.model.pointspread import PointSpread
from groundglow.model.targetsize import PEAK, Reading, blurred_target, target_response

__all__ = [
    "BLUR_UNCERTAINTY",
    "ResponseTable",
    "TargetCorrection",
    "apparent_diameter",
    "response_table",
    "target_correction",
]

Array = NDArray[np.float64]

#: Relative standard uncertainty of a lens's blur where it was not measured (our estimate, no source).
BLUR_UNCERTAINTY = 0.25

_DIAMETERS = np.geomspace(0.4, 50.0, 28)


def apparent_diameter(diameter: float, spread: PointSpread) -> float:
    """Diameter that a disc seems to have in the picture: of a disc as large as the area above half its peak, px.

    Parameters
    ----------
    diameter : float
        True diameter, px, up to 100.
    spread : PointSpread

    Returns
    -------
    float
        px; for a point the width of the point spread, for a large disc its own diameter.

    Raises
    ------
    RangeError

    Notes
    -----
    2 sqrt(A / pi); A counted on `blurred_target`'s samples.

    References
    ----------
    Definition of our own, as `target_correction` uses it.

    Examples
    --------
    >>> spread = PointSpread(diffraction=1.0)
    >>> round(apparent_diameter(20.0, spread), 1), apparent_diameter(0.5, spread) > 1.2
    (20.0, True)
    """
    picture, place = blurred_target(diameter, diameter, spread)
    bright = np.count_nonzero(picture > 0.5 * picture.max())
    return float(2.0 * np.sqrt(bright / np.pi) * (place[1] - place[0]))


@dataclass(frozen=True)
class ResponseTable:
    """Response of discs by diameter for one point spread and reading.

    Parameters
    ----------
    diameter, apparent : ndarray, shape (n,)
        True and apparent diameter, px, rising.
    share, sd : ndarray, shape (n,)
        Share of the rise that a reading shows, and its standard deviation over the pixel grid.
    """

    diameter: Array
    apparent: Array
    share: Array
    sd: Array

    def true_diameter(self, apparent: ArrayLike) -> Array:
        """Diameter (px) of the disc that looks so large; the table's smallest where it looks like a point."""
        seen = np.asarray(apparent, dtype=float)
        inside = np.interp(seen, self.apparent, self.diameter)
        return np.asarray(np.where(seen > self.apparent[-1], seen, inside))

    def response(self, diameter: ArrayLike) -> tuple[Array, Array]:
        """Share and its standard deviation at true diameters, px; the loss falls as 1/d past the table."""
        size = np.asarray(diameter, dtype=float)
        inside = np.log(np.clip(size, self.diameter[0], self.diameter[-1]))
        past = np.minimum(self.diameter[-1] / np.maximum(size, 1e-9), 1.0)
        share, sd = (PchipInterpolator(np.log(self.diameter), y)(inside) for y in (self.share, self.sd))
        return 1.0 - (1.0 - share) * past, sd * past


@lru_cache(maxsize=64)
def response_table(spread: PointSpread, reading: Reading = PEAK) -> ResponseTable:
    """Responses of discs from 0.4 to 50 px for one point spread and reading; kept once made.

    Parameters
    ----------
    spread : PointSpread
    reading : Reading

    Returns
    -------
    ResponseTable

    Notes
    -----
    28 diameters in equal ratios, monotone cubic between them: 0.003 of the rise (tests).

    References
    ----------
    As `target_response`.

    Examples
    --------
    >>> table = response_table(PointSpread(diffraction=1.0))
    >>> round(float(table.response(10.0)[0]), 2)
    0.96
    """
    found = [target_response(d, d, spread, reading=reading) for d in _DIAMETERS]
    seen = np.maximum.accumulate([apparent_diameter(d, spread) for d in _DIAMETERS])
    return ResponseTable(_DIAMETERS, seen, np.array([r.share for r in found]), np.array([r.sd for r in found]))


class TargetCorrection(NamedTuple):
    """What to multiply a reading's rise by, and how sure that is; arrays of one shape.

    Parameters
    ----------
    factor : ndarray
        True rise over read rise, >= 1 but for a ring that catches the target.
    independent_sd : ndarray
        Standard uncertainty of the factor from the pixel grid and the apparent size: new in each picture.
    optics : ndarray
        Signed change of the factor for one standard uncertainty of the lens's blur: shared by the flight.
    diameter : ndarray
        True diameter, px.
    """

    factor: Array
    independent_sd: Array
    optics: Array
    diameter: Array


def target_correction(
    apparent: ArrayLike,
    apparent_sd: ArrayLike,
    spread: PointSpread,
    *,
    reading: Reading = PEAK,
    blur_uncertainty: float = BLUR_UNCERTAINTY,
) -> TargetCorrection:
    """Factor that makes a small target's read rise its true rise, with its doubt.

    For compact targets of even temperature. A long thin target loses by its width: use `target_response`
    with its sides. Where the apparent size is close to the point spread's own the factor is open upwards,
    and its doubt says so only in part: under three pixels report the find, not the temperature.

    Parameters
    ----------
    apparent : array_like
        Diameter of a disc as large as the area above half the peak, px, > 0.
    apparent_sd : array_like
        Its standard uncertainty, px: a third of a pixel where pixels were counted on quiet ground (the counting
        alone scatters by 0.1 to 0.25, tests), more in noise.
    spread : PointSpread
    reading : Reading
        How the rise was read.
    blur_uncertainty : float
        Relative standard uncertainty of diffraction and aberration widths.

    Returns
    -------
    TargetCorrection

    Raises
    ------
    RangeError
        An apparent size that is not above zero.

    Notes
    -----
    (1) d = true diameter of the apparent one; factor = 1 / response(d). (2) independent: hypot of
    sd(response) / response^2 and the factor's change to apparent - sd, the steeper side. (3) optics: half
    the factor's change from sharper to blurrier by the uncertainty, the same apparent size kept.

    References
    ----------
    JCGM 100:2008, 5.1.3 note 2 (uncertainty by finite differences).

    Examples
    --------
    >>> spread = PointSpread(diffraction=1.0)
    >>> ten, four = (target_correction(d, 0.5, spread) for d in (10.0, 4.0))
    >>> round(float(ten.factor), 2), round(float(four.factor), 2), bool(four.independent_sd > ten.independent_sd)
    (1.04, 1.12, True)
    """
    seen, seen_sd = np.broadcast_arrays(np.asarray(apparent, dtype=float), np.asarray(apparent_sd, dtype=float))
    require("apparent", seen, seen > 0, unit="px", allowed="> 0", why="a diameter in the picture", hint="")
    table = response_table(spread, reading)
    diameter = table.true_diameter(seen)
    share, sd = table.response(diameter)
    by_size = _factor(table, seen - seen_sd) - 1.0 / share
    sharper, blurrier = (
        _factor(response_table(_scaled(spread, s), reading), seen)
        for s in (1.0 - blur_uncertainty, 1.0 + blur_uncertainty)
    )
    return TargetCorrection(1.0 / share, np.hypot(sd / share**2, by_size), 0.5 * (blurrier - sharper), diameter)


def _factor(table: ResponseTable, apparent: Array) -> Array:
    return np.asarray(1.0 / table.response(table.true_diameter(apparent))[0])


def _scaled(spread: PointSpread, by: float) -> PointSpread:
    return replace(spread, diffraction=spread.diffraction * by, aberration=spread.aberration * by)
