"""What is asked of a plan, with everything in metres of its plane."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from groundglow.errors import InputError
from groundglow.records.kit import Combination
from groundglow.records.log import Origin
from groundglow.records.plan import PlanKind
from groundglow.steps.plan.air import Wind
from groundglow.steps.plan.ground import Ground
from groundglow.steps.plan.settings import Ways, usual_ways

__all__ = ["Face", "PlanAsk", "Search"]


@dataclass(frozen=True)
class Face:
    """An upright or tilted face on the side to the left of its foot line as drawn: it looks to the right.

    ``height`` is along the face, m; ``tilt`` from level, rad: pi/2 is upright; ``foot`` above the ground, m.
    ``aside`` turns the camera from square on, downwards, rad: glass mirrors the camera itself when seen square on.
    """

    height: float
    tilt: float = math.pi / 2
    foot: float = 0.0
    aside: float = 0.0


@dataclass(frozen=True)
class Search:
    """``width``: sweep width, m; ``detection``: asked probability; ``segments``: shapes; ``presence`` in them.

    ``tighter``: lines are so many times closer than sweep width over coverage, for what is lost beside borders.
    """

    width: float
    detection: float = 0.9
    segments: Mapping[str, Any] = field(default_factory=dict)
    presence: Mapping[str, float] = field(default_factory=dict)
    tighter: float = 1.0

    def __post_init__(self) -> None:
        if not (self.width > 0 and 0 < self.detection < 1):
            raise InputError(
                f"a search for a probability of {100 * self.detection:g} % with a sweep width of {self.width:g} m: "
                "allowed are more than 0 m, and above 0 and below 100 %."
            )


@dataclass(frozen=True)
class PlanAsk:
    """One question of planning.

    Parameters
    ----------
    name : str
    kind : str
        A `PlanKind`.
    shape : shapely geometry
        Area, line or point, m.
    origin : Origin
    kit : Combination
    ground : Ground
    ground_given : bool
        Whether anybody said how high it is; else heights are above it.
    take_offs : mapping of str to (float, float)
        m.
    no_fly : shapely geometry or None
    sampling, height : float or None
        Asked length on the ground a pixel, m; asked height above ground or stand-off, m. One of them.
    forward, side : float
        Overlaps, shares.
    heading : float or None
        rad; None: the best is found.
    highest : float
        Above ground, m.
    ceiling : float
        Above the reference of the terrain, m.
    smear : float
        Allowed, px of the lag length.
    speed : float or None
        Asked, m/s; never faster than the smear allows.
    hold : float
        For which the aircraft stops at each frame, s; then nothing smears. 0: it flies on.
    wind : Wind
    ways : Ways
    sun : (float, float) or None
        Azimuth and elevation at the time of flight, rad.
    surface : (float, float)
        Tilt and azimuth of smooth surfaces that mirror the sun, rad.
    aircraft : int
        How many fly at a time.
    hours : float
        Of work a day.
    days : int or None
        At most; None: as many as it takes.
    extra_frames : int
        At each end of a line.
    tilt : float
        Of the camera from straight down in kinds that look aside, rad.
    sides : int
        Of a line that is followed: 1 straight above it, 2 from both sides.
    radius : float or None
        Around a point, m; None: from the height and tilt.
    rings : int
        Around a point.
    """

    name: str
    kind: PlanKind
    shape: Any
    origin: Origin
    kit: Combination
    ground: Ground
    take_offs: Mapping[str, tuple[float, float]]
    ground_given: bool = True
    no_fly: Any = None
    sampling: float | None = None
    height: float | None = None
    forward: float = 0.8
    side: float = 0.7
    heading: float | None = None
    highest: float = 120.0
    ceiling: float = math.inf
    smear: float = 1.0
    speed: float | None = None
    hold: float = 0.0
    wind: Wind = field(default_factory=Wind)
    ways: Ways = field(default_factory=usual_ways)
    sun: tuple[float, float] | None = None
    surface: tuple[float, float] = (0.0, 0.0)
    aircraft: int = 1
    hours: float = 8.0
    days: int | None = None
    extra_frames: int = 0
    tilt: float = math.radians(45.0)
    sides: int = 2
    radius: float | None = None
    rings: int = 1
    face: Face | None = None
    search: Search | None = None
    recording: str = ""
    people_near: bool = False
    live_parts: bool = False

    def __post_init__(self) -> None:
        if (self.sampling is None) == (self.height is None):
            raise InputError(f"{self.name}: give one of sampling (metres a pixel) and height, not both or none.")
        for name in ("sampling", "height"):
            value = getattr(self, name)
            if value is not None and not 0 < value < math.inf:
                raise InputError(f"{self.name}: {name} is {value} m; allowed above 0.")
        if self.hold < 0:
            raise InputError(f"{self.name}: hold is {self.hold} s; allowed 0 or more.")
        if not self.take_offs:
            raise InputError(f"{self.name}: no take-off point: add a point with use = 'take-off', or --take-off.")

    @property
    def parts(self) -> Mapping[str, Any]:
        """Segments of a search; the whole where it has none."""
        return (self.search.segments if self.search else None) or {self.name: self.shape}

    @property
    def smear_limit(self) -> float:
        """Px that the speed is kept to: none where the aircraft stops for each frame."""
        return math.inf if self.hold else self.smear

    def pause(self, speed: float) -> float:
        """What a frame takes on top where the aircraft stops for it from a speed and gathers it again, s."""
        return self.hold + speed / self.ways.acceleration if self.hold else 0.0
