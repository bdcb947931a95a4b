"""What departs from its surroundings in one frame."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import hypot

import numpy as np
from numpy.typing import NDArray

from groundglow.records.field import Field
from groundglow.records.finding import Candidate
from groundglow.steps.find.areas import area_regions
from groundglow.steps.find.fill import filled
from groundglow.steps.find.grow import spot_regions
from groundglow.steps.find.region import Region, equivalent_diameter, measured
from groundglow.steps.find.search import Search
from groundglow.steps.find.settings import FindSettings
from groundglow.steps.find.spots import spot_peaks

__all__ = ["answers", "candidates"]

#: Two spots of one frame upon each other are one when their diameters differ by no more than this ratio.
SAME_SIZE = 1.6
#: Blur makes small things look larger, noise cuts corners off: sizes are held to with this much room.
ROOM = {"spot": (0.5, 1.6), "area": (0.8, 1.25)}


def candidates(field: Field, asked: Sequence[Search], settings: FindSettings, frame: str) -> tuple[Candidate, ...]:
    """Departures of one frame that may answer one of the questions asked.

    Parameters
    ----------
    field : Field
        Values in K or counts with doubt and mask.
    asked : sequence of Search
        From `searches`, in px of this frame.
    settings : FindSettings
    frame : str
        Name that the candidates carry.

    Returns
    -------
    tuple of Candidate
        Strongest spots first, then areas. Deterministic.

    Examples
    --------
    A warm disc on flat ground with noise:

    >>> from groundglow.model.doubt import Doubt
    >>> rng = np.random.default_rng(1)
    >>> value = rng.normal(290, 0.05, (80, 80)).astype(np.float32)
    >>> value[38:43, 38:43] += 2
    >>> field = Field(value, Doubt(np.full(value.shape, 0.05)), np.zeros(value.shape, np.uint8), "t", "K")
    >>> asked = [Search("cell", "spot", (1,), 3.0, 12.0, 5.0, 0.5)]
    >>> [(round(c.column), round(c.row), c.area_px) for c in candidates(field, asked, FindSettings(), "f")]
    [(40, 40, 25)]
    """
    picture = filled(field)
    found = (measured(field, picture, r, frame) for r in _regions(field, picture, asked, settings))
    return _once([c for c in found if c is not None and any(answers(c, s, settings) for s in asked)])


def _once(found: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """Spots that two scales brought to the same pixels, once; the first stands for both."""
    kept: list[Candidate] = []
    for c in found:
        if c.shape_kind == "area" or not any(_same_spot(c, k) for k in kept):
            kept.append(c)
    return tuple(kept)


def _same_spot(a: Candidate, b: Candidate) -> bool:
    small, large = sorted((equivalent_diameter(a.area_px), equivalent_diameter(b.area_px)))
    near = hypot(a.column - b.column, a.row - b.row) <= max(0.5 * small, 1.0)
    return a.shape_kind == b.shape_kind and a.sign == b.sign and near and large <= SAME_SIZE * small


def answers(candidate: Candidate, search: Search, settings: FindSettings) -> bool:
    """Whether a candidate has the kind, sign, size, strength and rise that a search asks for.

    A single sight needs only a share of the strength asked for: merging judges by all sights.
    """
    size = equivalent_diameter(candidate.area_px)
    least, most = ROOM[search.shape_kind]
    return (
        candidate.shape_kind == search.shape_kind
        and candidate.sign in search.signs
        and least * search.smallest_px <= size <= max(most * search.largest_px, 4.0)
        and candidate.contrast_noise >= settings.trial_share * search.sigmas
        and candidate.sign * candidate.rise >= search.least_rise
    )


def _regions(
    field: Field, picture: NDArray[np.float32], asked: Sequence[Search], settings: FindSettings
) -> Iterator[Region]:
    shares = {"spot": settings.peak_share, "area": settings.trial_share}
    asked = [replace(s, sigmas=shares[s.shape_kind] * s.sigmas) for s in asked]
    spots = _joined([s for s in asked if s.shape_kind == "spot"])
    noise = float(np.nanmedian(field.doubt.independent))
    for search in spots:
        yield from spot_regions(picture, spot_peaks(picture, search, settings, noise), settings)
    for search in asked:
        if search.shape_kind == "area":
            yield from area_regions(picture, search, settings, noise)


def _joined(asked: Iterable[Search]) -> tuple[Search, ...]:
    """One search that covers all: the picture is gone through once for all spots."""
    all_of = list(asked)
    if not all_of:
        return ()
    return (
        replace(
            all_of[0],
            signs=tuple(sorted({sign for s in all_of for sign in s.signs}, reverse=True)),
            smallest_px=min(s.smallest_px for s in all_of),
            largest_px=max(s.largest_px for s in all_of),
            sigmas=min(s.sigmas for s in all_of),
        ),
    )
