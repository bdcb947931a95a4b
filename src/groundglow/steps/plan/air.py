"""The aircraft in the wind: ground speed along a course, and what a battery gives."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from groundglow.records.kit import Aircraft, Combination

__all__ = ["Wind", "along_speed", "battery_seconds", "ground_speed"]


@dataclass(frozen=True)
class Wind:
    """``speed`` m/s; ``from_course`` rad from north over east: where it blows from."""

    speed: float = 0.0
    from_course: float = 0.0

    def parts(self, course: float) -> tuple[float, float]:
        """Wind along a course (from behind positive) and across it (from the left positive), m/s."""
        towards = self.from_course + math.pi - course
        return self.speed * math.cos(towards), self.speed * math.sin(towards)


def ground_speed(airspeed: float, course: float, wind: Wind) -> float:
    """Speed over ground of an aircraft that holds a course, m/s; NaN when it cannot.

    Examples
    --------
    >>> round(ground_speed(5.0, 0.0, Wind(3.0, math.pi / 2)), 9)  # wind from the east on a course north
    4.0
    """
    along, across = wind.parts(course)
    if abs(across) >= airspeed:
        return math.nan
    found = math.sqrt(airspeed**2 - across**2) + along
    return found if found > 0 else math.nan


def along_speed(wanted: float, course: float, wind: Wind, aircraft: Aircraft) -> float:
    """The speed over ground nearest to the wanted one that the aircraft can fly on a course, m/s; NaN for none."""
    along, across = wind.parts(course)
    airspeed = math.hypot(wanted - along, across)
    least, most = aircraft.speeds
    if airspeed <= most and (airspeed >= least or aircraft.hovers):
        return wanted
    return ground_speed(most if airspeed > most else least, course, wind)


def battery_seconds(kit: Combination, wind: float) -> float:
    """Time from take-off to landing that may be planned with: with this payload and wind, the reserve kept, s."""
    if kit.aircraft is None:
        return math.inf
    loads, times = zip(*kit.aircraft.endurance, strict=True)
    winds, shares = zip(*kit.aircraft.in_wind, strict=True)
    whole = float(np.interp(kit.mass, loads, times)) * float(np.interp(wind, winds, shares))
    battery = kit.aircraft.battery.share if kit.aircraft.battery else 1.0
    return whole * battery * (1.0 - kit.aircraft.reserve)
