"""Monte Carlo of many readings at once: the same trials for all, quantiles of each.

The trials are a scrambled Sobol sequence, which fills twelve dimensions more evenly than random numbers, so that
some thousand give quantiles to a few per mille of probability. The seed is fixed: equal inputs, equal intervals.

References
----------
JCGM 101:2008, 7.2 (trials) and 7.7 (intervals). I. M. Sobol, USSR Comput. Math. Math. Phys. 7 (1967) 86;
A. B. Owen, J. Complexity 14 (1998) 466 (scrambling; citations from memory).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.special import ndtri

from groundglow.model.cubic import cubic_at
from groundglow.model.reading.derivatives import RESPONSE_STEPS
from groundglow.model.reading.effects import CAMERA_ERRORS, Effects
from groundglow.model.reading.sight import NODES, STEP
from groundglow.model.reading.situation import POSSIBLE, CameraDoubt, Situation
from groundglow.model.reading.stated import NO_LIMITS, Stated, cut_share, quantile
from groundglow.model.table import TABLE_RANGE

__all__ = ["trial_interval", "trial_radiances"]

Floats = NDArray[np.float64]
#: Lowest temperature of a source, K.
LOWEST = float(NODES[0])
#: Least that a change of the surface is taken to show in a trial, of what it shows in the assumed band.
LEAST_GROWTH = 0.2
#: Trials computed at once.
AT_ONCE = 1 << 19
#: Sources in the order of the trials' dimensions; the last two are the air model and what spectra do.
DIMENSIONS = (*CAMERA_ERRORS, *RESPONSE_STEPS, *POSSIBLE, "transmittance", "spectra")


@lru_cache(maxsize=8)
def _shares(count: int, seed: int) -> Floats:
    """Points between 0 and 1, shape (dimensions, count)."""
    from scipy.stats import qmc  # here: it takes half a second to import, and few questions need trials

    points = qmc.Sobol(len(DIMENSIONS), scramble=True, rng=np.random.default_rng(seed)).random(count)
    return np.ascontiguousarray(points.T.clip(1e-12, 1 - 1e-12))


@lru_cache(maxsize=8)
def _normals(count: int, seed: int) -> Floats:
    """The same points as deviates of the standard normal distribution."""
    return np.asarray(ndtri(_shares(count, seed)))


def _drawn(stated: Stated, name: str, count: int, seed: int) -> Floats:
    """Trials of one input, shape (readings or 1, count)."""
    row, limits = DIMENSIONS.index(name), POSSIBLE.get(name, NO_LIMITS)
    value, spread = (a[:, None] for a in stated.arrays)
    if not spread.any():
        return np.broadcast_to(value, (len(value), count))
    if stated.distribution == "rectangular":
        return quantile(Stated(value, spread, "rectangular"), _shares(count, seed)[row], limits)
    drawn = value + spread * _normals(count, seed)[row]
    cut = np.flatnonzero(cut_share(stated, limits) > 0)
    if cut.size:
        drawn[cut] = quantile(Stated(value[cut], spread[cut]), _shares(count, seed)[row], limits)
    return np.asarray(drawn)


def _apparent(found: Effects, camera: CameraDoubt, count: int, seed: int) -> Floats:
    """Apparent temperature without the errors of the camera, K.

    What another response does grows with what is shown: a = shown - errors - (c1 + g (a - shown)) x - c2 x^2.
    """
    error = np.zeros((found.apparent.size, count))
    growth = np.ones_like(error)
    for name in CAMERA_ERRORS:
        stated = camera.of(name)
        error += _drawn(Stated(np.zeros_like(found.apparent), stated.arrays[1], stated.distribution), name, count, seed)
    for name, change in found.by_response.items():
        moved = _drawn(camera.of(name), name, count, seed)
        error += (change[0, :, None] + change[1, :, None] * moved) * moved
        growth += change[2, :, None] * moved
    return np.asarray((found.apparent[:, None] - error / np.maximum(growth, LEAST_GROWTH)).clip(*TABLE_RANGE))


def _logs(found: Effects, situation: Situation, drawn: dict[str, Floats]) -> Floats:
    """Change of ln transmittance, shape (3, readings, count)."""
    total = np.zeros((3, *drawn["distance"].shape))
    for name, change in found.by_air.items():
        moved = drawn[name] - situation.of(name).arrays[0][:, None]
        total += (change[0, :, :, None] + change[1, :, :, None] * moved) * moved
    warmer = drawn["reflected_temperature"] - situation.of("reflected_temperature").arrays[0][:, None]
    factor = np.minimum(found.air.mirrored[:, None] + found.by_sky[:, None] * warmer, 1.0)
    total[1] += np.log(np.maximum(factor, 1e-6))
    return total


def _all_drawn(found: Effects, situation: Situation, count: int, seed: int) -> dict[str, Floats]:
    """Trials of the inputs, of the error of the air model, and of the radiance that spectra change."""
    none = np.zeros_like(found.apparent)
    inputs = {name: situation.of(name) for name in POSSIBLE} | {
        "transmittance": Stated(none, found.transmittance_sd),
        "spectra": Stated(found.spectra_mean, found.spectra_sd),
    }
    return {name: _drawn(stated, name, count, seed) for name, stated in inputs.items()}


def trial_radiances(found: Effects, situation: Situation, camera: CameraDoubt, *, count: int, seed: int) -> Floats:
    """Black-body radiance of the surface in each trial, shape (readings, count), W m-2 sr-1; zero where there is none.

    Parameters
    ----------
    found : Effects
        Of flat readings.
    situation : Situation
    camera : CameraDoubt
    count, seed : int
        Trials a reading, a power of two; equal seeds give equal trials.
    """
    drawn = _all_drawn(found, situation, count, seed)
    inputs = (
        _apparent(found, camera, count, seed),
        drawn["emissivity"],
        drawn["reflected_temperature"],
        drawn["air_temperature"].clip(*TABLE_RANGE),
        drawn["transmittance"],
        drawn["spectra"],
    )
    table = found.air.table
    cubic, one = table.to_radiance, np.ones_like(found.apparent)
    known = (cubic.coefficients, cubic.first, cubic.shift)
    rows = (np.ascontiguousarray(found.air.transmittance), found.air.arrivals(), np.log(table.radiance(NODES)))
    fixed = (found.transmittance, found.by_model * np.stack([one, found.air.mirrored, one]))
    out = np.empty(inputs[0].shape)
    _radiances(known, rows, fixed, tuple(_plain(a) for a in inputs), _logs(found, situation, drawn), out)
    return out


def _plain(array: Floats) -> Floats:
    return np.ascontiguousarray(array) if array.flags.writeable else array.copy()


@njit(cache=True, nogil=True, error_model="numpy")
def _emitted(arrived: float, arrivals: Any, emitted: Any) -> float:  # pragma: no cover - compiled
    """Logarithm of the emitted radiance of which this (logarithm) arrives; straight lines, carried on at the ends."""
    below, above = 0, arrivals.size - 1
    while above - below > 1:
        middle = (below + above) // 2
        if arrivals[middle] <= arrived:
            below = middle
        else:
            above = middle
    part = (arrived - arrivals[below]) / (arrivals[below + 1] - arrivals[below])
    return float(emitted[below] + part * (emitted[below + 1] - emitted[below]))


@njit(cache=True, nogil=True, error_model="numpy")
def _at(row: Any, kelvin: float) -> float:  # pragma: no cover - compiled
    """Value of a row over the temperatures of sources."""
    place = min(max(np.log(kelvin / LOWEST) / STEP, 0.0), row.size - 1.000001)
    cell = int(place)
    return float(row[cell] + (place - cell) * (row[cell + 1] - row[cell]))


@njit(cache=True, nogil=True, error_model="numpy")
def _share(value: float) -> float:  # pragma: no cover - compiled
    return min(max(value, 0.0), 1.0)


@njit(cache=True, nogil=True, error_model="numpy")
def _radiances(
    known: Any, rows: Any, fixed: Any, inputs: Any, logs: Any, out: Any
) -> None:  # pragma: no cover - compiled; held against the equation in the tests
    """The module's equation solved for each trial."""
    coefficients, first, shift = known
    transmittance, arrivals, emitted = rows
    through, by_model = fixed
    seen, share, mirrored, around, moved, unknown = inputs
    for i in range(out.shape[0]):
        for k in range(out.shape[1]):
            back = cubic_at(coefficients, first, shift, mirrored[i, k])[0]
            own = cubic_at(coefficients, first, shift, around[i, k])[0]
            tau = _share(_at(transmittance[i], mirrored[i, k]) * np.exp(logs[1, i, k]) + by_model[1, i] * moved[i, k])
            lost = 1.0 - _share(through[2, i] * np.exp(logs[2, i, k]) + by_model[2, i] * moved[i, k])
            arrived = cubic_at(coefficients, first, shift, seen[i, k])[0] - lost * own
            arrived -= tau * (1.0 - share[i, k]) * back + unknown[i, k]
            factor = _share(through[0, i] * np.exp(logs[0, i, k]) + by_model[0, i] * moved[i, k]) / through[0, i]
            if arrived <= 0.0 or factor <= 0.0:
                out[i, k] = 0.0
                continue
            out[i, k] = np.exp(_emitted(np.log(arrived / (share[i, k] * factor)), arrivals[i], emitted))


