"""Kernels of the model through air: look up what the air does to each pixel, solve, differentiate.

Works in blocks that stay in the processor's first cache, stage by stage, as :mod:`groundglow.model.inversion`.
A NumPy twin is in the tests.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from groundglow.model.airtable import SHIFT, patch_at, place_on
from groundglow.model.cubic import cubic_at

__all__ = ["BY_PATH", "BY_RADIANCE", "KELVIN", "OWN", "RESULT", "SPREAD", "TAU", "solve", "transmit"]

#: Pixels worked on at a time: they stay in the processor's first cache, and each stage is a loop of its own.
BLOCK = 256
#: Rows of a block: the result first, its derivatives in the order of `Sensitivities`; then inputs and what lies
#: between.
KELVIN, BY_RADIANCE, BY_EMISSIVITY, BY_MIRRORED, BY_TAU, BY_PATH, TAU, OWN, SPREAD = range(9)
L, EPS, GLOW, METRES, HEIGHT, SEEN, BEND, ARRIVED, RISE, SLOPE = range(9, 19)
RESULT, ROWS = 9, 19

_compiled = njit(cache=True, nogil=True, error_model="numpy")


@_compiled
def _load(part: NDArray[Any], work: NDArray[Any], row: int) -> None:  # pragma: no cover - compiled
    for j in range(part.size):
        work[row, j] = part[j]


@_compiled
def _by_distance(
    axis: Any, path: NDArray[Any], work: NDArray[Any], cell: NDArray[Any]
) -> None:  # pragma: no cover - compiled
    """Cell of each pixel's distance and its place in it, the air's own radiance, doubt of transmittance."""
    for j in range(BLOCK):
        i, height = place_on(axis, work[METRES, j] + SHIFT)
        share = height / (path[i + 1, 2] - path[i, 2])
        cell[j], work[HEIGHT, j] = i, height
        unknown = 0.0 * work[METRES, j]  # NaN where the distance is
        work[OWN, j] = path[i, 0] + share * (path[i + 1, 0] - path[i, 0]) + unknown
        work[SPREAD, j] = path[i, 1] + share * (path[i + 1, 1] - path[i, 1])


@_compiled
def _by_radiance(
    axis: Any, patches: NDArray[Any], work: NDArray[Any], cell: NDArray[Any], rows: Any
) -> None:  # pragma: no cover - compiled
    """Transmittance and its slope for the radiance in one row, into two others."""
    x, value, slope = rows
    for j in range(BLOCK):
        place = place_on(axis, work[x, j])
        work[value, j], work[slope, j] = patch_at(patches, (cell[j], work[HEIGHT, j]), place)


@_compiled
def _arrived(work: NDArray[Any]) -> int:  # pragma: no cover - compiled
    """What arrives of the surface's black body; returns the number of emissivities outside 0..1."""
    wrong = 0
    for j in range(BLOCK):
        eps = work[EPS, j]
        wrong += (eps > 1.0) | (eps < 0.0)
        mirrored = work[SEEN, j] * (1.0 - eps) * work[GLOW, j]
        work[ARRIVED, j] = (work[L, j] - work[OWN, j] - mirrored) / eps
    return wrong


@_compiled
def _temperature(coefficients: NDArray[Any], place: Any, work: NDArray[Any]) -> None:  # pragma: no cover - compiled
    first, shift, low, high = place
    for j in range(BLOCK):
        body = work[ARRIVED, j] / work[TAU, j]
        work[KELVIN, j] = work[SLOPE, j] = np.nan
        if low <= body <= high:
            work[KELVIN, j], work[SLOPE, j] = cubic_at(coefficients, first, shift, body)


@_compiled
def _derivatives(work: NDArray[Any]) -> None:  # pragma: no cover - compiled
    """With y what arrives: dT/dL = dT/dB (1 - d ln tau / d ln y) / (eps tau); the others follow."""
    for j in range(BLOCK):
        eps, seen, glow, arrived = work[EPS, j], work[SEEN, j], work[GLOW, j], work[ARRIVED, j]
        through = 1.0 / work[TAU, j]
        by = work[SLOPE, j] * through * (1.0 - arrived * through * work[RISE, j]) / eps
        work[BY_RADIANCE, j] = by
        work[BY_EMISSIVITY, j] = (seen * glow - arrived) * by
        work[BY_MIRRORED, j] = (eps - 1.0) * (seen + glow * work[BEND, j]) * by
        work[BY_TAU, j] = (work[OWN, j] - work[L, j]) * through * by
        work[BY_PATH, j] = -by


@_compiled
def _store(work: NDArray[Any], row: int, out: NDArray[Any]) -> None:  # pragma: no cover - compiled
    for j in range(out.size):
        out[j] = work[row, j]


@_compiled
def solve(
    axes: Any, tables: Any, cubic: Any, inputs: Any, out: NDArray[Any]
) -> int:  # pragma: no cover - compiled; its NumPy twin is in the tests
    """Fill the result's rows for all pixels; returns the number of emissivities outside 0..1.

    Parameters
    ----------
    axes, tables
        Of an :class:`groundglow.model.airtable.AirTable`: distance and radiance; path, by source, by arrival.
    cubic : (coefficients, first, shift, low, high)
        Radiance to temperature.
    inputs : four flat arrays
        Radiance, emissivity, reflected radiance, distance: each with one value for all or one a pixel.
    out : ndarray, shape (RESULT, pixels)
    """
    path, by_source, by_arrival = tables
    coefficients, place = cubic[0], cubic[1:]
    work, cell, wrong = np.ones((ROWS, BLOCK)), np.zeros(BLOCK, np.int64), 0
    for k in range(4):
        if inputs[k].size == 1:
            work[L + k, :] = inputs[k][0]
    _by_distance(axes[0], path, work, cell)
    for start in range(0, out.shape[1], BLOCK):
        end = min(start + BLOCK, out.shape[1])
        for k in range(4):
            if inputs[k].size > 1:
                _load(inputs[k][start:end], work, L + k)
        if inputs[3].size > 1:
            _by_distance(axes[0], path, work, cell)
        _by_radiance(axes[1], by_source, work, cell, (GLOW, SEEN, BEND))
        wrong += _arrived(work)
        _by_radiance(axes[1], by_arrival, work, cell, (ARRIVED, TAU, RISE))
        _temperature(coefficients, place, work)
        _derivatives(work)
        for row in range(RESULT):
            _store(work, row, out[row, start:end])
    return wrong


@_compiled
def transmit(axes: Any, tables: Any, inputs: Any, out: NDArray[Any]) -> None:  # pragma: no cover - compiled
    """Fill ``out`` (2, pixels) with transmittance and the air's own radiance for black bodies at distances."""
    path, by_source, _ = tables
    for i in range(out.shape[1]):
        row = place_on(axes[0], inputs[1][i] + SHIFT)
        near, far = path[row[0]], path[row[0] + 1]
        out[0, i] = patch_at(by_source, row, place_on(axes[1], inputs[0][i]))[0]
        out[1, i] = near[0] + row[1] / (far[2] - near[2]) * (far[0] - near[0])
