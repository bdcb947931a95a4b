"""Which of the fit ones comes first, and which none other is better than in all that counts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from groundglow.records.fit import Answer

__all__ = ["pareto_front", "ranked"]


def _cost(answer: Answer, priced: bool) -> float:
    price = answer.combination.price
    return price if priced and price is not None else answer.combination.mass


def _order(answer: Answer, priced: bool) -> tuple[float, ...]:
    flights = answer.effort.flights if answer.effort else 0
    return flights, -sum(answer.hours), -round(answer.margin, 3), _cost(answer, priced)


def pareto_front(rows: Sequence[Sequence[float]]) -> list[bool]:
    """Whether no other row is at least as small in every column and smaller in one.

    Examples
    --------
    >>> pareto_front([(1, 5), (2, 2), (3, 3)])
    [True, True, False]
    """
    values = np.asarray(rows, dtype=float)
    return [not ((values <= row).all(axis=1) & (values < row).any(axis=1)).any() for row in values]


def ranked(answers: Sequence[Answer]) -> tuple[Answer, ...]:
    """Fit ones first, by the rule of the settings, numbered; then unfit ones, those with the fewest reasons first."""
    fit = [a for a in answers if a.fit]
    priced = bool(fit) and all(a.combination.price is not None for a in fit)
    fit.sort(key=lambda a: (*_order(a, priced), a.combination.id))
    front = pareto_front([_order(a, priced) for a in fit]) if fit else []
    first = [replace(a, rank=n, pareto=p) for n, (a, p) in enumerate(zip(fit, front, strict=True), start=1)]
    rest = sorted((a for a in answers if not a.fit), key=lambda a: (len(a.reasons), -a.margin, a.combination.id))
    return (*first, *rest)