def trial_interval(
    found: Effects, situation: Situation, camera: CameraDoubt, *, count: int, seed: int, coverage: float = 0.95
) -> tuple[Floats, Floats]:
    """Ends of the symmetric interval of each reading, K; infinite where it is open.

    Parameters
    ----------
    found, situation, camera, count, seed
        As for :func:`trial_radiances`.
    coverage : float
        Probability.

    Returns
    -------
    low, high : ndarray
        Minus infinity: the reading does not exclude any lower temperature of the table; plus infinity: any higher.
    """
    size = found.apparent.size
    low, high = np.empty(size), np.empty(size)
    for start in range(0, size, max(AT_ONCE // count, 1)):
        where = slice(start, start + max(AT_ONCE // count, 1))
        part = trial_radiances(found.part(where), situation.part(where), camera.part(where), count=count, seed=seed)
        low[where], high[where] = _ends(part, coverage)
    return _kelvin(found, low), _kelvin(found, high)


def _ends(radiance: Floats, coverage: float) -> tuple[Floats, Floats]:
    tail = int(0.5 * (1 - coverage) * radiance.shape[1])
    ordered = np.partition(radiance, (tail, radiance.shape[1] - 1 - tail), axis=1)
    return ordered[:, tail], ordered[:, radiance.shape[1] - 1 - tail]


def _kelvin(found: Effects, radiance: Floats) -> Floats:
    low, high = found.air.table.radiance(np.array(TABLE_RANGE))
    kelvin = found.air.table.temperature(radiance.clip(low, high))
    return np.asarray(np.where(radiance <= low, -np.inf, np.where(radiance >= high, np.inf, kelvin)))
