"""Surface temperature and five sensitivities of a frame: the fused kernel against plain NumPy.

The floor is a clean vectorised NumPy version of the same equation with the same table, 32-bit frames in and
out. Printed are ratios of processor times measured in the same run, in turns, best of all rounds, and the
share of the memory bandwidth that a copy of as many bytes reaches. One thread.

    python benchmarks/bench_sensing.py [--rows 512] [--columns 640] [--rounds 40]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numba import njit

from groundglow.model.band import lookup, nominal_band
from groundglow.model.sensing import (
    Surroundings,
    at_sensor_radiance,
    surface_temperature,
    surface_temperature_and_sensitivities,
    surroundings_at,
)

BURST = 4
BYTES_A_PIXEL = 8 + 24  # radiance and emissivity in; temperature and five sensitivities out


def cubic_numpy(cubic: Any, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Value and slope of the table's piecewise cubic by plain array operations."""
    cell = x.view(np.int32) >> cubic.shift
    t = x - (cell << np.int32(cubic.shift)).view(np.float32)
    k = np.clip(cell - cubic.first, 0, len(cubic.coefficients) - 1)
    c0, c1, c2, c3 = (column[k] for column in cubic.coefficients.T)
    inside = (x >= cubic.low) & (x <= cubic.high)
    value = c0 + t * (c1 + t * (c2 + t * c3))
    slope = c1 + t * (2 * c2 + t * (3 * c3))
    return np.where(inside, value, np.nan), np.where(inside, slope, np.nan)


def numpy_floor(cubic: Any, radiance: np.ndarray, emissivity: np.ndarray, around: tuple[Any, ...]) -> list[np.ndarray]:
    """The measurement equation undone and differentiated with NumPy."""
    reflected, tau, path, tau_w, window = around
    through = tau * tau_w
    gain = 1 / (emissivity * through)
    surface = (radiance - window - tau_w * path - through * (1 - emissivity) * reflected) * gain
    kelvin, slope = cubic_numpy(cubic, surface)
    by_radiance = slope * gain
    leaving = emissivity * surface + (1 - emissivity) * reflected
    results = [
        kelvin,
        by_radiance,
        (reflected - surface) * through * by_radiance,
        (emissivity - 1) * through * by_radiance,
        -tau_w * leaving * by_radiance,
        -tau_w * by_radiance,
    ]
    return [result.astype(np.float32) for result in results]


@njit(cache=True)
def copy(source: np.ndarray, target: np.ndarray) -> None:
    """Read and write each byte once."""
    for i in range(source.size):
        target[i] = source[i]


def in_turns(tasks: dict[str, Callable[[], object]], rounds: int) -> dict[str, np.ndarray]:
    """Processor seconds of each task in each round; the tasks take turns so that a busy machine treats them alike."""
    seconds: dict[str, list[float]] = {name: [] for name in tasks}
    for task in tasks.values():
        task()
    for _ in range(rounds):
        for name, task in tasks.items():
            for _ in range(BURST):  # the first of a burst pays for the caches that another task filled
                start = time.thread_time()
                kept = task()  # noqa: F841 - as a caller does, who keeps the result
                seconds[name].append(time.thread_time() - start)
    return {name: np.array(values) for name, values in seconds.items()}


def conditions(shape: tuple[int, int], table: Any, *, per_pixel: bool) -> Surroundings:
    """A clear sky reflected, 60 m of air."""
    around = surroundings_at(table, reflected_temperature=250.0, air_temperature=290.0, transmittance=0.93)
    if not per_pixel:
        return around
    varied = np.linspace(0.95, 1.0, shape[0] * shape[1], dtype=np.float32).reshape(shape)
    reflected, tau, path = (np.float32(v) * varied for v in around.arrays()[:3])
    return Surroundings(reflected, tau, path)


def run(shape: tuple[int, int], rounds: int, *, per_pixel: bool) -> None:
    """Measure one kind of conditions and print the ratios."""
    table, rng = lookup(nominal_band("7.5-13.5")), np.random.default_rng(7)
    around = conditions(shape, table, per_pixel=per_pixel)
    emissivity = rng.uniform(0.8, 0.98, shape).astype(np.float32)
    truth = rng.uniform(270.0, 330.0, shape).astype(np.float32)
    radiance = at_sensor_radiance(table, truth, emissivity, around).astype(np.float32)
    out = np.empty((6, *shape), dtype=np.float32)
    plain = tuple(a.astype(np.float32) for a in around.arrays())
    source = np.ones(radiance.size * BYTES_A_PIXEL // 8, dtype=np.float32)
    target = np.empty_like(source)
    times = in_turns(
        {
            "floor": lambda: numpy_floor(table.to_temperature, radiance, emissivity, plain),
            "into": lambda: surface_temperature_and_sensitivities(table, radiance, emissivity, around, out=out),
            "fresh": lambda: surface_temperature_and_sensitivities(table, radiance, emissivity, around),
            "temperature": lambda: surface_temperature(table, radiance, emissivity, around),
            "copy": lambda: copy(source, target),
        },
        rounds,
    )
    check(numpy_floor(table.to_temperature, radiance, emissivity, plain), out)
    report(times, radiance.size, "a pixel" if per_pixel else "a frame")


def check(floor: list[np.ndarray], ours: np.ndarray) -> None:
    """Both must say the same before their times mean anything."""
    for one, other in zip(floor, ours, strict=True):
        np.testing.assert_allclose(one, other, rtol=2e-5)


def report(times: dict[str, np.ndarray], pixels: int, kind: str) -> None:
    """Ratios of the best rounds; nanoseconds a pixel for the reader's own machine."""
    best = {name: float(values.min()) for name, values in times.items()}
    print(f"conditions for {kind}:")
    for name, what in (
        ("into", "temperature and sensitivities, into given arrays"),
        ("fresh", "temperature and sensitivities, fresh arrays"),
        ("temperature", "temperature alone (floor computes all)"),
    ):
        print(f"  {best['floor'] / best[name]:6.1f} x NumPy   {1e9 * best[name] / pixels:6.2f} ns a pixel   {what}")
    print(f"  {best['copy'] / best['into']:6.0%} of the bandwidth of a copy of as many bytes")
    print(f"         NumPy floor {1e9 * best['floor'] / pixels:6.2f} ns a pixel")


def main() -> None:
    """Read the size and run both kinds."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--rows", type=int, default=512)
    options.add_argument("--columns", type=int, default=640)
    options.add_argument("--rounds", type=int, default=40)
    given = options.parse_args()
    for per_pixel in (False, True):
        run((given.rows, given.columns), given.rounds, per_pixel=per_pixel)


if __name__ == "__main__":
    main()
