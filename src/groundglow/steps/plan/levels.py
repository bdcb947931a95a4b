"""Levels to set in the air: isotherm band and crossing level of a target in one hour, and what they find.

Background and target are taken as normal distributions of apparent temperature: the background with clutter and
noise, the target with its spread, noise and the doubt of the contrast. Levels are given over the background as it
is read on the spot (its own doubt then drops out), and as absolute temperatures for the hour, where the doubt of the
background's level and the camera's error come on top.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtr

from groundglow.model.doubt import combined
from groundglow.steps.plan.when import Day

__all__ = ["Level", "Levels", "Shares", "crossing", "levels_at", "shares_above"]

_BAND: Final = 2.0  # standard deviations of the target to the far end of the band


@dataclass(frozen=True)
class Shares:
    """Expected shares of target pixels found and of background pixels let through, 0..1."""

    detected: float
    false_cues: float


@dataclass(frozen=True)
class Level:
    """A level over (or under) the background, K, from whom, and what it finds: set on the spot or blindly."""

    name: str
    rise: float
    source: str
    relative: Shares
    absolute: Shares


@dataclass(frozen=True)
class Levels:
    """Levels of one hour.

    ``time`` UTC s; ``hot``: the target is warmer. ``background`` K as the camera shows it with ``background_sd``
    of its level; ``crossing`` rise K where a pixel is as likely target as background; ``band`` the isotherm's two
    ends, rises K. ``expected`` is the crossing with its shares; ``others`` are published and one's own levels.
    """

    time: float
    hot: bool
    background: float
    background_sd: float
    contrast: float
    crossing: float
    band: tuple[float, float]
    expected: Level
    others: tuple[Level, ...]


def crossing(rise: float, spread: float, clutter: float) -> float:
    """Level over a background of zero at which target and background are equally likely, between the two.

    Parameters
    ----------
    rise : float
        Of the mean target, any sign, K.
    spread, clutter : float
        Standard deviations of target and background, > 0, K.

    Notes
    -----
    The root between the means of N(x; 0, clutter) = N(x; rise, spread). Where the wider one is nowhere the less likely
    between them (a rise small against the spreads), half the rise.

    Examples
    --------
    >>> crossing(4.0, 1.0, 1.0), round(crossing(-4.0, 2.0, 0.5), 3)
    (2.0, -1.103)
    """
    a = 1.0 / clutter**2 - 1.0 / spread**2
    b = 2.0 * rise / spread**2
    c = -(rise**2) / spread**2 - 2.0 * np.log(spread / clutter)
    if abs(a) < 1e-12:
        root = [-c / b] if b else []
    else:
        under = b * b - 4.0 * a * c
        root = [(-b + s * np.sqrt(under)) / (2.0 * a) for s in (1.0, -1.0)] if under >= 0 else []
    inside = [r for r in root if 0.0 < r / rise < 1.0] if rise else []
    return float(inside[0]) if inside else 0.5 * rise


def shares_above(level: float, rise: float, spread: float, clutter: float) -> Shares:
    """Shares of target and background pixels beyond a level, on the target's side of the background.

    Examples
    --------
    >>> found = shares_above(2.0, 4.0, 1.0, 1.0)
    >>> round(found.detected, 4), round(found.false_cues, 4)
    (0.9772, 0.0228)
    """
    side = 1.0 if rise >= 0 else -1.0
    return Shares(float(ndtr(side * (rise - level) / spread)), float(ndtr(-side * level / clutter)))


def levels_at(day: Day, time: float, own: Mapping[str, float] | None = None) -> Levels:
    """Levels for one moment.

    Parameters
    ----------
    day : Day
    time : float
        UTC s within the day.
    own : mapping of str to float, optional
        The user's own levels by name: rises over the background, K, signed.
    """
    at = int(np.argmin(np.abs(day.time - time)))
    rise, noise = float(day.contrast[at]), float(day.noise[at])
    doubt, spread = float(day.contrast_sd[at]), day.pair.number("spread_k")
    wide = float(np.sqrt(spread**2 + noise**2 + doubt**2))
    shift = float(np.hypot(combined(day.level_doubt)[at], day.eye.accuracy / np.sqrt(3.0)))

    def level(name: str, over: float, source: str) -> Level:
        blind = shares_above(over, rise, float(np.hypot(wide, shift)), float(np.hypot(noise, shift)))
        return Level(name, over, source, shares_above(over, rise, wide, noise), blind)

    middle = crossing(rise, wide, noise)
    far = rise + np.sign(rise) * _BAND * wide
    side = 1.0 if rise >= 0 else -1.0
    others = [level(n, side * f.value, f.source) for n, f in day.pair.published.items()]
    others += [level(n, v, "your own") for n, v in (own or {}).items()]
    expected = level("crossing", middle, "the two predicted distributions, equally likely")
    ends = (min(middle, float(far)), max(middle, float(far)))
    return Levels(
        float(day.time[at]),
        rise >= 0,
        float(day.seen_background[at]),
        shift,
        rise,
        middle,
        ends,
        expected,
        tuple(others),
    )
