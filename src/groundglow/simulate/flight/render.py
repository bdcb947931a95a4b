"""One frame of the invented camera, free of noise: radiance at the sensor, true surface, what lies where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from groundglow.simulate.flight.camera import CAMERA, SUPERSAMPLING, blurred
from groundglow.simulate.flight.path import Shot
from groundglow.simulate.flight.trace import Air, Rays, Sky, World, cast_rays

__all__ = ["MARGIN", "View", "Window", "rays_of", "render"]

#: Pixels around a window that the blur needs.
MARGIN = 4


class Window(NamedTuple):
    """A part of the frame: first column, first row, columns, rows."""

    column: int = 0
    row: int = 0
    columns: int = CAMERA.columns
    rows: int = CAMERA.rows


#: The whole frame.
WHOLE = Window()


@dataclass(frozen=True)
class View:
    """All of shape (rows, columns) of the window.

    ``radiance``: at the sensor after blur, W m-2 sr-1. ``surface``: the surface's radiance as a black body, mean
    over each pixel without blur. ``number``: surface number at the pixel's centre.
    """

    radiance: NDArray[np.float32]
    surface: NDArray[np.float32]
    number: NDArray[np.uint16]


def rays_of(shot: Shot, window: Window) -> Rays:
    """Rays through the subpixels of a window with its margin."""
    n, to_world = SUPERSAMPLING, shot.rotation.T
    first = np.array([window.column, window.row]) - MARGIN - 0.5 + 0.5 / n
    middle = np.array([CAMERA.columns - 1, CAMERA.rows - 1]) / 2
    corner = to_world @ np.array([*(first - middle) / CAMERA.focal_px, 1.0])
    step = to_world / (CAMERA.focal_px * n)
    return Rays(shot.position, corner, np.ascontiguousarray(step[:, 0]), np.ascontiguousarray(step[:, 1]))


def render(shot: Shot, world: World, sky: Sky, air: Air, window: Window = WHOLE) -> View:
    """What the camera sees of the world from one place."""
    n = SUPERSAMPLING
    shape = (window.rows + 2 * MARGIN) * n, (window.columns + 2 * MARGIN) * n
    sensor, surface = np.empty(shape, np.float32), np.empty(shape, np.float32)
    number = np.empty(shape, np.uint16)
    cast_rays(rays_of(shot, window), world, sky, air, (sensor, surface, number))
    inner = slice(MARGIN * n, -MARGIN * n)
    cut = surface[inner, inner].reshape(window.rows, n, window.columns, n).mean(axis=(1, 3))
    return View(blurred(sensor, MARGIN), cut, number[inner, inner][n // 2 :: n, n // 2 :: n])
