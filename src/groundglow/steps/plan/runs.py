"""A straight line over an area, and how lines and frames are spread."""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = ["Layout", "Run", "looks_at_border"]


@dataclass(frozen=True)
class Layout:
    """Where lines and frames are put.

    Parameters
    ----------
    heading : float
        rad from north over east.
    spacing, base : float
        Greatest distance between lines and between frames, m.
    footprint : (float, float)
        Across and along, m.
    beyond : float
        How far frames go on beyond the area's ends, m.
    join : float
        Gaps in a line up to this are flown through, m.
    """

    heading: float
    spacing: float
    base: float
    footprint: tuple[float, float]
    beyond: float = 0.0
    join: float = 0.0

    @property
    def looks(self) -> tuple[int, int]:
        """Lines that pass a place on the border, and frames of one that see it, when lines are laid so."""
        (across, along), spacing, base = self.footprint, self.spacing, self.base
        return looks_at_border(1 - spacing / across), looks_at_border(1 - base / along)


@dataclass(frozen=True)
class Run:
    """A straight line from ``start`` to ``end`` along the heading, at ``offset`` to the right, m; ``row`` is its place
    among the parallel lines.
    """

    row: int
    offset: float
    start: float
    end: float


def looks_at_border(overlap: float) -> int:
    """Lines (or frames) that see a point on the border of an area, and at least so many within it.

    Notes
    -----
    Half a footprint holds ``0.5 / (1 - overlap)`` whole steps; one more stands on the border itself.

    Examples
    --------
    >>> [looks_at_border(o) for o in (0.3, 0.5, 0.7, 0.8)]
    [1, 2, 2, 3]
    """
    return math.floor(0.5 / (1.0 - overlap) + 1e-9) + 1
