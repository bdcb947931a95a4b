"""Figures that a plan is made with unless the brief says otherwise. Common practice, no source, where none is named."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

__all__ = ["CAUTIONS", "Ways"]

#: Said with every plan; local rules and the pilot decide.
CAUTIONS: Final = (
    "Local aviation rules, permissions and the pilot in command decide; this plan is advice.",
    "Heights rest on the terrain file: masts, trees, cranes and wires are not in it. Look before you fly.",
    "Keep the reserve; wind aloft is stronger than at the ground.",
)
PEOPLE: Final = "People are near: keep the distances that local rules ask, and somebody who watches the ground."
LIVE: Final = "Live parts are near: keep the operator's clearances; only those who are authorised go close."
SEARCH: Final = (
    "A search is led by those who are responsible for it; a low probability never says that nobody is there."
)


@dataclass(frozen=True)
class Ways:
    """How the aircraft is flown.

    Parameters
    ----------
    climb : float
        Greatest rate of climb and descent, m/s.
    slope : float
        Greatest climb over distance along a line.
    clearance : float
        Kept from no-fly areas, m.
    lowest : float
        Least height above ground, m.
    acceleration : float
        m/s2, of an aircraft that stops to turn.
    turn_rate : float
        rad/s, of one that turns in place.
    bank : float
        rad, of one that cannot stop.
    tolerance : float
        Of the height along a line, m.
    join : float
        Gaps in a line shorter than this are flown through with the camera on, m.
    """

    climb: float = 2.5
    slope: float = 0.3
    clearance: float = 5.0
    lowest: float = 8.0
    acceleration: float = 2.0
    turn_rate: float = math.radians(60.0)
    bank: float = math.radians(25.0)
    tolerance: float = 0.5
    join: float = 0.0
