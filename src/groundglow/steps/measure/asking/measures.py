"""What to measure on site: the fewest measurements that halve the doubt of a reading."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Protocol

import numpy as np

__all__ = ["MEASURES", "Halving", "Measure", "halving"]


class Contributing(Protocol):
    """A line of a budget as far as it matters here."""

    @property
    def name(self) -> str:
        """Of the input."""

    @property
    def standard_uncertainty(self) -> float:
        """SI."""

    @property
    def contribution(self) -> float:
        """K."""


@dataclass(frozen=True)
class Measure:
    """Something that can be done on site, and the standard uncertainty it leaves of each input, SI.

    Figures are common practice, no source.
    """

    name: str
    words: str
    leaves: Mapping[str, float]


#: ``distance`` is a share of the distance, ``noise`` a share of itself; the others are standard uncertainties.
MEASURES = (
    Measure(
        "reference",
        "water or a dull painted board in the same frames, near the target's temperature, with a contact thermometer",
        {"calibration": 0.5, "drift": 0.1, "spectral response": 0.1},
    ),
    Measure("emissivity", "tape or dull paint of known emissivity on the target, read beside it", {"emissivity": 0.01}),
    Measure(
        "reflected",
        "crumpled foil laid as the target lies, read as if its emissivity were 1",
        {"reflected temperature": 2.0},
    ),
    Measure(
        "air", "shaded thermometer and hygrometer at the site", {"air temperature": 0.5, "relative humidity": 0.03}
    ),
    Measure("distance", "rangefinder, or poses with a surveyed ground height", {"distance": 0.02}),
    Measure("flat view", "a frame of an even surface, to take the fixed pattern off", {"pattern": 0.05}),
    Measure("more frames", "mean of 16 frames from a hover", {"noise": 0.25}),
)
#: Inputs whose figure above is a share: of the value (distance), or of the standard uncertainty itself.
OF_DISTANCE, OF_ITSELF = ("distance",), ("noise",)


@dataclass(frozen=True)
class Halving:
    """The fewest measures that halve a doubt.

    ``alone`` gives the standard uncertainty, K, that each measure alone would leave. ``together`` is empty where not
    even all of them halve it; ``best`` is what all leave.
    """

    now: float
    alone: tuple[tuple[Measure, float], ...]
    together: tuple[Measure, ...]
    then: float
    best: float

    @property
    def names(self) -> str:
        """What to measure together, in words."""
        *first, last = (m.name for m in self.together)
        return f"{', '.join(first)} and {last}" if first else last


def _left(line: Contributing, measures: Sequence[Measure], distance: float) -> float:
    """Contribution of one input after measuring, K."""
    leaves = [_standard(line, m.leaves[line.name], distance) for m in measures if line.name in m.leaves]
    if not leaves:
        return abs(line.contribution)
    if line.name == "spectral response":  # its line is in K already
        return min(abs(line.contribution), *leaves)
    if not line.standard_uncertainty > 0:
        return 0.0
    return abs(line.contribution) * min(1.0, min(leaves) / line.standard_uncertainty)


def _standard(line: Contributing, figure: float, distance: float) -> float:
    if line.name in OF_DISTANCE:
        return figure * distance
    return figure * line.standard_uncertainty if line.name in OF_ITSELF else figure


def _total(lines: Sequence[Contributing], measures: Sequence[Measure], distance: float) -> float:
    return float(np.sqrt(sum(_left(line, measures, distance) ** 2 for line in lines)))


def halving(lines: Sequence[Contributing], distance: float, *, goal: float = 0.5) -> Halving:
    """The smallest set of measures that brings the doubt down to a share of what it is.

    Parameters
    ----------
    lines : sequence
        Of a budget: name, standard uncertainty, contribution in K.
    distance : float
        m.
    goal : float
        Share of the standard uncertainty to reach.

    Returns
    -------
    Halving

    Notes
    -----
    First order: contributions shrink with their standard uncertainty. All sets are tried, small ones first; of
    equal size the one that leaves least.
    """
    now = _total(lines, (), distance)
    alone = tuple(sorted(((m, _total(lines, (m,), distance)) for m in MEASURES), key=lambda pair: pair[1]))
    best = _total(lines, MEASURES, distance)
    for size in range(1, len(MEASURES) + 1):
        sets = [(_total(lines, chosen, distance), chosen) for chosen in combinations(MEASURES, size)]
        then, chosen = min(sets, key=lambda pair: pair[0])
        if then <= goal * now:
            return Halving(now, alone, chosen, then, best)
    return Halving(now, alone, (), best, best)
