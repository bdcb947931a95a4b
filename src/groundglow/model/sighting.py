"""One target seen by one camera through the air: probability of a task by distance, and the way back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from groundglow.errors import RangeError
from groundglow.model.optics import require_positive
from groundglow.model.pointspread import PointSpread
from groundglow.model.search import sweep_width
from groundglow.model.seeing import probability_of_task, resolved_frequency

__all__ = ["Sighting", "cycles_on_target", "largest_distance", "nadir_sweep_width", "task_probability"]

Array = NDArray[np.float64]
_PIXEL_ONLY = PointSpread()
_FARTHEST = 1e5  # m; nothing on the ground is looked at from farther by an aircraft of this trade


def _clear(distance: Array) -> ArrayLike:
    return np.ones_like(distance)


@dataclass(frozen=True)
class Sighting:
    """What seeing a target hangs on.

    Parameters
    ----------
    size : float
        Critical dimension (`critical_dimension`), m.
    rise : float
        Apparent rise over the surroundings at the target, K.
    ifov : float
        Of a pixel, rad.
    noise : float
        Standard deviation of noise, residual pattern and clutter in a pixel, K.
    spread : PointSpread
        Blur; default the pixel alone.
    transmittance : callable
        Of the air by distances in m: array to array. Default clear air. Take it from `air_path`: air is not
        Beer-Lambert.
    """

    size: float
    rise: float
    ifov: float
    noise: float
    spread: PointSpread = _PIXEL_ONLY
    transmittance: Callable[[Array], ArrayLike] = _clear

    def __post_init__(self) -> None:
        for name, unit in (("size", "m"), ("ifov", "rad"), ("noise", "K")):
            require_positive(name, getattr(self, name), unit, "a figure of target or camera")


def cycles_on_target(sighting: Sighting, distance: ArrayLike) -> Array:
    """Line pairs that the whole chain resolves across the target.

    Parameters
    ----------
    sighting : Sighting
    distance : array_like
        m.

    Returns
    -------
    ndarray

    Raises
    ------
    RangeError

    Notes
    -----
    resolved frequency (cycles per pixel, at most 0.5) x size / (IFOV x distance).

    References
    ----------
    Johnson 1958: line pairs across the critical dimension; one line pair is two pixels at best.

    Examples
    --------
    A person of 0.95 m, 5 K warmer, at 100 m with 0.92 mrad: about ten pixels, five line pairs:

    >>> float(cycles_on_target(Sighting(0.95, 5.0, 0.92e-3, 0.06), 100.0).round(2))
    5.16
    """
    far = require_positive("distance", distance, "m", "from camera to target")
    contrast = sighting.rise * np.asarray(sighting.transmittance(far), dtype=float)
    return np.asarray(
        resolved_frequency(contrast, sighting.noise, sighting.spread) * sighting.size / (sighting.ifov * far)
    )


def task_probability(sighting: Sighting, distance: ArrayLike, cycles_for_half: float) -> Array:
    """Probability of a task at a distance.

    Parameters
    ----------
    sighting : Sighting
    distance : array_like
        m.
    cycles_for_half : float
        `JOHNSON_CYCLES` of the task.

    Returns
    -------
    ndarray
        0..1.

    Raises
    ------
    RangeError

    See Also
    --------
    largest_distance : the inverse.

    Notes
    -----
    `probability_of_task` of `cycles_on_target`.

    References
    ----------
    As these two.

    Examples
    --------
    >>> from groundglow.model.seeing import JOHNSON_CYCLES
    >>> person = Sighting(0.95, 5.0, 0.92e-3, 0.06)
    >>> task_probability(person, [100.0, 400.0], JOHNSON_CYCLES["recognise"]).round(2)
    array([0.71, 0.04])
    """
    return probability_of_task(cycles_on_target(sighting, distance), cycles_for_half)


def largest_distance(sighting: Sighting, probability: float, cycles_for_half: float, *, nearest: float = 1.0) -> float:
    """Largest distance at which a task still has a probability, m.

    Parameters
    ----------
    sighting : Sighting
    probability : float
        Asked for, 0 < probability < 1.
    cycles_for_half : float
        `JOHNSON_CYCLES` of the task.
    nearest : float
        Where the search begins, m.

    Returns
    -------
    float
        m; 0 where even ``nearest`` is too far.

    Raises
    ------
    RangeError

    See Also
    --------
    task_probability : the inverse.

    Notes
    -----
    Root between ``nearest`` and 100 km, to 1e-6 of the distance; transmittance must not rise with distance.

    References
    ----------
    As `task_probability`.

    Examples
    --------
    >>> from groundglow.model.seeing import JOHNSON_CYCLES
    >>> person = Sighting(0.95, 5.0, 0.92e-3, 0.06)
    >>> round(largest_distance(person, 0.5, JOHNSON_CYCLES["recognise"]), 1)
    129.1
    """
    if not 0 < probability < 1:
        raise RangeError("probability", probability, "", "0 < probability < 1", "a share", "Check percent.")

    def spare(log_distance: float) -> float:
        return float(task_probability(sighting, np.exp(log_distance), cycles_for_half)) - probability

    low, high = np.log(nearest), np.log(_FARTHEST)
    if spare(low) < 0:
        return 0.0
    return _FARTHEST if spare(high) > 0 else float(np.exp(brentq(spare, low, high, xtol=1e-9)))


def nadir_sweep_width(
    sighting: Sighting, height: float, half_angle: float, cycles_for_half: float, *, steps: int = 201
) -> float:
    """Sweep width of a camera that looks straight down along a track, m.

    Parameters
    ----------
    sighting : Sighting
    height : float
        Above the ground, m.
    half_angle : float
        Half the field of view across the track, rad, below pi / 2.
    cycles_for_half : float
        `JOHNSON_CYCLES` of the task.
    steps : int
        Places across the strip at which the probability is worked out.

    Returns
    -------
    float
        m; at most the width of the strip seen.

    Raises
    ------
    RangeError

    Notes
    -----
    `sweep_width` of `task_probability` at the slant distances within the strip; nothing is seen outside.

    References
    ----------
    As `sweep_width`.

    Examples
    --------
    >>> person = Sighting(0.95, 5.0, 0.92e-3, 0.06)
    >>> round(nadir_sweep_width(person, 60.0, 0.287, 1.0), 1), round(nadir_sweep_width(person, 60.0, 0.287, 4.0), 1)
    (35.4, 34.0)
    """
    if not 0 < half_angle < 0.5 * np.pi:
        raise RangeError("half_angle", half_angle, "rad", "0 to pi / 2", "half a field of view")
    aside = float(require_positive("height", height, "m", "above the ground")) * np.tan(half_angle)
    lateral = np.linspace(-aside, aside, steps)
    return sweep_width(lateral, task_probability(sighting, np.hypot(lateral, height), cycles_for_half))
