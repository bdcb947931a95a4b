"""How the aircraft is flown, by the rules of flying; what is said with every plan."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from groundglow.kit.rules import flying_rules
from groundglow.records.kit import Figure

__all__ = ["CAUTIONS", "LEVEL", "LIVE", "PEOPLE", "SEARCH", "TERRAIN", "UNKNOWN", "Ways", "usual_ways"]

#: Said with every plan; local rules and the pilot decide.
CAUTIONS: Final = (
    "Local aviation rules, permissions and the pilot in command decide; this plan is advice.",
    "Keep the reserve; wind aloft is stronger than at the ground.",
)
TERRAIN: Final = "Heights rest on the terrain file: masts, trees, cranes and wires are not in it. Look before you fly."
LEVEL: Final = (
    "The ground is taken as level at {:.0f} m: slopes, masts, trees, cranes and wires are not known. "
    "Look before you fly."
)
UNKNOWN: Final = (
    "Nobody said how high the ground is: it is taken as level, and heights are above it, not above the sea. Give "
    "terrain or ground_height. Slopes, masts, trees, cranes and wires are not known. Look before you fly."
)
PEOPLE: Final = "People are near: keep the distances that local rules ask, and somebody who watches the ground."
LIVE: Final = "Live parts are near: keep the operator's clearances; only those who are authorised go close."
SEARCH: Final = (
    "A search is led by those who are responsible for it; a low probability never says that nobody is there."
)


@dataclass(frozen=True)
class Ways:
    """How the aircraft is flown and the plan judged: rules of `groundglow.kit.rules`, in SI.

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
    transit_share : float
        Of the greatest airspeed, on the way to and from the lines.
    coarser : float
        Share by which the best frame of 95 % of the site may be coarser than asked.
    unseen : float
        Share of the reachable site that may stay in no frame.
    worth : float
        Share of a battery that must be left for a part of a line.
    """

    climb: float
    slope: float
    clearance: float
    lowest: float
    acceleration: float
    turn_rate: float
    bank: float
    tolerance: float
    join: float
    transit_share: float
    coarser: float
    unseen: float
    worth: float


def usual_ways(rules: Mapping[str, Figure] | None = None, **said: float) -> Ways:
    """Ways by the rules of flying, with what is said otherwise in SI.

    Examples
    --------
    >>> usual_ways(slope=0.1).slope, round(usual_ways().bank, 3)
    (0.1, 0.436)
    """
    by = {name: float(figure.value) for name, figure in (rules or flying_rules()).items()}
    usual = Ways(
        climb=by["climb_m_s"], slope=by["slope"], clearance=by["clearance_m"], lowest=by["lowest_m"],
        acceleration=by["acceleration_m_s2"], turn_rate=math.radians(by["turn_rate_deg_s"]),
        bank=math.radians(by["bank_deg"]), tolerance=by["tolerance_m"], join=by["join_m"],
        transit_share=by["transit_share"], coarser=by["coarser"], unseen=by["unseen"], worth=by["worth"],
    )  # fmt: skip
    return replace(usual, **said)
