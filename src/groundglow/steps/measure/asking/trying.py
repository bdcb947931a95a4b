"""The interval of one reading by trials, doubled until it stands still, beside that of first order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from groundglow.model.reading import CameraDoubt, Situation
from groundglow.model.reading.effects import effects
from groundglow.model.reading.trials import trial_interval
from groundglow.model.response import Band

__all__ = ["Trials", "try_out"]

#: Trials at first and at most; powers of two.
LEAST, MOST = 4096, 1 << 18
#: Significant digits of the standard uncertainty that the ends of the interval shall hold.
DIGITS = 2


@dataclass(frozen=True)
class Trials:
    """Interval by trials, K (ends may be infinite); how many; whether its ends stood still; whether first order's
    interval agrees with it as the model's readings ask.
    """

    low: float
    high: float
    count: int
    settled: bool
    agree: bool


def _tolerance(standard_uncertainty: float) -> float:
    """Half a unit of the last significant digit (JCGM 101:2008, 7.9.2)."""
    return float(0.5 * 10.0 ** (np.floor(np.log10(max(standard_uncertainty, 1e-6))) - DIGITS + 1))


def try_out(
    band: Band,
    apparent_temperature: float,
    situation: Situation,
    camera: CameraDoubt,
    *,
    first_order: bool,
    seed: int = 1,
) -> Trials:
    """Trials of one reading.

    Parameters
    ----------
    band, apparent_temperature, situation, camera
        As for :func:`groundglow.model.reading.reading_with_interval`, scalars.
    first_order : bool
        What that function found.
    seed : int
        Equal seeds give equal trials.

    Notes
    -----
    The number of trials is doubled until no end moves by more than half a unit of the second significant digit of
    the standard uncertainty (after JCGM 101:2008, 7.9.2 and 7.9.4, with an even sequence in place of blocks).
    """
    scene, errors = situation.flat((1,)), camera.flat((1,))
    found = effects(band, np.array([apparent_temperature]), scene, errors)
    tolerance = _tolerance(float(found.standard_uncertainty[0]))
    before = None
    count = LEAST
    while True:
        low, high = (float(end[0]) for end in trial_interval(found, scene, errors, count=count, seed=seed))
        settled = before is not None and _same(before, (low, high), tolerance)
        if settled or count >= MOST:
            return Trials(low, high, count, settled, first_order)
        before, count = (low, high), 2 * count


def _same(before: tuple[float, float], after: tuple[float, float], tolerance: float) -> bool:
    """Ends that moved little; two open ends are the same."""
    return all(a == b or abs(a - b) <= tolerance for a, b in zip(before, after, strict=True))
