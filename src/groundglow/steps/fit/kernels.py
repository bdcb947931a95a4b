"""Compiled loops over combinations and hours: line pairs resolved on the target, and how far a task still works."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["contrast_by_hour", "cycles_by_hour", "farthest"]

Array = NDArray[np.float64]

# Steps of the search for the largest distance, coarse in equal ratios and then halved.
_COARSE = 48
_HALVINGS = 22


@njit(cache=True)
def _resolved(rows: Array, frequencies: Array, log_ratio: float) -> float:  # pragma: no cover - compiled
    """Finest frequency of one row of the table that a ratio of contrast to noise resolves."""
    last = frequencies.size - 1
    if log_ratio >= rows[last]:
        return float(frequencies[last])
    if log_ratio <= rows[0]:
        return float(frequencies[0] * math.exp(log_ratio - rows[0]))
    low, high = 0, last
    while high - low > 1:
        middle = (low + high) // 2
        if rows[middle] <= log_ratio:
            low = middle
        else:
            high = middle
    share = (log_ratio - rows[low]) / (rows[high] - rows[low])
    return float(frequencies[low] + share * (frequencies[high] - frequencies[low]))


@njit(cache=True)
def _frequency(table: Array, axes: Any, lag: float, log_ratio: float) -> float:  # pragma: no cover - compiled
    """Between two lags of a camera's table, shape (lags, frequencies)."""
    frequencies, lags = axes
    last = lags.size - 2
    i = 0
    while i < last and lag >= lags[i + 1]:
        i += 1
    share = min(max((lag - lags[i]) / (lags[i + 1] - lags[i]), 0.0), 1.0)
    near = float(_resolved(table[i], frequencies, log_ratio))
    if share == 0.0:
        return float(near)
    return float(near + share * (_resolved(table[i + 1], frequencies, log_ratio) - near))


@njit(cache=True)
def _through(transmittance: Array, farthest_m: float, distance: float) -> float:  # pragma: no cover - compiled
    """Transmittance at a distance, linear in its logarithm from 1 m on."""
    last = transmittance.size - 1
    place = min(max(math.log(distance) / math.log(farthest_m), 0.0), 1.0) * last
    i = min(int(place), last - 1)
    return float(transmittance[i] + (place - i) * (transmittance[i + 1] - transmittance[i]))


@njit(cache=True)
def _lag(motion: Array, distance: float) -> float:  # pragma: no cover - compiled
    """Lag in px: as the survey keeps it, within what the aircraft can fly (both in px x m)."""
    return float(max(motion[0] / distance, min(motion[2], motion[1] / distance)))


@njit(cache=True)
def _contrast(kit: Any, signal: float, sides: float, distance: float) -> float:  # pragma: no cover - compiled
    """Signal over clutter and over noise averaged on the target's pixels: clutter does not average out."""
    noise, clutter = kit
    pixels = max(sides / (distance * distance), 1.0)
    return float(signal / math.sqrt(clutter * clutter + noise * noise / pixels))


@njit(cache=True)
def _cycles(kit: Any, air: Any, tables: Any, distance: float) -> float:  # pragma: no cover - compiled
    """Line pairs that one camera resolves on the target at a distance; 0 where it does not stand out enough."""
    size_over_ifov, motion, table, axes = tables
    rise, noise, clutter, least = kit
    transmittance, end = air
    signal = rise * _through(transmittance, end, distance)
    if signal <= 0.0 or _contrast((noise, clutter), signal, size_over_ifov**2, distance) < least:
        return 0.0
    log_ratio = math.log(signal / noise)
    return float(_frequency(table, axes, _lag(motion, distance), log_ratio) * size_over_ifov / distance)


@njit(cache=True)
def cycles_by_hour(
    columns: Any, scene: Any, resolving: Any, distance: Array, out: Array
) -> None:  # pragma: no cover - compiled
    """Line pairs on the target of each combination at its distance, at each hour; out of shape (N, H).

    ``columns``: band, spread, size / IFOV, motion (N, 3), noise (N, H), clutter. ``scene``: rise (B, H), transmittance
    (B, H, D), end of the air. ``resolving``: table (S, L, F), (frequencies, lags).
    """
    band, spread, size, motion, noise, clutter = columns
    rise, transmittance, end = scene
    table, axes = resolving
    for i in range(out.shape[0]):
        b = band[i]
        tables = (size[i], motion[i], table[spread[i]], axes)
        for h in range(out.shape[1]):
            out[i, h] = _cycles(
                (abs(rise[b, h]), noise[i, h], clutter, 0.0), (transmittance[b, h], end), tables, distance[i]
            )


@njit(cache=True)
def contrast_by_hour(columns: Any, scene: Any, distance: Array, out: Array) -> None:  # pragma: no cover - compiled
    """Contrast of the target over noise and clutter through the air, at each hour; out of shape (N, H)."""
    band, _, size, _, noise, clutter = columns
    rise, transmittance, end = scene
    for i in range(out.shape[0]):
        b = band[i]
        for h in range(out.shape[1]):
            signal = abs(rise[b, h]) * _through(transmittance[b, h], end, distance[i])
            out[i, h] = _contrast((noise[i, h], clutter), signal, size[i] ** 2, distance[i])


@njit(cache=True)
def farthest(
    columns: Any, scene: Any, resolving: Any, needed: Any, hour: int, out: Array
) -> None:  # pragma: no cover - compiled
    """Largest distance at which each number of line pairs is still there at one hour; out of shape (N, tasks).

    ``needed``: line pairs by task, and the least ratio of contrast to noise. Sought from far to near, since near by a
    fast aircraft smears. 0 where not even 1 m will do.
    """
    band, spread, size, motion, noise, clutter = columns
    rise, transmittance, end = scene
    table, axes = resolving
    cycles, least = needed
    step = math.log(end) / _COARSE
    for i in range(out.shape[0]):
        b = band[i]
        tables = (size[i], motion[i], table[spread[i]], axes)
        kit, air = (abs(rise[b, hour]), noise[i, hour], clutter, least), (transmittance[b, hour], end)
        for t in range(cycles.size):
            out[i, t] = 0.0
            for k in range(_COARSE, -1, -1):
                if _cycles(kit, air, tables, math.exp(k * step)) >= cycles[t]:
                    low, high = k * step, min(k + 1, _COARSE) * step
                    for _ in range(_HALVINGS):
                        middle = 0.5 * (low + high)
                        if _cycles(kit, air, tables, math.exp(middle)) >= cycles[t]:
                            low = middle
                        else:
                            high = middle
                    out[i, t] = math.exp(low)
                    break
