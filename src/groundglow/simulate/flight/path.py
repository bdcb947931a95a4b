"""Where the camera truly was, and what was written down about it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from groundglow.frames.places import LocalPlane
from groundglow.model.rotation import rotation_from_yaw_pitch_roll
from groundglow.records.plan import Plan, Sortie

__all__ = ["DOUBTS", "Doubts", "Shot", "fly", "slow_errors", "written_down"]

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Shot:
    """One frame: name, time (s since 1970-01-01T00:00Z), position (3,) m, rotation (3, 3) world to camera."""

    name: str
    time: float
    position: Vector
    rotation: Vector


@dataclass(frozen=True)
class Doubts:
    """Standard deviations of what is written down: constant over a flight and varying from frame to frame.

    Metres for position (each horizontal axis) and height; degrees for tilts (about east and north) and heading;
    seconds for the clock. What varies does so slowly: an autoregressive series with the given memory, s.
    """

    position: tuple[float, float] = (1.6, 1.2)
    height: tuple[float, float] = (3.5, 2.0)
    tilt_deg: tuple[float, float] = (0.5, 0.87)
    heading_deg: tuple[float, float] = (2.0, 2.2)
    clock_s: float = 0.5
    memory_s: float = 20.0
    tilt_memory_s: float = 4.0


DOUBTS = Doubts()


def fly(plan: Plan, site: LocalPlane, start: float, prefix: str, rng: np.random.Generator) -> list[Shot]:
    """True shots of a plan: each of its frames at its place and time; the aircraft sways a little.

    Parameters
    ----------
    plan : Plan
    site : LocalPlane
        The plane that the site is in; its origin lies on the ground.
    start : float
        Of the first sortie, s since 1970-01-01T00:00Z.
    prefix : str
        Of the names of frames.
    rng : Generator
    """
    lines = {line.number: line for line in plan.lines}
    shots: list[Shot] = []
    for sortie in plan.sorties:
        for number, began in _starts(sortie):
            line = lines[number]
            places, angles = line.poses
            steps = zip(_moved(places, LocalPlane(plan.origin), site), angles, line.times, strict=True)
            for place, (yaw, pitch), after in steps:
                wander = rng.normal(0.0, (0.35, 0.35, 0.3))
                tilt = Rotation.from_rotvec(np.radians(rng.normal(0.0, (1.0, 1.0, 1.2))))
                rotation = rotation_from_yaw_pitch_roll(float(yaw), float(pitch), 0.0) @ tilt.as_matrix()
                time = start + sortie.start + began + float(after)
                shots.append(Shot(f"{prefix}_{len(shots) + 1:04d}", time, place + wander, rotation))
    return shots


def _starts(sortie: Sortie) -> list[tuple[int, float]]:
    """Lines of a sortie in the order flown, and when each begins, s after take-off."""
    found: dict[int, float] = {}
    for waypoint in sortie.waypoints:
        if waypoint.line is not None:
            found.setdefault(waypoint.line, waypoint.time)
    return list(found.items())


def _moved(places: Vector, origin: LocalPlane, site: LocalPlane) -> Vector:
    """Places of a plan, whose heights are above sea level, in the site's plane."""
    lon, lat = origin.to_geographic(places[:, 0], places[:, 1])
    east, north = site.to_local(lon, lat)
    return np.stack([east, north, places[:, 2] - site.origin.height_m], axis=1)


def slow_errors(rng: np.random.Generator, times: Vector, sd: float, memory: float) -> Vector:
    """Autoregressive errors of standard deviation ``sd`` at given times."""
    found = np.empty(times.size)
    value = rng.normal(0.0, sd)
    for k, gap in enumerate(np.diff(times, prepend=times[0])):
        keep = np.exp(-gap / memory)
        value = keep * value + rng.normal(0.0, sd) * np.sqrt(1 - keep**2)
        found[k] = value
    return found


def _errors(rng: np.random.Generator, times: Vector, sd: tuple[float, float], memory: float) -> Vector:
    return rng.normal(0.0, sd[0]) + slow_errors(rng, times, sd[1], memory)


def written_down(shots: list[Shot], doubts: Doubts, rng: np.random.Generator) -> list[Shot]:
    """The shots as the flight's records state them: each with its errors, constant and varying.

    The clock is the camera's: it shifts the times of all frames alike and moves no position.
    """
    times = np.array([s.time for s in shots])
    east, north = (_errors(rng, times, doubts.position, doubts.memory_s) for _ in range(2))
    up = _errors(rng, times, doubts.height, doubts.memory_s)
    tilts = [np.radians(_errors(rng, times, doubts.tilt_deg, doubts.tilt_memory_s)) for _ in range(2)]
    heading = np.radians(_errors(rng, times, doubts.heading_deg, doubts.memory_s))
    moved = np.stack([east, north, up], axis=1)
    turned = np.stack([*tilts, heading], axis=1)
    late = float(rng.normal(0.0, doubts.clock_s))
    return [
        replace(
            shot,
            time=shot.time + late,
            position=shot.position + moved[k],
            rotation=shot.rotation @ Rotation.from_rotvec(turned[k]).as_matrix(),
        )
        for k, shot in enumerate(shots)
    ]
