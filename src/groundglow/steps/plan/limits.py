"""Are the limits of height kept on the whole way, not on the lines alone? Worked out from the waypoints."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from groundglow.frames.places import LocalPlane
from groundglow.records.log import Origin
from groundglow.records.plan import Sortie
from groundglow.steps.plan.ground import Ground, path_points

__all__ = ["Flown", "broken_limits", "eased_ways", "flown_heights"]

Array = NDArray[np.float64]
#: What is flown, by the kind of waypoint that it begins with.
_PARTS: Final = {
    "line": "Lines",
    "turn": "Ways between lines",
    "take-off": "Ways to and from the take-off point",
    "transit": "Ways to and from the take-off point",
}
#: Less than this beyond a limit is rounding, m.
SLACK: Final = 0.1


@dataclass(frozen=True)
class Flown:
    """The highest points of one part of what is flown: ``above`` ground and ``top`` above the terrain's reference, m.

    ``ground`` lies below the top; ``above_at`` and ``top_at`` are x, y, m.
    """

    part: str
    above: float
    above_at: tuple[float, float]
    top: float
    top_at: tuple[float, float]
    ground: float


def flown_heights(sorties: Sequence[Sortie], ground: Ground) -> tuple[Flown, ...]:
    """Highest points of lines, ways between them, and ways to and from take-off points."""
    found: dict[str, list[Array]] = {}
    for sortie in sorties:
        nodes = np.array([(w.x, w.y, w.z) for w in sortie.waypoints])
        points, leg = path_points(nodes, ground)
        parts = np.array([_PARTS.get(w.kind, "") for w in sortie.waypoints])[leg]
        table = np.c_[points, ground.at(points[:, 0], points[:, 1])]
        for part in set(parts.tolist()) - {""}:
            found.setdefault(part, []).append(table[parts == part])
    return tuple(_highest(part, np.vstack(found[part])) for part in dict.fromkeys(_PARTS.values()) if part in found)


def _highest(part: str, table: Array) -> Flown:
    above = table[:, 2] - table[:, 3]
    far, top = int(np.nanargmax(above)), int(np.argmax(table[:, 2]))
    return Flown(part, float(above[far]), (float(table[far, 0]), float(table[far, 1])),
                 float(table[top, 2]), (float(table[top, 0]), float(table[top, 1])), float(table[top, 3]))  # fmt: skip


def broken_limits(flown: Sequence[Flown], origin: Origin, *, highest: float, ceiling: float) -> tuple[str, ...]:
    """What breaks a limit, by how much, where, and what helps."""
    plane, said = LocalPlane(origin), []
    for f in flown:
        lines = f.part == "Lines"
        if f.above > highest + SLACK:
            said.append(f"{f.part} reach {f.above:.0f} m above ground at {_place(plane, f.above_at)}; allowed "
                        f"{highest:.0f} m. {_FALLS[lines]}")  # fmt: skip
        if f.top > ceiling + SLACK:
            said.append(f"{f.part} reach {f.top:.0f} m at {_place(plane, f.top_at)}, where the ground is at "
                        f"{f.ground:.0f} m; the ceiling is {ceiling:.0f} m. {_RISES[lines]}")  # fmt: skip
    return tuple(said)


def eased_ways(sorties: Sequence[Sortie], *, height: float, slope: float) -> tuple[str, ...]:
    """Says where ways to and between lines are lower than ``height`` above ground, m, or steeper than ``slope``."""
    lowest, steepest = height, slope
    for sortie in sorties:
        for a, b in pairwise(sortie.waypoints):
            across = math.hypot(b.x - a.x, b.y - a.y)
            if a.kind != "line" and across > 1.0:
                lowest = min(lowest, a.above_ground, b.above_ground)
                steepest = max(steepest, abs(b.z - a.z) / across)
    said = [f"down to {lowest:.0f} m above ground"] * (lowest < height - 1.0)
    said += [f"climb and sink by up to {100 * steepest:.0f} % of the distance, slowly"] * (steepest > 1.05 * slope)
    return (f"To keep the limits of height, ways to and between lines {'are flown ' * (lowest < height - 1.0)}"
            f"{' and '.join(said)}.",) if said else ()  # fmt: skip


_FALLS: Final = (
    "The ground falls away faster than the aircraft can safely come down: take off on the site's side of it, or plan "
    "the parts on either side by themselves.",
    "Allow steeper climbs, fly lower, or plan the parts by themselves.",
)
_RISES: Final = (
    "Take off where no such ground lies in between, or mark it as no-fly so that the way goes round it.",
    "Fly lower, or plan the high part by itself under another ceiling.",
)


def _place(plane: LocalPlane, at: tuple[float, float]) -> str:
    lon, lat = plane.to_geographic(*at)
    return f"{float(lat):.5f}, {(float(lon) + 180.0) % 360.0 - 180.0:.5f}"
