"""Where the camera truly was, and what was written down about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from groundglow.model.rotation import rotation_from_yaw_pitch_roll

__all__ = ["DOUBTS", "Doubts", "Shot", "close_lines", "fly", "overview_lines", "slow_errors", "written_down"]

Vector = NDArray[np.float64]
#: First place, last place (3,) m, number of frames.
Line = tuple[Vector, Vector, int]
_EVERY_S, _TURN_S = 2.0, 12.0


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


def fly(lines: Sequence[Line], start: float, prefix: str, rng: np.random.Generator) -> list[Shot]:
    """True shots along lines, a frame every 2 s, 12 s between lines; the aircraft sways a little."""
    shots: list[Shot] = []
    time = start
    for first, last, count in lines:
        heading = np.arctan2(last[0] - first[0], last[1] - first[1])
        for share in np.linspace(0.0, 1.0, count):
            wander = rng.normal(0.0, (0.35, 0.35, 0.3))
            tilt = np.radians(rng.normal(0.0, (1.0, 1.0, 1.2)))
            level = rotation_from_yaw_pitch_roll(heading, -np.pi / 2, 0.0)
            rotation = level @ Rotation.from_rotvec(tilt).as_matrix()
            place = first + share * (last - first) + wander
            shots.append(Shot(f"{prefix}_{len(shots) + 1:04d}", time, place, rotation))
            time += _EVERY_S
        time += _TURN_S
    return shots


def overview_lines(height: float) -> list[Line]:
    """Four lines north and south, 14 m apart, a frame each 5.7 m: about 80 % and 60 % overlap at 60 m."""
    lines = []
    for number, east in enumerate((-21.0, -7.0, 7.0, 21.0)):
        ends = np.array([[east, -25.65, height], [east, 25.65, height]])
        first, last = ends if number % 2 == 0 else ends[::-1]
        lines.append((first, last, 10))
    return lines


def close_lines(height: float) -> list[Line]:
    """Two lines east and west over two rows of modules and the busbars of the yard."""
    ends = np.array([[-17.0, 6.9, height], [23.0, 6.9, height]])
    back = np.array([[23.0, 10.9, height], [-17.0, 10.9, height]])
    return [(ends[0], ends[1], 20), (back[0], back[1], 20)]


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
