"""Ways between lines and to the take-off point: around no-fly areas, over the terrain, with turns and wind."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.records.kit import Aircraft
from groundglow.steps.plan.air import Wind, ground_speed
from groundglow.steps.plan.ground import Ground, climb_limited, path_points, simplified
from groundglow.steps.plan.route import Router
from groundglow.steps.plan.settings import Ways
from groundglow.steps.plan.turns import turn_path

__all__ = ["Leg", "Legs", "Place", "turn_radius"]

Array = NDArray[np.float64]
GRAVITY = 9.80665
#: Ways climb over no more than this of their distance where a limit of height asks for it.
STEEPEST = 2.0
#: Ways lowered by the same number of such steps are alike, m.
ALIKE = 10.0


@dataclass(frozen=True)
class Place:
    """An end of a line or a take-off point; ``course`` None where any is as good."""

    x: float
    y: float
    z: float
    course: float | None = None


@dataclass(frozen=True)
class Leg:
    """``nodes`` (n, 3) from one place to the next with both, and the time that it takes, s."""

    nodes: Array
    seconds: Array

    @property
    def duration(self) -> float:
        """s."""
        return float(self.seconds[-1])


def turn_radius(aircraft: Aircraft | None, ways: Ways) -> float:
    """Of an aircraft that cannot stop, at its transit speed, m; else 0."""
    if aircraft is None or aircraft.hovers:
        return 0.0
    return max(ways.transit_share * aircraft.speeds[1], aircraft.speeds[0]) ** 2 / (GRAVITY * math.tan(ways.bank))


class Legs:
    """Finds ways, and keeps those it found.

    Parameters
    ----------
    ground, router, ways, wind
    aircraft : Aircraft or None
    height, least : float
        Kept above ground on the way, m, and down to which it may be lowered where a way would break a limit.
    line_speed : float
        m/s, from which an aircraft slows down to turn.
    highest, ceiling : float
        Limits above ground and above the terrain's reference, m.
    """

    def __init__(
        self, ground: Ground, router: Router, ways: Ways, wind: Wind, aircraft: Aircraft | None,
        *, height: float, least: float, line_speed: float, highest: float = math.inf, ceiling: float = math.inf,
    ) -> None:  # fmt: skip
        self._ground, self._router, self._ways, self._wind = ground, router, ways, wind
        self._height, self._least, self._line_speed = height, least, line_speed
        self._highest, self._ceiling = highest, ceiling
        least, most = aircraft.speeds if aircraft else (0.0, 10.0)
        self.airspeed = max(ways.transit_share * most, least, min(line_speed, most))
        self.climb_slope = ways.climb / self.airspeed
        self._radius = turn_radius(aircraft, ways)
        self._known: dict[tuple[Place, Place], Leg] = {}

    def between(self, start: Place, end: Place) -> Leg:
        """The way from one place to another."""
        key = (start, end)
        if key not in self._known:
            self._known[key] = self._found(start, end)
        return self._known[key]

    def _found(self, start: Place, end: Place) -> Leg:
        way = self._router.way((start.x, start.y), (end.x, end.y))
        if self._radius and len(way) == 2:
            way = turn_path(way, start.course, end.course, self._radius)
        plane, height = self._profile(way)
        steps = np.diff(plane, axis=0)
        courses = np.arctan2(steps[:, 0], steps[:, 1])
        speeds = np.array([ground_speed(self.airspeed, float(c), self._wind) for c in courses])
        lengths = np.linalg.norm(steps, axis=1)
        if np.isnan(speeds[lengths > 1e-9]).any():
            raise InputError(
                f"the wind of {self._wind.speed:g} m/s is too strong for the way from or to a line at "
                f"{self.airspeed:g} m/s through the air; wait for less wind."
            )
        moving = np.where(lengths > 1e-9, lengths / np.where(np.isnan(speeds), 1.0, speeds), 0.0)
        nodes = np.vstack([(start.x, start.y, start.z), np.c_[plane, height], (end.x, end.y, end.z)])
        moving = np.maximum(moving, np.abs(np.diff(height)) / self._ways.climb)  # slower where it climbs steeply
        upright = np.abs([height[0] - start.z, end.z - height[-1]]) / self._ways.climb
        turning = self._turning(start, end, courses[lengths > 1e-9])
        seconds = np.r_[0.0, upright[0] + turning / 2, moving, upright[1] + turning / 2]
        return Leg(nodes, np.cumsum(seconds))

    def _turning(self, start: Place, end: Place, courses: Array) -> float:
        """Of slowing down, turning in place and gathering speed again; none for one that cannot stop."""
        if self._radius:
            return 0.0
        known = [c for c in (start.course, *courses, end.course) if c is not None]
        turned = sum(abs((b - a + math.pi) % (2 * math.pi) - math.pi) for a, b in pairwise(known))
        stops = (start.course is not None) + (end.course is not None)
        return float(turned) / self._ways.turn_rate + stops * self._line_speed / (2 * self._ways.acceleration)

    def _profile(self, way: Array) -> tuple[Array, Array]:
        """Corners and their heights: above the ground by the plan's height, no steeper than it can climb."""
        plane, along = sampled(way, self._step())
        floor = self._ground.at(plane[:, 0], plane[:, 1]) + self._height
        if np.isnan(floor).any():
            raise InputError(
                "the way to or between lines leaves the terrain file; give one that reaches all take-off points."
            )
        nodes = self._climbing(way, plane, along, floor, self.climb_slope)
        if self._excess(nodes) > 0:
            wide = np.fmax(floor, self._beside.at(plane[:, 0], plane[:, 1]) + self._height)
            tried = [self._climbing(way, plane, along, wide, s) for s in (self.climb_slope, *self._steeper())]
            nodes = self._within_limits(nodes, tried)
        return nodes[:, :2], nodes[:, 2]

    @cached_property
    def _beside(self) -> Ground:
        """The highest ground within a cell and the clearance: steep or lowered ways keep off slopes beside them."""
        return self._ground.highest(max(abs(s) for s in self._ground.step) + self._ways.clearance)

    def _within_limits(self, usual: Array, tried: list[Array]) -> Array:
        """The way that is lowered least to keep the limits, the gentler of those alike; the usual one if none does."""
        lower = [(max(self._excess(nodes), 0.0), nodes) for nodes in tried]
        least, nodes = min(lower, key=lambda found: math.ceil(found[0] / ALIKE))
        return np.asarray(nodes - (0.0, 0.0, least)) if least <= self._height - self._least else usual

    def _steeper(self) -> list[float]:
        """Climbs over distance beyond that at transit speed, for an aircraft that can fly slowly."""
        return [] if self._radius else [self.climb_slope * n for n in (2, 4, 8) if self.climb_slope * n <= STEEPEST]

    def _climbing(self, way: Array, plane: Array, along: Array, floor: Array, slope: float) -> Array:
        """Corners (n, 3) of the lowest profile above a floor that climbs no steeper than a slope."""
        height = climb_limited(along, floor, slope)
        kept = np.union1d(simplified(along, height, self._ways.tolerance, 0.0), np.searchsorted(along, _corners(way)))
        kept = kept[kept < len(along)]
        return np.asarray(np.c_[plane[kept], height[kept] + self._ways.tolerance * (np.ptp(floor) > 0)])

    def _excess(self, nodes: Array) -> float:
        """By how much a way lies above the limits, m; negative below them."""
        points, _ = path_points(nodes, self._ground)
        above = points[:, 2] - self._ground.at(points[:, 0], points[:, 1])
        return max(float(np.nanmax(above)) - self._highest, float(points[:, 2].max()) - self._ceiling)

    def _step(self) -> float:
        return float(np.clip(min(abs(s) for s in self._ground.step), 1.0, 50.0))


def sampled(way: Array, step: float) -> tuple[Array, Array]:
    """Places along a way at most a step apart with all its corners, and their distances from the first."""
    corners = _corners(way)
    along = np.union1d(corners, np.linspace(0.0, corners[-1], int(corners[-1] / step) + 2))
    return np.c_[np.interp(along, corners, way[:, 0]), np.interp(along, corners, way[:, 1])], along


def _corners(way: Array) -> Array:
    return np.asarray(np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(way, axis=0), axis=1))])
