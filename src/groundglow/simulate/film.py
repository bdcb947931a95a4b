"""Filming one flight: every frame written as the camera would, and what was drawn for it kept as truth."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundglow.frames.writing import write_frame_tiff
from groundglow.simulate.flight.bird import Bird, draw_bird, where_is
from groundglow.simulate.flight.camera import CAMERA, Calibration, expose, make_calibration, noise_counts
from groundglow.simulate.flight.limit import Stage
from groundglow.simulate.flight.path import DOUBTS, Shot, slow_errors, written_down
from groundglow.simulate.flight.render import View, render
from groundglow.simulate.job_files import CALIBRATION_SD_K, DRIFT_K, DRIFT_MEMORY_S, VISIT, stamp_of, write_flight
from groundglow.simulate.truth_files import FlightTruth

__all__ = ["film"]

#: Numbers of the frames of a small job.
_SMALL = {"overview": [19, 20, 21, 22, 23], "close": [8, 9, 10]}


@dataclass(frozen=True)
class _Drawn:
    """What was drawn for one flight: recorded shots, errors in K, keys of the noise, the bird."""

    recorded: list[Shot]
    offset: float
    drift: NDArray[np.float64]
    keys: NDArray[np.int64]
    bird: Bird


def film(job: Path, stage: Stage, rng: np.random.Generator, *, small: bool, workers: int) -> FlightTruth:
    """Every frame of one flight, ``flight.toml`` and ``poses.csv``.

    Parameters
    ----------
    job : Path
        The job's folder.
    stage : Stage
        With all faults in place.
    small : bool
        A few frames only; they are the same as in the whole flight.
    workers : int
        Threads.
    """
    folder = job / "visits" / VISIT / "flights" / stage.name
    (folder / "frames").mkdir(parents=True, exist_ok=True)
    drawn = _draw(stage, rng)
    calibration = make_calibration(stage.table, CAMERA)
    chosen = _SMALL[stage.name] if small else list(range(len(stage.shots)))
    recorded = [drawn.recorded[k] for k in chosen]
    write_flight(folder, stage.name, recorded, calibration)
    with ThreadPoolExecutor(workers) as pool:
        views = list(pool.map(lambda k: _frame(folder, stage, drawn, k, calibration), chosen))
    drift = [float(drawn.drift[k]) for k in chosen]
    return FlightTruth(stage, [stage.shots[k] for k in chosen], recorded, drawn.offset, drift, drawn.bird, views)


def _draw(stage: Stage, rng: np.random.Generator) -> _Drawn:
    recorded = written_down(list(stage.shots), DOUBTS, rng)
    times = np.array([s.time for s in stage.shots])
    drift = slow_errors(rng, times, DRIFT_K, DRIFT_MEMORY_S)
    offset = float(rng.normal(0.0, CALIBRATION_SD_K))
    return _Drawn(recorded, offset, drift, rng.integers(0, 2**31, times.size), _bird(stage))


def _frame(folder: Path, stage: Stage, drawn: _Drawn, k: int, calibration: Calibration) -> View:
    """One frame on disk; returns what it shows without the camera's errors."""
    view = render(stage.shots[k], stage.world, stage.sky, stage.air)
    seen = where_is(drawn.bird, stage.shots[k])
    warm = float(stage.table.radiance(drawn.bird.temperature))
    radiance = view.radiance if seen is None else draw_bird(view.radiance, seen, warm)
    noise = np.random.default_rng(drawn.keys[k]).standard_normal(radiance.shape, dtype=np.float32)
    offset = drawn.offset + drawn.drift[k] + stage.pattern
    counts = expose(radiance, stage.table, calibration, offset=offset, noise=noise * noise_counts(calibration))
    write_frame_tiff(folder / "frames" / f"{drawn.recorded[k].name}.tif", counts, stamp_of(drawn.recorded[k]))
    return view


def _bird(stage: Stage) -> Bird:
    """Through the middle of the flight at two fifths of its height, slower than the camera and across its way."""
    k = len(stage.shots) // 2 - 3
    before, middle = stage.shots[k - 1], stage.shots[k]
    along = (middle.position - before.position) / (middle.time - before.time)
    across = np.array([-along[1], along[0], 0.0])
    place = middle.position * np.array([1.0, 1.0, 0.42])
    return Bird(middle.time, place, (0.55 * along + 0.6 * across) * np.array([1.0, 1.0, 0.0]))
