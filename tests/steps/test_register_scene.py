"""An invented scene seen through known homographies, levels and a known fixed pattern: truth for the tests."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog, LogEntry, Origin

SHAPE = (192, 240)
FOCAL = 240.0
HEIGHT = 60.0
#: Looking straight down with the top of the picture to the north.
DOWN = np.diag([1.0, -1.0, -1.0])
NOISE = 0.5


@dataclass(frozen=True)
class Flight:
    """A log and what only the truth knows: values, fixed pattern, levels, frame-to-scene matrices."""

    log: FlightLog
    values: dict[str, NDArray[np.float32]]
    pattern: NDArray[np.float64]
    levels: NDArray[np.float64]
    to_scene: dict[str, NDArray[np.float64]]

    @property
    def names(self) -> list[str]:
        return list(self.values)

    def load(self, name: str) -> tuple[NDArray[np.float32], NDArray[np.uint8]]:
        return self.values[name], np.zeros(SHAPE, np.uint8)

    def homography(self, a: str, b: str) -> NDArray[np.float64]:
        matrix = np.linalg.inv(self.to_scene[b]) @ self.to_scene[a]
        return np.asarray(matrix / matrix[2, 2])


def make_scene(rng: np.random.Generator, size: int = 900) -> NDArray[np.float32]:
    """Texture at several scales, standard deviation about 30."""
    layers = [cv2.GaussianBlur(rng.normal(size=(size, size)).astype(np.float32), (0, 0), s) for s in (2, 6, 25)]
    return np.asarray(sum(30.0 / np.sqrt(3.0) * x / x.std() for x in layers), dtype=np.float32)


def make_pattern(rng: np.random.Generator) -> NDArray[np.float64]:
    """Vignetting, a ring and a value a pixel; mean zero."""
    row, column = np.mgrid[-1 : 1 : SHAPE[0] * 1j, -1 : 1 : SHAPE[1] * 1j]
    radius = np.hypot(row, column)
    pattern = -8.0 * radius**2 + 2.0 * column + 2.0 * np.exp(-(((radius - 0.5) / 0.08) ** 2))
    pattern = pattern + rng.normal(0, 1.5, SHAPE)
    return np.asarray(pattern - pattern.mean())


def pose_over(x: float, y: float, *, turned: bool = False) -> Pose:
    rotation = np.diag([-1.0, 1.0, -1.0]) if turned else DOWN
    return Pose(np.array([x, y, HEIGHT]), rotation, np.full(3, 0.5), np.full(3, 0.005))


def make_flight(places: list[tuple[float, float, bool]], seed: int = 3, *, pattern: bool = True) -> Flight:
    """Frames straight down over places (east, north in m, turned about); a scene pixel is a quarter of a metre."""
    rng = np.random.default_rng(seed)
    scene = make_scene(rng)
    fixed = make_pattern(rng) if pattern else np.zeros(SHAPE)
    levels = rng.normal(0, 6.0, len(places))
    entries, values, matrices = [], {}, {}
    for number, (x, y, turned) in enumerate(places):
        name, pose = f"frame_{number:03}.tif", pose_over(x, y, turned=turned)
        matrices[name] = frame_to_scene(pose, scene.shape[0])
        seen = cv2.warpPerspective(
            scene,
            matrices[name],
            SHAPE[::-1],
            flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REFLECT,
        )
        values[name] = (seen + fixed + levels[number] + rng.normal(0, NOISE, SHAPE)).astype(np.float32)
        entries.append(LogEntry(name, name, float(number), pose, "", {}))
    log = FlightLog("day/flight", SHAPE, "counts", FOCAL, Origin(8.0, 47.0, 0.0), 1.0, 0.0, 0.5, tuple(entries), ())
    return Flight(log, values, fixed, levels - levels.mean(), matrices)


def frame_to_scene(pose: Pose, size: int) -> NDArray[np.float64]:
    """Matrix from a pixel of a nadir frame to a pixel of the scene (column east, row south, four a metre)."""
    metres = HEIGHT / FOCAL
    sign = np.sign(pose.rotation[0, 0])
    centre = ((SHAPE[1] - 1) / 2, (SHAPE[0] - 1) / 2)
    east = pose.position[0] - sign * metres * centre[0]
    south = -pose.position[1] - sign * metres * centre[1]
    scale = 4.0 * metres * sign
    middle = size / 2
    return np.array([[scale, 0, 4 * east + middle], [0, scale, 4 * south + middle], [0, 0, 1.0]])


def two_lines(each: int = 10) -> list[tuple[float, float, bool]]:
    """Two lines flown up and back, 80 % forward and 60 % side overlap."""
    metres = HEIGHT / FOCAL
    step, aside = 0.2 * SHAPE[0] * metres, 0.4 * SHAPE[1] * metres
    north = [(k - each / 2) * step + 0.7 * np.sin(k) for k in range(each)]
    wobble = [0.8 * np.cos(2.1 * k) for k in range(each)]
    up = [(-aside / 2 + w, y, False) for w, y in zip(wobble, north, strict=True)]
    back = [(aside / 2 - w, y + 0.9, True) for w, y in zip(wobble, reversed(north), strict=True)]
    return up + back


def test_the_true_homography_of_the_invented_flight_lays_its_frames_on_each_other() -> None:
    flight = make_flight([(0.0, 0.0, False), (3.0, 5.0, True)], pattern=False)
    a, b = flight.names
    matrix = flight.homography(a, b)
    taken = cv2.warpPerspective(flight.values[b], matrix, SHAPE[::-1], flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    inside = cv2.warpPerspective(np.ones(SHAPE, np.float32), matrix, SHAPE[::-1], flags=cv2.WARP_INVERSE_MAP) > 0.99
    difference = (flight.values[a] - taken)[inside]
    assert np.std(difference) < 3 * NOISE
    assert abs(np.median(difference) - (flight.levels[0] - flight.levels[1])) < 0.1
