"""A bird that flies through: a warm spot which no two frames show over the same ground."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.model.pose import ground_to_pixel
from groundglow.simulate.flight.camera import CAMERA
from groundglow.simulate.flight.path import Shot

__all__ = ["Bird", "draw_bird", "where_is"]


@dataclass(frozen=True)
class Bird:
    """Straight flight: place (3,) m at a time, velocity (3,) m/s, length of the body m, temperature K."""

    time: float
    place: NDArray[np.float64]
    velocity: NDArray[np.float64]
    length: float = 0.35
    temperature: float = 308.0


def where_is(bird: Bird, shot: Shot) -> tuple[float, float, float] | None:
    """Column, row and length in px at which a shot shows the bird; None when it does not."""
    place = bird.place + (shot.time - bird.time) * bird.velocity
    if place[2] > shot.position[2] - 3.0:
        return None
    shape = (CAMERA.rows, CAMERA.columns)
    column, row = (float(v) for v in ground_to_pixel(place, shot.position, shot.rotation, CAMERA.focal_px, shape))
    if not (0 <= column < CAMERA.columns and 0 <= row < CAMERA.rows):
        return None
    return column, row, bird.length * CAMERA.focal_px / float(np.linalg.norm(place - shot.position))


def draw_bird(radiance: NDArray[np.float32], seen: tuple[float, float, float], warm: float) -> NDArray[np.float32]:
    """The frame with a body half as wide as long at radiance ``warm``, blurred like everything else."""
    column, row, length = seen
    cover = np.zeros(radiance.shape, np.float32)
    axes = (max(round(8 * length), 8), max(round(4 * length), 8))
    cv2.ellipse(cover, (round(column * 16), round(row * 16)), axes, 35.0, 0, 360, 1.0, -1, shift=4)
    cover = cv2.GaussianBlur(cover, (0, 0), 0.6)
    return np.asarray(radiance + cover * (np.float32(warm) - radiance))
