"""What would change the answer: for one combination, the nearest change of one thing that turns it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.records.fit import Answer, Ask, Change
from groundglow.records.kit import Combination
from groundglow.steps.fit.air import FARTHEST
from groundglow.steps.fit.answer import answers_of
from groundglow.steps.fit.evaluate import evaluate
from groundglow.steps.fit.limits import kit_reasons
from groundglow.steps.fit.sightreasons import sight_reasons

Array = NDArray[np.float64]

__all__ = ["Turn", "turn", "turns_of"]

#: How finely heights and speeds are tried: shares of the height, and m/s.
_LOWER = np.concatenate([np.linspace(0.98, 0.1, 45), np.array([0.05])])
_HIGHER = np.concatenate([np.linspace(1.02, 2.0, 50), np.geomspace(2.1, 100.0, 60)])
_SPEEDS = np.arange(0.5, 30.5, 0.5)
#: Unfit ones among which one is looked for that a single change turns.
_NEAR = 12


_SIGHT = frozenset({"pixels", "contrast", "smear", "range", "accuracy", "stand-off", "hour"})


@dataclass(frozen=True)
class Turn:
    """One combination, whether it is fit now, and the nearest changes of one thing that turn that."""

    answer: Answer
    changes: tuple[Change, ...]


def turns_of(ask: Ask, answers: Sequence[Answer], others: Sequence[Combination]) -> tuple[Turn, ...]:
    """What turns the best fit one, and the unfit one that is nearest to being fit.

    Nearest: what it sees alone stands in the way, by the fewest reasons and the least; of the nearest few the first
    that one change turns.
    """
    fit = [a for a in answers if a.fit][:1]
    near = sorted((a for a in answers if not a.fit), key=_away)[:_NEAR]
    tried = (turn(ask, a, others) for a in near)
    unfit = next((t for t in tried if t.changes), turn(ask, near[0], others) if near else None)
    return (*(turn(ask, a, others) for a in fit), *((unfit,) if unfit else ()))


def _away(answer: Answer) -> tuple[bool, int, float, str]:
    other = any(reason.kind not in _SIGHT for reason in answer.reasons)
    return other, len(answer.reasons), -answer.margin, answer.combination.id


def turn(ask: Ask, of: Answer, others: Sequence[Combination] = ()) -> Turn:
    """The nearest change of height, speed, hour, lens, aircraft and accuracy that turns an answer, where there is one.

    Parameters
    ----------
    ask : Ask
    of : Answer
        To ``ask``.
    others : sequence of Combination
        Among which another lens, or another aircraft under the same camera and lens, is looked for.
    """
    found = (
        _height(ask, of),
        _speed(ask, of),
        _hour(ask, of),
        _lens(ask, of, others),
        _aircraft(ask, of, others),
        _accuracy(ask, of),
    )
    return Turn(of, tuple(change for change in found if change is not None))


def _fits(ask: Ask, kit: Combination, *, distances: Array, speeds: Array | None = None) -> list[bool]:
    """Whether a kit is fit at each of these distances (and speeds)."""
    wide = replace(
        ask, nearest=min(ask.nearest, float(distances.min())), highest=max(ask.highest, float(distances.max()))
    )
    of = evaluate(wide, [kit] * distances.size, distances=distances, speeds=speeds)
    there = [replace(wide, distance=float(d)) for d in distances]
    return [not kit_reasons(there[i], kit) and not sight_reasons(of, i) for i in range(distances.size)]


def _height(ask: Ask, of: Answer) -> Change | None:
    now, upright = of.at.distance, ask.work.shape not in ("point", "face")
    tries = now * (_HIGHER if of.fit else _LOWER)
    tries = tries[(tries <= FARTHEST) & (tries >= ask.nearest)]
    if not tries.size:
        return None
    there = next(
        (float(d) for d, fit in zip(tries, _fits(ask, of.combination, distances=tries), strict=True) if fit != of.fit),
        None,
    )
    if there is None:
        return None
    way = ("higher" if upright else "farther away") if of.fit else ("lower" if upright else "closer")
    beyond = f", beyond the limit of {ask.highest:.0f} m" if there > ask.highest else ""
    move = abs(there - now)
    return Change("height", f"{_metres(move)} m {way}: at {_metres(there)} m{beyond}", move)


def _metres(value: float) -> str:
    return f"{value:.0f}" if value >= 10 else f"{value:.1f}"


def _speed(ask: Ask, of: Answer) -> Change | None:
    aircraft, now = of.combination.aircraft, of.at.speed
    if aircraft is None or ask.work.shape == "point":
        return None
    low, high = aircraft.speeds
    speeds = _SPEEDS[(_SPEEDS >= low) & (_SPEEDS <= high)]  # noqa: SIM300 - the array is the variable here
    speeds = speeds[speeds > now + 0.2] if of.fit else speeds[speeds < now - 0.2][::-1]
    if not speeds.size:
        return None
    still = np.full(speeds.shape, of.at.distance)
    found = _fits(ask, of.combination, distances=still, speeds=speeds)
    there = next((float(v) for v, fit in zip(speeds, found, strict=True) if fit != of.fit), None)
    if there is None:
        return None
    move, way = abs(there - now), "faster" if of.fit else "slower"
    return Change("speed", f"{move:.1f} m/s {way}: at {there:.1f} m/s", move)


def _hour(ask: Ask, of: Answer) -> Change | None:
    """The nearest hour with the other answer, as far as only what is seen decides."""
    if not of.hours or of.at.hour is None or (not of.fit and any(r.kind not in _SIGHT for r in of.reasons)):
        return None
    now = of.at.hour
    away = {h: (h - now + 12) % 24 - 12 for h, works in enumerate(of.hours) if works != of.fit}
    if not away:
        return None
    hour, by = min(away.items(), key=lambda item: (abs(item[1]), item[1] < 0))
    way = "later" if by > 0 else "earlier"
    return Change("hour", f"{abs(by)} h {way}: at {hour:02d}:00 local solar time", float(abs(by)))


def _lens(ask: Ask, of: Answer, others: Sequence[Combination]) -> Change | None:
    kit = of.combination
    same = [c for c in others if c.camera == kit.camera and c.aircraft == kit.aircraft and c.lens != kit.lens]
    if not same:
        return None
    held = replace(ask, distance=of.at.distance, highest=max(ask.highest, of.at.distance))
    answers = answers_of(evaluate(held, same))
    turned = [a for a in answers if a.fit != of.fit]
    if not turned:
        return None

    def step(a: Answer) -> float:
        return abs(a.combination.lens.focal_length - kit.lens.focal_length)

    nearest = min(turned, key=step)
    way = "longer" if nearest.combination.lens.focal_length > kit.lens.focal_length else "shorter"
    return Change("lens", f"the {way} lens: {nearest.combination.lens.name}", step(nearest) * 1e3)


def _aircraft(ask: Ask, of: Answer, others: Sequence[Combination]) -> Change | None:
    """Of an unfit one: the aircraft that carries the same camera and lens for the task, the lightest that would do."""
    kit = of.combination
    same = [
        c for c in others if (c.camera, c.lens) == (kit.camera, kit.lens) and c.aircraft not in (None, kit.aircraft)
    ]
    if of.fit or not same:
        return None
    fit = [a.combination.aircraft for a in answers_of(evaluate(ask, same)) if a.fit and a.combination.aircraft]
    if not fit:
        return None
    nearest = min(fit, key=lambda aircraft: (aircraft.payload, aircraft.id))
    return Change("aircraft", f"under the {nearest.name}", nearest.payload)


def _accuracy(ask: Ask, of: Answer) -> Change | None:
    """Half width that would have to be allowed where the interval alone stands in the way."""
    if ask.task != "measure" or of.fit or [r.kind for r in of.reasons] != ["accuracy"] or of.at.interval is None:
        return None
    more = of.at.interval - (ask.accuracy or 0.0)
    return Change("accuracy", f"allow ±{of.at.interval:.1f} K", more)
