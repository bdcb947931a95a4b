"""A pair of frames tied: a verified homography, and how much the two differ cell by cell."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

from groundglow.records.tie import Tie
from groundglow.steps.register.description import Description
from groundglow.steps.register.match import match
from groundglow.steps.register.overlap import Cells, cell_table, overlap_difference
from groundglow.steps.register.pairs import Candidate
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["Link", "read_links", "tie_pair", "write_links"]

#: A tie with fewer cells of overlap says nothing of levels.
LEAST_CELLS = 6


@dataclass(frozen=True)
class Link:
    """A tie with the cells that its level difference comes from (see `Cells`); fine pattern removed."""

    tie: Tie
    cells: Cells
    crossing: bool


def tie_pair(
    candidate: Candidate, a: Description, b: Description, settings: RegisterSettings | None = None
) -> Link | None:
    """Tie two frames, or None when no homography between them is proven.

    Parameters
    ----------
    candidate : Candidate
    a, b : Description
        Of the frames that the candidate names.
    settings : RegisterSettings, optional

    Returns
    -------
    Link or None
        Its level difference still holds the large-scale pattern; solving replaces it.
    """
    settings = settings or RegisterSettings()
    found = match(a.features, b.features, a.shape, expected=candidate.expected, settings=settings)
    if found is None:
        return None
    cells, overlap = cell_table(a.blocks, b.blocks, found.homography, block=a.block_px, size=settings.cell_blocks)
    if len(cells) < LEAST_CELLS:
        return None
    difference, sd = overlap_difference(cells[:, 4], cells[:, 5])
    tie = Tie(
        a=candidate.a,
        b=candidate.b,
        homography=tuple(float(x) for x in found.homography.ravel()),
        inliers=found.inliers,
        rms_px=found.rms_px,
        overlap=overlap,
        level_difference=difference,
        level_difference_sd=sd,
        held_out=candidate.held_out,
    )
    return Link(tie, cells, candidate.crossing)


def write_links(path: Path, links: Sequence[Link]) -> None:
    """Write links as a NumPy archive; equal links give equal bytes."""
    ties = json.dumps([[asdict(x.tie), x.crossing, len(x.cells)] for x in links], sort_keys=True)
    cells = np.concatenate([np.zeros((0, 6), np.float32), *(x.cells for x in links)])
    with path.open("wb") as file:
        np.savez(file, ties=np.array(ties), cells=cells)


def read_links(path: Path) -> tuple[Link, ...]:
    """The links that `write_links` wrote."""
    with np.load(path) as raw:
        listed, cells = json.loads(str(raw["ties"])), raw["cells"]
    ends = np.cumsum([count for *_, count in listed]).astype(int)
    parts = np.split(cells, ends[:-1]) if listed else []
    return tuple(
        Link(Tie(**{**tie, "homography": tuple(tie["homography"])}), part, crossing)
        for (tie, crossing, _), part in zip(listed, parts, strict=True)
    )
