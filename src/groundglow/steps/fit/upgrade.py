"""What an upgrade buys: from the kit that is owned to the next one, in reach, time and price."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from groundglow.records.fit import Answer, Ask
from groundglow.records.kit import Combination
from groundglow.steps.fit.answer import answers_of
from groundglow.steps.fit.evaluate import evaluate

__all__ = ["Upgrade", "upgrades"]

#: A gain in reach below this is none.
LEAST_GAIN = 0.05


@dataclass(frozen=True)
class Upgrade:
    """From one combination to another.

    ``new`` names the parts that would have to be bought by their ids, ``names`` in words; ``gain`` is the reach of the
    asked task over that of the owned kit (infinite where that has none); ``price`` of the new parts, None when
    not known.
    """

    owned: Answer
    next: Answer
    new: tuple[str, ...]
    gain: float
    price: float | None
    names: tuple[str, ...] = ()


def upgrades(ask: Ask, owned: Combination, others: Sequence[Combination]) -> tuple[Upgrade, ...]:
    """The next steps up from an owned kit: those that reach farther and for which no smaller change reaches as far.

    Ordered by how many parts are new, then by their price where all are known, else by the payload. Combinations that
    no change of distance makes fit (mount, payload and the like) are left out.
    """
    kits = [owned, *(c for c in others if c != owned)]
    expected = evaluate(ask, kits)
    answers = answers_of(expected)
    reach = expected.asked_reach
    steps = [
        _step(answers[0], answers[i], float(reach[0]), float(reach[i]))
        for i in range(1, len(kits))
        if _flies(answers[i]) and reach[i] > (1.0 + LEAST_GAIN) * reach[0]
    ]
    priced = all(s.price is not None for s in steps)
    steps.sort(key=lambda s: (len(s.new), _cost(s, priced), -s.gain, _lift(s), s.next.combination.id))
    kept: list[Upgrade] = []
    for step in steps:
        if all(step.gain > k.gain * (1.0 + LEAST_GAIN) for k in kept if len(k.new) <= len(step.new)):
            kept.append(step)
    return tuple(kept)


def _cost(step: Upgrade, priced: bool) -> float:
    return step.price if priced and step.price is not None else step.next.combination.mass


def _lift(step: Upgrade) -> float:
    """Of two aircraft the smaller one will do."""
    aircraft = step.next.combination.aircraft
    return aircraft.payload if aircraft else 0.0


def _flies(answer: Answer) -> bool:
    sight = {"pixels", "contrast", "smear", "accuracy", "range", "stand-off", "hour"}
    return all(reason.kind in sight for reason in answer.reasons)


def _step(owned: Answer, following: Answer, before: float, after: float) -> Upgrade:
    a, b = owned.combination, following.combination
    pairs = (("camera", a.camera, b.camera), ("lens", a.lens, b.lens), ("aircraft", a.aircraft, b.aircraft))
    changed = [(name, new) for name, old, new in pairs if new is not None and new != old]
    prices = [new.offer.price for _, new in changed]
    price = None if None in prices else float(sum(p for p in prices if p is not None))
    gain = after / before if before > 0 else float("inf")
    ids, names = (tuple(f"{name} {new.id}" for name, new in changed), tuple(new.name for _, new in changed))
    return Upgrade(owned, following, ids, gain, price, names)
