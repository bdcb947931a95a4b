"""Invented flights of which all is known: true poses and ground, recorded poses with errors, ties from the truth."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import combinations

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.pose import ground_to_pixel, pixel_to_plane
from groundglow.records.finding import Candidate
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog, LogEntry, Origin
from groundglow.records.tie import Registration, Tie
from groundglow.steps.find import FindSettings
from groundglow.steps.find.ground import Ground, adjusted_ground
from groundglow.steps.find.sight import Sight

Array = NDArray[np.float64]

SHAPE, FOCAL, HEIGHT = (192, 240), 240.0, 60.0
PIXEL_M = HEIGHT / FOCAL
ORIGIN = Origin(8.0, 47.0, 0.0)


def turned(angles: Array) -> Array:
    """Rotation by a vector of angles, rad (Rodrigues)."""
    return np.asarray(cv2.Rodrigues(np.asarray(angles, float))[0])


@dataclass(frozen=True)
class Doubts:
    """Standard uncertainties that the records of a flight state: m and rad."""

    place: float = 0.5
    height: float = 2.0
    tilt: float = 0.015
    heading: float = 0.03
    shared: float = 1.5

    def pose(self, position: Array, rotation: Array) -> Pose:
        sd = np.array([self.place, self.place, self.height])
        return Pose(position, rotation, sd, np.array([self.tilt, self.tilt, self.heading]))


@dataclass(frozen=True)
class Flown:
    """True poses by frame, height of the ground, and what was recorded of it."""

    truth: dict[str, Pose]
    log: FlightLog
    ties: tuple[Tie, ...]
    relief: Relief

    @property
    def ground(self) -> Ground:
        return adjusted_ground(self.log, self.ties)

    @property
    def sight(self) -> Sight:
        return Sight(self.log, registration(self.ties), FindSettings())

    def shows(self, frame: str, points: Array) -> Array:
        """True pixels (column, row) of points in space, shape (n, 2)."""
        pose = self.truth[frame]
        return np.stack(ground_to_pixel(points, pose.position, pose.rotation, FOCAL, SHAPE), axis=-1)


@dataclass(frozen=True)
class Relief:
    """Gentle hills about z = 0 with a standard deviation in m."""

    sd: float = 0.0
    phase: tuple[float, float] = (0.0, 0.0)

    def height(self, x: Array, y: Array) -> Array:
        return np.asarray(2 * self.sd * np.sin(x / 14 + self.phase[0]) * np.sin(y / 11 + self.phase[1]))


@dataclass(frozen=True)
class Errors:
    """What is wrong with the records of a flight and its ties; all zero is a flight recorded as it was flown."""

    scale: float = 0.0  # share of all heights
    heading: float = 0.0
    tilt: tuple[float, float] = (0.0, 0.0)  # mount askew: to the right, forward
    own: bool = False  # errors of single frames, drawn from the stated doubts
    tie_px: float = 0.0
    relief: Relief = field(default_factory=Relief)


def lines(count: int = 3, each: int = 4) -> list[Pose]:
    """True poses of lines flown up and back over the origin, looking down but for a wobble."""
    rng, made = np.random.default_rng(5), []
    for i in range(count):
        for j in range(each) if i % 2 == 0 else reversed(range(each)):
            at = np.array([(i - (count - 1) / 2) * 24.0, (j - (each - 1) / 2) * 14.0, HEIGHT])
            facing = np.diag([1.0, -1.0, -1.0]) if i % 2 == 0 else np.diag([-1.0, 1.0, -1.0])
            wobble = turned(rng.normal(0, (0.03, 0.03, 0.05)))
            made.append(Doubts().pose(at + rng.normal(0, (0.7, 0.7, 0.7)), facing @ wobble))
    return made


def flown(
    errors: Errors,
    rng: np.random.Generator | None = None,
    *,
    doubts: Doubts | None = None,
    poses: list[Pose] | None = None,
) -> Flown:
    """A flight with these errors in its records."""
    rng, doubts = rng or np.random.default_rng(0), doubts or Doubts()
    truth = {f"f{k:02}.tif": pose for k, pose in enumerate(poses or lines())}
    entries = tuple(
        LogEntry(name, name, float(k), recorded(pose, errors, doubts, rng), "", {})
        for k, (name, pose) in enumerate(truth.items())
    )
    log = FlightLog("2030-05-01/a", SHAPE, "counts", FOCAL, ORIGIN, 1.0, 0.0, doubts.shared, entries, ())
    return Flown(truth, log, ties_of(truth, errors, rng), errors.relief)


def recorded(pose: Pose, errors: Errors, doubts: Doubts, rng: np.random.Generator) -> Pose:
    """A pose as a flight's records state it: common errors and, if asked for, its own half of the stated variance."""
    position = pose.position * (1.0, 1.0, 1.0 + errors.scale)
    world = np.array([0.0, 0.0, errors.heading])
    if errors.own:
        half = np.sqrt(0.5)
        position = position + rng.normal(0, (doubts.place, doubts.place, half * doubts.height))
        world = world + rng.normal(0, half * np.array([doubts.tilt, doubts.tilt, doubts.heading]))
    mount = turned(np.array([errors.tilt[1], errors.tilt[0], 0.0]))
    return doubts.pose(position, mount @ pose.rotation @ turned(world))


