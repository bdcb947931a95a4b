"""Search: what the lines put into each segment, the probability to have found, and what remains."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely

from groundglow.errors import InputError
from groundglow.model.search import coverage_factor, cumulative_probability, random_search_probability
from groundglow.records.plan import Line, Segment, Sortie

__all__ = ["search_segments"]


def search_segments(
    segments: Mapping[str, Any], lines: Sequence[Line], sorties: Sequence[Sortie], width: float,
    *, presence: Mapping[str, float] | None = None,
) -> tuple[Segment, ...]:  # fmt: skip
    """Probability of detection by segment, cumulative over the sorties.

    Parameters
    ----------
    segments : mapping of str to shapely polygon
        m.
    lines, sorties
    width : float
        Sweep width, m.
    presence : mapping of str to float, optional
        Probability that the sought is in each; default by area.

    Notes
    -----
    The formula of random search, a careful lower figure; sorties count as independent looks.

    References
    ----------
    Koopman 1946 (`groundglow.model.search`).
    """
    shares = _presence(segments, presence)
    by_number = {line.number: line for line in lines}
    found = []
    for name, shape in segments.items():
        lengths = [_length_in(shape, [by_number[n] for n in s.lines]) for s in sorties]
        area = float(shapely.area(shape))
        each = random_search_probability(coverage_factor(width, lengths, area)) if lengths else np.zeros(0)
        after = tuple(float(cumulative_probability(each[: i + 1])) for i in range(len(each)))
        total = after[-1] if after else 0.0
        cover = float(coverage_factor(width, sum(lengths), area))
        found.append(Segment(name, area, sum(lengths), cover, total, after, shares[name], shares[name] * (1.0 - total)))
    return tuple(found)


def _length_in(shape: Any, lines: Sequence[Line]) -> float:
    ways = [shapely.LineString(x.nodes[:, :2]) for x in lines if len(x.nodes) > 1]
    return float(np.sum(shapely.length(shapely.intersection(np.array(ways, dtype=object), shape)))) if ways else 0.0


def _presence(segments: Mapping[str, Any], given: Mapping[str, float] | None) -> dict[str, float]:
    if not given:
        whole = sum(float(shapely.area(s)) for s in segments.values())
        return {name: float(shapely.area(s)) / whole for name, s in segments.items()}
    missing = sorted(segments.keys() - given.keys())
    if missing or sum(given[name] for name in segments) > 1 + 1e-9:
        raise InputError(
            f"presence: {'missing for ' + ', '.join(missing) if missing else 'the shares add up to more than 1'}; "
            "give each segment a share, together at most 1."
        )
    return {name: float(given[name]) for name in segments}
