"""Several questions at once: the smallest set of kits that serves them all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations as choose
from math import comb

from groundglow.records.fit import Answer
from groundglow.records.kit import Combination

__all__ = ["Cover", "smallest_cover"]

#: Sets tried one by one before a good set is taken instead of the smallest.
MOST_SETS = 2_000_000


@dataclass(frozen=True)
class Cover:
    """A set of kits, and which of them serves each question.

    ``unserved`` names the questions that no kit serves. ``smallest`` is False where there were too many sets to
    try, and one was built up by taking the kit that serves most of what is left.
    """

    kits: tuple[Combination, ...]
    serves: Mapping[str, Combination]
    unserved: tuple[str, ...]
    smallest: bool


def smallest_cover(answers: Mapping[str, Sequence[Answer]]) -> Cover:
    """The smallest set of combinations of which each question has a fit one.

    Parameters
    ----------
    answers : mapping of question's name to its answers

    Returns
    -------
    Cover
        Of sets of one size the one with the lowest sum of ranks, then the first by name. Exact as long as no more
        than two million sets have to be tried; kits that another outdoes in every question are left out first.
    """
    ranks: dict[str, dict[str, int]] = {}
    kits: dict[str, Combination] = {}
    for name, found in answers.items():
        for a in found:
            if a.fit:
                kits[a.combination.id] = a.combination
                ranks.setdefault(a.combination.id, {})[name] = a.rank
    served = {name for row in ranks.values() for name in row}
    unserved = tuple(name for name in answers if name not in served)
    wanted = frozenset(served)
    chosen, exact = _search(_undominated(ranks), wanted) if wanted else ((), True)
    serves = {n: min((ranks[k][n], k) for k in chosen if n in ranks[k])[1] for n in answers if n in wanted}
    return Cover(tuple(kits[k] for k in chosen), {n: kits[k] for n, k in serves.items()}, unserved, exact)


def _undominated(ranks: Mapping[str, Mapping[str, int]]) -> dict[str, Mapping[str, int]]:
    """Kits that no other equals or outdoes in every question that they serve."""

    def beats(other: str, kit: str) -> bool:
        a, b = ranks[other], ranks[kit]
        as_good = all(name in a and a[name] <= rank for name, rank in b.items())
        return as_good and (len(a) > len(b) or any(a[n] < r for n, r in b.items()) or other < kit)

    return {kit: row for kit, row in ranks.items() if not any(beats(other, kit) for other in ranks if other != kit)}


def _search(ranks: Mapping[str, Mapping[str, int]], wanted: frozenset[str]) -> tuple[tuple[str, ...], bool]:
    names, tried = sorted(ranks), 0
    for size in range(1, len(wanted) + 1):
        tried += comb(len(names), size)
        if tried > MOST_SETS:
            return _greedy(ranks, wanted), False
        full = [s for s in choose(names, size) if wanted <= {n for kit in s for n in ranks[kit]}]
        if full:
            return min(full, key=lambda s: (_sum_of_ranks(s, ranks, wanted), s)), True
    return _greedy(ranks, wanted), False


def _sum_of_ranks(chosen: Sequence[str], ranks: Mapping[str, Mapping[str, int]], wanted: frozenset[str]) -> int:
    return sum(min(ranks[kit][name] for kit in chosen if name in ranks[kit]) for name in wanted)


def _greedy(ranks: Mapping[str, Mapping[str, int]], wanted: frozenset[str]) -> tuple[str, ...]:
    left, chosen = set(wanted), []
    while left:
        best = max(sorted(ranks), key=lambda kit: len(left & ranks[kit].keys()))
        chosen.append(best)
        left -= ranks[best].keys()
    return tuple(chosen)