def ties_of(truth: dict[str, Pose], errors: Errors, rng: np.random.Generator) -> tuple[Tie, ...]:
    """Ties between frames that share a third, by where the ground truly appears, with an error that varies smoothly."""
    made = (_tie(a, b, truth, errors, rng) for a, b in combinations(truth, 2))
    return tuple(t for t in made if t is not None)


def _tie(a: str, b: str, truth: dict[str, Pose], errors: Errors, rng: np.random.Generator) -> Tie | None:
    one, other = truth[a], truth[b]
    columns, rows = (m.ravel() for m in np.meshgrid(np.linspace(0, SHAPE[1] - 1, 7), np.linspace(0, SHAPE[0] - 1, 7)))
    place = pixel_to_plane(columns, rows, one.position, one.rotation, FOCAL, SHAPE, (0, 0, 1, 0))
    place[:, 2] = errors.relief.height(place[:, 0], place[:, 1])
    here, there = (np.stack(ground_to_pixel(place, p.position, p.rotation, FOCAL, SHAPE), -1) for p in (one, other))
    inside = ((there >= 0) & (there <= (SHAPE[1] - 1, SHAPE[0] - 1))).all(axis=1)
    if inside.mean() < 0.33:
        return None
    here, there = here[inside], there[inside]
    across = 2 * (here - here.mean(axis=0)) / np.ptp(here, axis=0)
    there = there + errors.tie_px * np.column_stack([np.ones(len(here)), across]) @ rng.normal(0, 0.8, (3, 2))
    matrix, _ = cv2.findHomography(here, there)
    return Tie(a, b, tuple(matrix.ravel()), 100, 1.0, float(inside.mean()), 0.0, 0.1)


def registration(ties: tuple[Tie, ...]) -> Registration:
    return Registration("2030-05-01/a", "counts", ties, (), {}, 0.1, ())


PLAIN = Candidate("", "spot", 1, 0, 0, (0, 0, 6, 6), 30, 303.0, 300.0, 290.0, 10.0, 0.3, 2.0, 9.0, False, "", ())


def sight_of(frame: str, column: float, row: float, **changed: object) -> Candidate:
    """A spot of 6 px at a pixel of a frame."""
    box = (round(column) - 3, round(row) - 3, round(column) + 3, round(row) + 3)
    left, top, right, bottom = (v - 0.5 for v in box)
    corners = ((left, top), (left, bottom), (right, bottom), (right, top))
    return replace(PLAIN, **{"frame": frame, "column": column, "row": row, "box": box, "outline": corners, **changed})


def sights(flight: Flown, x: float, y: float, z: float = 0.0, **changed: object) -> list[Candidate]:
    """A thing at a true place, as each frame that has it in view shows it."""
    made = []
    for frame in flight.truth:
        ((column, row),) = flight.shows(frame, np.array([[x, y, z]]))
        if 8 <= column <= SHAPE[1] - 9 and 8 <= row <= SHAPE[0] - 9:
            made.append(sight_of(frame, float(column), float(row), **changed))
    return made


def by_frame(flight: Flown, *some: list[Candidate]) -> dict[str, list[Candidate]]:
    """Candidates of every frame, those with none included."""
    out: dict[str, list[Candidate]] = {frame: [] for frame in flight.truth}
    for c in (c for group in some for c in group):
        out[c.frame].append(c)
    return out
