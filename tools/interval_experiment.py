"""Read simulated readings whose truth is known, and hold the number of misses against the binomial distribution.

    python tools/interval_experiment.py [seeds]

prints the pooled count.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, fields

import numpy as np
from interval_truth import CELLS, CLASSES, RANGES, SKIES, stock
from numpy.typing import NDArray
from scipy.stats import binom

from groundglow.model.reading import reading_with_interval

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: The long form: seeds, and readings in each of the 64 cells of a seed.
SEEDS, EACH = 50, 13
#: First seed of the long form. Seeds below 20000 were looked at while the model was made, those from 20000 on with an
#: earlier truth; these were not.
FIRST_SEED = 21_000
#: Probability that an honest set of intervals passes all comparisons of one family.
CONFIDENCE = 0.99
#: Distances, m, by which readings are sorted.
DISTANCES = ((1.0, 10.0), (10.0, 50.0), (50.0, 150.0), (150.0, 500.0), (500.0, 5000.0))


@dataclass(frozen=True, eq=False)
class Outcome:
    """One row a reading: its cell, seed, kind of truth, distance, and how the interval did.

    ``other`` marks another response and emissivity with a spectrum.
    """

    cell: NDArray[np.intp]
    seed: NDArray[np.intp]
    other: Flags
    distance: Floats
    truth: Floats
    temperature: Floats
    low: Floats
    high: Floats
    first_order: Flags

    @property
    def below(self) -> Flags:
        """Truth below the interval."""
        return self.truth < self.low

    @property
    def above(self) -> Flags:
        """Truth above the interval."""
        return self.truth > self.high

    @property
    def silent(self) -> Flags:
        """Neither end is finite: nothing is said that could be wrong."""
        return np.isinf(self.low) & np.isinf(self.high)

    def telling(self) -> Outcome:
        """The readings that say something."""
        return Outcome(*(getattr(self, f.name)[~self.silent] for f in fields(Outcome)))

    @property
    def missed(self) -> Flags:
        """Truth outside."""
        return self.below | self.above

    def where(self, axis: int, value: int) -> Flags:
        """Readings of one class (axis 0), range (1) or sky (2)."""
        return np.array([cell[axis] for cell in CELLS])[self.cell] == value


def outcome(seeds: Iterable[int], each: int = EACH) -> Outcome:
    """Draw and read the readings of all seeds."""
    rows = []
    for seed in seeds:
        given = stock(seed, each)
        found = reading_with_interval(given.band, given.shown, given.situation, given.camera, seed=seed)
        seed_of = np.full(given.cell.size, seed)
        known = (given.cell, seed_of, given.other, given.situation.of("distance").arrays[0], given.truth)
        rows.append((*known, found.temperature, found.low, found.high, found.first_order))
    return Outcome(*(np.concatenate(column) for column in zip(*rows, strict=True)))


def run(seeds: int = SEEDS, each: int = EACH, workers: int | None = None) -> Outcome:
    """The experiment over processes, in the order of the seeds."""
    count = workers or min(2, os.cpu_count() or 1)
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(count, mp_context=context) as pool:
        parts = list(pool.map(outcome, [[FIRST_SEED + k] for k in range(seeds)], [each] * seeds))
    return Outcome(*(np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(Outcome)))


def allowed(readings: int, comparisons: int = 1, rate: float = 0.05) -> tuple[int, int]:
    """Least and greatest number of misses of honest intervals, where so many comparisons are made together.

    The central 99 % of the binomial distribution for one comparison; for more, the share that all of them together
    keep with 99 % (Sidak).
    """
    tail = (1 - CONFIDENCE ** (1 / comparisons)) / 2
    return int(binom.ppf(tail, readings, rate)), int(binom.ppf(1 - tail, readings, rate))


@dataclass(frozen=True)
class Count:
    """Misses of a part of the readings, and how many are allowed."""

    name: str
    misses: int
    readings: int
    allowed: tuple[int, int]

    @property
    def honest(self) -> bool:
        """Neither too many nor too few."""
        return self.allowed[0] <= self.misses <= self.allowed[1]

    @property
    def share(self) -> float:
        """Of misses."""
        return self.misses / self.readings


def counted(missed: Flags, parts: dict[str, Flags], rate: float = 0.05) -> list[Count]:
    """Counts of one family of comparisons."""
    sizes = {name: int(part.sum()) for name, part in parts.items()}
    return [
        Count(name, int(missed[part].sum()), sizes[name], allowed(sizes[name], len(parts), rate))
        for name, part in parts.items()
    ]


def cells(found: Outcome) -> list[Count]:
    """Every cell of class, range of temperature and sky."""
    names = [f"{CLASSES[c]}, {RANGES[t][0]:g}-{RANGES[t][1]:g} K, {SKIES[s]}" for c, t, s in CELLS]
    return counted(found.missed, {name: found.cell == i for i, name in enumerate(names)})


def truths(found: Outcome) -> list[Count]:
    """The two kinds of truth, pooled."""
    return counted(found.missed, {"as stated": ~found.other, "other response and spectra": found.other})


def margins(found: Outcome) -> list[Count]:
    """Classes, ranges, skies, distances and ways to the interval, each for the two kinds of truth."""
    kinds = {"as stated": ~found.other, "other": found.other}
    return counted(
        found.missed,
        {f"{name}; {kind}": part & where for name, part in _margins(found) for kind, where in kinds.items()},
    )


def _margins(found: Outcome) -> Iterator[tuple[str, Flags]]:
    ranges = [f"{low:g}-{high:g} K" for low, high in RANGES]
    for axis, names in enumerate((CLASSES, ranges, SKIES)):
        for i, name in enumerate(names):
            yield name, found.where(axis, i)
    for low, high in DISTANCES:
        yield f"{low:g}-{high:g} m", (found.distance >= low) & (found.distance < high)
    yield "first order", found.first_order
    yield "trials", ~found.first_order


def tails(found: Outcome) -> list[Count]:
    """Misses on either side: 2.5 % each."""
    size = found.cell.size
    sides = {"truth below": found.below, "truth above": found.above}
    return [Count(name, int(side.sum()), size, allowed(size, 2, 0.025)) for name, side in sides.items()]


if __name__ == "__main__":
    everything = run(int(sys.argv[1]) if len(sys.argv) > 1 else SEEDS).telling()
    whole = counted(everything.missed, {"all": np.ones(everything.cell.size, dtype=bool)})[0]
    print(f"{whole.misses} of {whole.readings} missed, {100 * whole.share:.2f} %; allowed {whole.allowed}")
