"""Compiled loop of the proof: which frame shows which point, how finely, from where."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["look_from"]

Array = NDArray[np.float64]


@njit(cache=True)
def _coarsest(sight: Array, normal: Array, axes: Array, scale: float) -> float:
    """Length on the surface that a pixel covers in its coarsest direction."""
    towards = sight[0] * normal[0] + sight[1] * normal[1] + sight[2] * normal[2]
    if towards >= -1e-9:
        return np.inf
    p = (axes[0, 0] * normal[0] + axes[0, 1] * normal[1] + axes[0, 2] * normal[2]) / towards
    q = (axes[1, 0] * normal[0] + axes[1, 1] * normal[1] + axes[1, 2] * normal[2]) / towards
    a = b = c = 0.0
    for k in range(3):
        first, second = axes[0, k] - sight[k] * p, axes[1, k] - sight[k] * q
        a, b, c = a + first * first, b + second * second, c + first * second
    return float(scale * np.sqrt(0.5 * (a + b + np.hypot(a - b, 2.0 * c))))


@njit(cache=True)
def look_from(
    points: Array,
    normals: Array,
    inside: NDArray[np.bool_],
    poses: tuple[Array, Array],
    boxes: NDArray[np.int64],
    picture: tuple[float, float, float],
    counts: NDArray[np.int32],
    figures: Array,
) -> None:
    """Add frames to what is known of each point.

    ``points``, ``normals`` (rows, columns, 3); ``poses`` positions (n, 3) and rotations (n, 3, 3); ``boxes`` (n, 4):
    rows and columns to look at; ``picture``: focal length, columns, rows in px. ``counts`` and ``figures`` (rows,
    columns, 4) are filled: best sampling, cosine of incidence there, least and greatest cosine from the vertical.
    """
    positions, rotations = poses
    focal, columns, rows = picture
    sight = np.empty(3)
    for f in range(len(positions)):
        axes, place = rotations[f], positions[f]
        for i in range(boxes[f, 0], boxes[f, 1]):
            for j in range(boxes[f, 2], boxes[f, 3]):
                if not inside[i, j]:
                    continue
                dx, dy, dz = points[i, j, 0] - place[0], points[i, j, 1] - place[1], points[i, j, 2] - place[2]
                depth = axes[2, 0] * dx + axes[2, 1] * dy + axes[2, 2] * dz
                if depth <= 0.0:
                    continue
                scale = focal / depth
                x = scale * (axes[0, 0] * dx + axes[0, 1] * dy + axes[0, 2] * dz)
                y = scale * (axes[1, 0] * dx + axes[1, 1] * dy + axes[1, 2] * dz)
                if abs(x) > 0.5 * columns or abs(y) > 0.5 * rows:
                    continue
                distance = np.sqrt(dx * dx + dy * dy + dz * dz)
                sight[0], sight[1], sight[2] = dx / distance, dy / distance, dz / distance
                normal = normals[i, j]
                length = _coarsest(sight, normal, axes, depth / focal)
                if length == np.inf:
                    continue
                counts[i, j] += 1
                figure = figures[i, j]
                if length < figure[0]:
                    figure[0] = length
                    figure[1] = -(sight[0] * normal[0] + sight[1] * normal[1] + sight[2] * normal[2])
                figure[2] = min(figure[2], -sight[2])
                figure[3] = max(figure[3], -sight[2])
