"""Lines shared out among sorties: by battery with the reserve kept, take-off points, several aircraft and days."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.records.plan import Line, Sortie, Waypoint, WaypointKind
from groundglow.steps.plan.legs import Leg, Legs, Place
from groundglow.steps.plan.route import NoWayError

Array = NDArray[np.float64]
__all__ = ["Crew", "Packed", "pack", "split_line"]


@dataclass
class Crew:
    """One aircraft with its batteries, as the work goes on.

    Parameters
    ----------
    name : str
    available : float
        Of one battery set with the reserve kept, s.
    batteries : list of float
        When each set is ready, s after the start of the day's work.
    charge, swap : float
        s.
    """

    name: str
    available: float
    batteries: list[float]
    charge: float = 0.0
    swap: float = 0.0
    free: float = 0.0
    day: int = 1

    def ready(self) -> tuple[int, float]:
        """Day, and time in it, of its next take-off."""
        return self.day, max(self.free, min(self.batteries))

    def book(self, day_length: float) -> tuple[int, float]:
        """Take the next take-off; on the next day when this one is over."""
        if self.ready()[1] + self.available > day_length and self.ready()[1] > 0:
            self.day, self.free, self.batteries = self.day + 1, 0.0, [0.0] * len(self.batteries)
        return self.ready()

    def flown(self, start: float, duration: float) -> None:
        """Note a sortie."""
        self.free = start + duration + self.swap
        used = self.batteries.index(min(self.batteries))
        self.batteries[used] = start + duration + self.charge


@dataclass
class Packed:
    """Sorties, the lines as they were split and numbered, what could not be flown, and what is to be known."""

    sorties: list[Sortie] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _Trip:
    """Lines with the legs before each and after the last."""

    take_off: str
    lines: tuple[Line, ...]
    legs: tuple[Leg, ...]

    @property
    def duration(self) -> float:
        return sum(leg.duration for leg in self.legs) + sum(line.seconds for line in self.lines)


def line_ends(line: Line) -> tuple[Place, Place]:
    """Where a line begins and ends, with its courses."""
    first, last = line.nodes[0], line.nodes[-1]
    if len(line.nodes) < 2:
        return _place(first, float(line.yaw[0])), _place(last, float(line.yaw[0]))
    out, home = line.nodes[1] - first, last - line.nodes[-2]
    return _place(first, math.atan2(out[0], out[1])), _place(last, math.atan2(home[0], home[1]))


def _place(node: Array, course: float) -> Place:
    return Place(float(node[0]), float(node[1]), float(node[2]), course)


def split_line(line: Line, station: int) -> tuple[Line, Line]:
    """A line in two that share the frame at a station.

    Examples
    --------
    >>> whole = Line(1, "", np.array([[0.0, 0, 50], [30.0, 0, 50]]), np.zeros(2), np.zeros(2), np.zeros(2),
    ...              np.array([0.0, 10.0, 20.0, 30.0]), 5.0)
    >>> a, b = split_line(whole, 1)
    >>> a.stations.tolist(), b.stations.tolist(), b.nodes[0].tolist()
    ([0.0, 10.0], [0.0, 10.0, 20.0], [10.0, 0.0, 50.0])
    """
    cut, along = float(line.stations[station]), line.distances
    columns = np.c_[line.nodes, line.ground, np.unwrap(line.yaw), line.pitch]
    here = np.array([np.interp(cut, along, c) for c in columns.T])
    before = np.vstack([columns[along < cut - 1e-9], here])
    after = np.vstack([here, columns[along > cut + 1e-9]])
    return (_from(line, before, line.stations[: station + 1]), _from(line, after, line.stations[station:] - cut))


def _from(line: Line, columns: Array, stations: Array) -> Line:
    return replace(line, nodes=columns[:, :3], ground=columns[:, 3], yaw=columns[:, 4], pitch=columns[:, 5],
                   stations=stations)  # fmt: skip


def pack(
    lines: Sequence[Line], take_offs: Mapping[str, Place], crews: Sequence[Crew], legs: Legs,
    *, day_length: float, worth: float, storage: Callable[[Sequence[Line]], float],
    place: Callable[[Array], tuple[Array, Array]],
    ground: Callable[[Array, Array], Array],
) -> Packed:  # fmt: skip
    """Fill sorties in the order of the lines; a line too long for a battery is flown in parts.

    Parameters
    ----------
    lines : sequence of Line
        In the order of flight.
    take_offs : mapping of str to Place
    crews : sequence of Crew
    legs : Legs
    day_length : float
        s of work a day.
    worth : float
        Share of the battery that must be left over for a part of a line to be flown as well.
    storage : callable
        Bytes of some lines.
    place : callable
        Longitudes and latitudes of x, y (n, 2).
    ground : callable
        Heights at x, y.
    """
    queue, done = deque(lines), Packed()
    left: dict[str, list[Line]] = {}
    while queue:
        crew = min(crews, key=lambda c: c.ready())
        trip = _filled(queue, take_offs, crew.available, legs, worth)
        if trip is None:
            line = queue.popleft()
            left.setdefault(_why_left(line, take_offs, crew.available, legs), []).append(line)
            continue
        numbered = tuple(replace(x, number=len(done.lines) + i) for i, x in enumerate(trip.lines, 1))
        done.lines += numbered
        day, start = crew.book(day_length)
        crew.flown(start, trip.duration)
        done.sorties.append(Sortie(
            len(done.sorties) + 1, crew.name, trip.take_off, day, start, tuple(x.number for x in numbered),
            waypoints(replace(trip, lines=numbered), place, ground), trip.duration, crew.available,
            sum(x.frames for x in numbered), storage(numbered),
        ))  # fmt: skip
    done.left += [_left(why, those, place) for why, those in left.items()]
    return done


def _why_left(line: Line, take_offs: Mapping[str, Place], available: float, legs: Legs) -> str:
    """Why a line cannot be flown from any take-off point."""
    reasons = []
    for base in take_offs.values():
        try:
            legs.between(base, line_ends(line)[0])
            legs.between(line_ends(line)[1], base)
        except NoWayError:
            reasons.append("shut off from every take-off point by no-fly areas: add a take-off point on its side of "
                           "them, or leave it out of the site.")  # fmt: skip
        except InputError as error:
            reasons.append(f"not reached: {error}")
        else:
            return (f"too far from every take-off point for a battery of {available / 60:.1f} min: add a nearer "
                    "take-off point or another battery.")  # fmt: skip
    return reasons[0]


def _left(why: str, lines: Sequence[Line], place: Callable[[Array], tuple[Array, Array]]) -> str:
    """Lines that are left for one reason, as one sentence."""
    (lon,), (lat,) = place(lines[0].nodes[:1, :2])
    length, at = sum(line.length for line in lines), f"{lat:.5f}, {lon:.5f}"
    if len(lines) == 1:
        return f"A line of {length:.0f} m from {at} is {why}"
    return f"{len(lines)} lines of {length:.0f} m together, the first from {at}, are {why}"


def _filled(
    queue: deque[Line], take_offs: Mapping[str, Place], available: float, legs: Legs, worth: float
) -> _Trip | None:
    """As many lines as a battery lasts for, taken from the queue; None when not even a part of one fits."""
    start, base = min(take_offs.items(), key=lambda t: _way_there(t[1], queue[0], legs))
    flown: list[Line] = []
    out: list[Leg] = []
    here, used = base, 0.0
    while queue:
        try:
            there = legs.between(here, line_ends(queue[0])[0])
        except InputError:
            break
        spare = available - used - there.duration
        line = _piece(queue, spare, base, legs, whole=bool(flown) and spare < worth * available)
        if line is None:
            break
        flown.append(line)
        out.append(there)
        used, here = used + there.duration + line.seconds, line_ends(line)[1]
    if not flown:
        return None
    return _Trip(start, tuple(flown), (*out, legs.between(here, base)))


def _way_there(base: Place, line: Line, legs: Legs) -> float:
    try:
        return legs.between(base, line_ends(line)[0]).duration
    except InputError:
        return math.inf


def _piece(queue: deque[Line], spare: float, base: Place, legs: Legs, *, whole: bool) -> Line | None:
    """The next line, or the part of it after which the battery still lasts for the way home."""
    line = queue[0]
    if _fits(line, spare, base, legs):
        return queue.popleft()
    if whole or line.frames < 3:
        return None
    low, high = 0, line.frames - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _fits(split_line(line, middle)[0], spare, base, legs) else (low, middle)
    if low < 1:
        return None
    first, queue[0] = split_line(line, low)
    return first


def _fits(line: Line, spare: float, base: Place, legs: Legs) -> bool:
    if line.seconds > spare:
        return False
    try:
        return line.seconds + legs.between(line_ends(line)[1], base).duration <= spare
    except InputError:
        return False


def waypoints(
    trip: _Trip, place: Callable[[Array], tuple[Array, Array]],
    ground: Callable[[Array, Array], Array],
) -> tuple[Waypoint, ...]:  # fmt: skip
    """The path of a trip from take-off to landing."""
    rows: list[tuple[float, ...]] = []
    kinds: list[tuple[WaypointKind, int | None]] = []
    now = 0.0
    for i, leg in enumerate(trip.legs):
        camera = trip.lines[i] if i < len(trip.lines) else trip.lines[-1]
        end = -1 if i < len(trip.lines) else None
        at = 0 if i < len(trip.lines) else -1
        outer = i in (0, len(trip.legs) - 1)
        for node, t in zip(leg.nodes[:end], leg.seconds[:end], strict=True):
            rows.append((*node, camera.yaw[at], camera.pitch[at], now + t, math.nan))
            kinds.append(("transit" if outer else "turn", None))
        now += leg.duration
        if i < len(trip.lines):
            line = trip.lines[i]
            before = line.hold * np.searchsorted(line.stations, line.distances - 1e-9)
            times = now + line.distances / line.speed + before
            paces = [line.speed] * (len(times) - 1) + [math.nan]
            for node, yaw, pitch, t, pace in zip(line.nodes, line.yaw, line.pitch, times, paces, strict=True):
                rows.append((*node, yaw, pitch, t, pace))
                kinds.append(("line", line.number))
            now += line.seconds
    kinds[0], kinds[-1] = ("take-off", None), ("landing", None)
    return _waypoints(np.array(rows), kinds, place, ground)


def _waypoints(
    table: Array, kinds: Sequence[tuple[WaypointKind, int | None]],
    place: Callable[[Array], tuple[Array, Array]], ground: Callable[[Array, Array], Array],
) -> tuple[Waypoint, ...]:  # fmt: skip
    lon, lat = place(table[:, :2])
    below = ground(table[:, 0], table[:, 1])
    steps = np.diff(table[:, :3], axis=0)
    lengths, times = np.linalg.norm(steps, axis=1), np.diff(table[:, 5])
    means = np.r_[np.divide(lengths, times, out=np.zeros_like(lengths), where=times > 1e-9), 0.0]
    speeds = np.where(np.isnan(table[:, 6]), means, table[:, 6])
    courses = np.r_[np.arctan2(steps[:, 0], steps[:, 1]), 0.0]
    return tuple(
        Waypoint(float(r[0]), float(r[1]), float(r[2]), float(b), float(lo), float(la), float(c) % (2 * math.pi),
                 float(r[3]) % (2 * math.pi), float(r[4]), float(v), float(r[5]), kind, number)
        for r, b, lo, la, c, v, (kind, number) in zip(table, below, lon, lat, courses, speeds, kinds, strict=True)
    )  # fmt: skip
