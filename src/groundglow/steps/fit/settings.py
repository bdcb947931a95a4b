"""What the step takes where the brief does not say: figures of our own choice or of common practice, in one place."""

from __future__ import annotations

from typing import Final

__all__ = [
    "ENDURANCE_LOST_S",
    "FORWARD_OVERLAP",
    "IN_HAND",
    "LEAST_PIXELS",
    "LOOK_S",
    "LOWEST_WING",
    "RULE",
    "SIDE_OVERLAP",
    "SIZE_SD",
    "SMEAR_LIMIT",
    "TURN_LOSS",
]

#: Motion during one thermal time constant that a survey keeps under, px (our choice: it costs 3 pixels a tenth).
SMEAR_LIMIT: Final = 0.5
#: A distance is chosen so that this much more would still do.
IN_HAND: Final = 0.2
#: Below this many pixels across the shorter side a target is detected only (house rule).
LEAST_PIXELS: Final = 3.0
#: Standard uncertainty of a target's stated size, as a share (common practice, no source).
SIZE_SD: Final = 0.1
#: Lowest height over ground of an aircraft that cannot hover, m (common practice, no source).
LOWEST_WING: Final = 30.0
#: Share of a strip that the next one shows again: for seeing, and for measuring (common practice, no source).
SIDE_OVERLAP: Final = {"see": 0.3, "measure": 0.7}
FORWARD_OVERLAP: Final = {"see": 0.5, "measure": 0.8}
#: Share of the time over an area that goes into turns (common practice, no source).
TURN_LOSS: Final = 0.15
#: Climb, way there and back, landing, s a flight (common practice, no source).
ENDURANCE_LOST_S: Final = 180.0
#: Time to place the aircraft and look at one point, s (common practice, no source).
LOOK_S: Final = 60.0
#: How fit combinations are ranked.
RULE: Final = (
    "Fewest flights first; then most hours of the day that work; then the widest margin; then the lower price "
    "where all prices are known, else the lighter payload."
)
