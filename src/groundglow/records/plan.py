"""How a site is flown: lines, waypoints, sorties, and the proof that they cover it.

Places are metres east and north in the plane of the plan's `Origin`; heights ``z`` are above the reference of the
terrain (sea level, for ordinary height models) and ``ground`` is the terrain below on the same reference, so that
``z - ground`` is above ground. Angles are radians: courses and yaw from north over east, pitch above the horizon.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from groundglow.records.log import Origin

__all__ = ["KINDS", "Line", "Plan", "PlanKind", "Proof", "Segment", "Sortie", "Spread", "Waypoint", "WaypointKind"]

Array = NDArray[np.float64]
PlanKind = Literal["area", "along", "around", "face", "search"]
WaypointKind = Literal["take-off", "transit", "line", "turn", "landing"]
#: What each kind of plan flies, in words.
KINDS: Final[Mapping[str, str]] = {
    "area": "parallel lines over an area",
    "along": "along a line, on both sides",
    "around": "around a point",
    "face": "along an upright or tilted face",
    "search": "parallel lines spaced by sweep width",
}


@dataclass(frozen=True)
class Waypoint:
    """A point of a sortie's path.

    Parameters
    ----------
    x, y, z, ground : float
        m.
    lon_deg, lat_deg : float
        WGS 84.
    course : float
        Direction of flight onward from here, rad.
    yaw, pitch : float
        Of the camera, rad.
    speed : float
        Over ground, from here on, m/s.
    time : float
        Since take-off, s.
    kind : str
        What begins here.
    line : int or None
        Number of the line flown from here.
    """

    x: float
    y: float
    z: float
    ground: float
    lon_deg: float
    lat_deg: float
    course: float
    yaw: float
    pitch: float
    speed: float
    time: float
    kind: WaypointKind
    line: int | None = None

    @property
    def above_ground(self) -> float:
        """m."""
        return self.z - self.ground


@dataclass(frozen=True)
class Line:
    """One run of the camera: a path with frames along it.

    Parameters
    ----------
    number : int
        From 1, in the order of flight.
    zone : str
        Part of the site that it is for.
    nodes : ndarray, shape (n, 3)
        x, y, z of its corners, m, n >= 1.
    ground : ndarray, shape (n,)
        Terrain below the corners, m.
    yaw, pitch : ndarray, shape (n,)
        Of the camera at the corners, rad; linear between them.
    stations : ndarray, shape (frames,)
        Distance from the first corner at which each frame is taken, m.
    speed : float
        Over ground, m/s.
    hold : float
        Time that each frame takes on top where the aircraft stops for it, slowing down and gathering speed among it, s.
    """

    number: int
    zone: str
    nodes: Array
    ground: Array
    yaw: Array
    pitch: Array
    stations: Array
    speed: float
    hold: float = 0.0

    @property
    def distances(self) -> Array:
        """Of the corners from the first, along the path, m; shape (n,)."""
        steps = np.linalg.norm(np.diff(self.nodes, axis=0), axis=1)
        return np.concatenate([[0.0], np.cumsum(steps)])

    @property
    def length(self) -> float:
        """m."""
        return float(self.distances[-1])

    @property
    def frames(self) -> int:
        """Number of frames."""
        return len(self.stations)

    @property
    def seconds(self) -> float:
        """Time along it."""
        return self.length / self.speed + self.hold * self.frames

    @property
    def times(self) -> Array:
        """Of the frames, after the start of the line, s; shape (frames,)."""
        return np.asarray(self.stations / self.speed + self.hold * (np.arange(self.frames) + 0.5))

    @property
    def poses(self) -> tuple[Array, Array]:
        """Position (frames, 3) in m and yaw, pitch (frames, 2) in rad of every frame."""
        along, columns = self.distances, np.c_[self.nodes, np.unwrap(self.yaw), self.pitch].T
        found = np.array([np.interp(self.stations, along, column) for column in columns]).T
        return found[:, :3], found[:, 3:]


@dataclass(frozen=True)
class Sortie:
    """One flight on one battery set.

    Parameters
    ----------
    number : int
        From 1.
    aircraft : str
        Id of the kit.
    take_off : str
        Name of the point that it starts from and lands at.
    day : int
        From 1.
    start : float
        s after the start of that day's work.
    lines : tuple of int
        Numbers of the lines, in the order flown.
    waypoints : tuple of Waypoint
    duration, available : float
        From take-off to landing, and what the battery gives in this wind with the reserve kept, s.
    frames : int
    storage : float
        bytes.
    """

    number: int
    aircraft: str
    take_off: str
    day: int
    start: float
    lines: tuple[int, ...]
    waypoints: tuple[Waypoint, ...]
    duration: float
    available: float
    frames: int
    storage: float


@dataclass(frozen=True)
class Spread:
    """How a figure is spread over the site: 5 %, 50 % and 95 % of the area lie below; the greatest."""

    low: float
    middle: float
    high: float
    most: float


@dataclass(frozen=True)
class Proof:
    """What the planned poses show of the site, worked out anew from them and the terrain.

    Parameters
    ----------
    cell : float
        Spacing of the points that were looked at, m.
    area, reachable : float
        Of the site, and of it without what must not be flown over, m2.
    seen : mapping of int to float
        Share of the reachable site in at least so many frames.
    sampling : Spread
        Of the best frame of each point, coarsest direction, m per pixel.
    incidence : Spread
        Angle of sight to the surface's normal in that frame, rad.
    view_range : Spread
        Largest less smallest angle of sight from the vertical among the frames of a point, rad.
    above_ground : (float, float)
        Least height of the lines, and greatest of all that is flown, the ways to and between lines among it, m.
    steepest : float
        Climb over distance of the lines.
    no_fly : float
        Length of all paths within no-fly areas, m.
    counts : ndarray, shape (rows, columns)
        Frames that show each point of the site; -1 outside it.
    corner, step : (float, float)
        x, y of ``counts[0, 0]``, and its steps along columns and rows, m.
    places : ndarray, shape (n, 2)
        x, y of each count in their order where they are no raster of the ground, but of a line, a point or a face, m.
    """

    cell: float
    area: float
    reachable: float
    seen: Mapping[int, float]
    sampling: Spread
    incidence: Spread
    view_range: Spread
    above_ground: tuple[float, float]
    steepest: float
    no_fly: float
    counts: NDArray[np.int32]
    corner: tuple[float, float]
    step: tuple[float, float]
    places: Array = field(default_factory=lambda: np.zeros((0, 2)))


@dataclass(frozen=True)
class Segment:
    """Part of a search: what was put into it and what it may have found.

    Parameters
    ----------
    name : str
    area, length : float
        m2; m of lines within it.
    coverage : float
        Times over that the sweep width covers it on average; what lines' pictures show beside it is not counted.
    detection : float
        Probability that one who is there is found, all sorties together.
    after : tuple of float
        The same after each sortie.
    presence, remains : float
        Probability that the sought is here before the search; that it is here and unfound after all sorties.
    """

    name: str
    area: float
    length: float
    coverage: float
    detection: float
    after: tuple[float, ...]
    presence: float
    remains: float


@dataclass(frozen=True)
class Plan:
    """How and where to fly.

    Parameters
    ----------
    name : str
    kind : str
        A key of `KINDS`.
    origin : Origin
        Of the plane that all places are in.
    kit : str
        Camera, lens and aircraft, ids.
    height : float
        Above the highest ground in each frame, or from the face, m.
    sampling : float
        At that height, m per pixel.
    speed : float
        Over ground along the lines, m/s.
    heading : float
        Of the first line, rad.
    spacing, base : float
        Between lines; between frames, m.
    interval : float
        Between frames, s.
    forward_overlap, side_overlap : float
        As flown, shares.
    smear : float
        px of the detector's lag length at that speed.
    lines, sorties : tuple
    proof : Proof or None
    segments : tuple of Segment
        Of a search.
    unmet : tuple of str
        Why the brief is not met; empty when it is.
    cautions, notes : tuple of str
    site, no_fly, take_offs : list of mapping
        GeoJSON geometries in longitude and latitude; of take-offs with their names.
    settings : mapping
        Further figures that the plan was made with, for the card.
    """

    name: str
    kind: PlanKind
    origin: Origin
    kit: str
    height: float
    sampling: float
    speed: float
    heading: float
    spacing: float
    base: float
    interval: float
    forward_overlap: float
    side_overlap: float
    smear: float
    lines: tuple[Line, ...]
    sorties: tuple[Sortie, ...]
    proof: Proof | None
    segments: tuple[Segment, ...] = ()
    unmet: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    site: tuple[Mapping[str, Any], ...] = ()
    no_fly: tuple[Mapping[str, Any], ...] = ()
    take_offs: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    settings: Mapping[str, float] = field(default_factory=dict)

    @property
    def met(self) -> bool:
        """Whether the plan does what the brief asks."""
        return not self.unmet

    @property
    def above_sea(self) -> bool:
        """Whether heights are above the terrain's reference; above the ground where nobody said how high that is."""
        return bool(self.settings.get("ground_given", 1.0))

    @property
    def frames(self) -> int:
        """Of all lines."""
        return sum(line.frames for line in self.lines)

    @property
    def length(self) -> float:
        """Of all lines, m."""
        return sum(line.length for line in self.lines)

    @property
    def seconds(self) -> float:
        """In the air, all sorties."""
        return sum(sortie.duration for sortie in self.sorties)

    @property
    def storage(self) -> float:
        """Of all frames, bytes."""
        return sum(sortie.storage for sortie in self.sorties)
