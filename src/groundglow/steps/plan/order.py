"""In which order runs are flown: to and fro within each connected part, parts by nearness."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from groundglow.steps.plan.runs import Run

__all__ = ["chains", "ordered"]


def chains(runs: list[Run]) -> list[list[Run]]:
    """Runs of neighbouring rows that face each other one to one: parts of the area without a hole between them."""
    rows: dict[int, list[Run]] = defaultdict(list)
    for run in runs:
        rows[run.row].append(run)
    made: list[list[Run]] = []
    before: list[list[Run]] = []
    for row in sorted(rows):
        here = sorted(rows[row], key=lambda r: r.start)
        facing = [[c for c in before if c[-1].row == row - 1 and _overlap(c[-1], run)] for run in here]
        now = []
        for run, found in zip(here, facing, strict=True):
            lone = len(found) == 1 and sum(found[0] in f for f in facing) == 1
            chain = found[0] if lone else []
            if not lone:
                made.append(chain)
            chain.append(run)
            now.append(chain)
        before = now
    return made


def _overlap(a: Run, b: Run) -> bool:
    return a.start < b.end and b.start < a.end


def ordered(runs: list[Run], start: tuple[float, float]) -> list[tuple[Run, bool]]:
    """Runs in the order of flight, each with whether it is flown against the heading.

    Parameters
    ----------
    runs : list of Run
    start : (float, float)
        u, v from where the aircraft comes.
    """
    left, here = chains(runs), np.asarray(start, dtype=float)
    flown: list[tuple[Run, bool]] = []
    while left:
        options = [(_way(here, chain, flip, back), i, flip, back)
                   for i, chain in enumerate(left) for flip in (False, True) for back in (False, True)]  # fmt: skip
        _, i, flip, back = min(options, key=lambda o: o[:2])
        chain = left.pop(i)
        for run in chain[::-1] if flip else chain:
            flown.append((run, back))
            back = not back
        last, against = flown[-1]
        here = np.array([last.start if against else last.end, last.offset])
    return flown


def _way(here: np.ndarray, chain: list[Run], flip: bool, back: bool) -> float:
    first = chain[-1] if flip else chain[0]
    return float(np.hypot(*(here - (first.end if back else first.start, first.offset))))
