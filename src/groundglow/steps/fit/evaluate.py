"""Every combination at every hour, as arrays: how far each task works, what is expected at the chosen distance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri

from groundglow.model.limits import require
from groundglow.model.seeing import (
    JOHNSON_CYCLES,
    THRESHOLD_SNR,
    critical_dimension,
    cycles_for_probability,
    probability_above_threshold,
    probability_of_task,
)
from groundglow.records.fit import Ask
from groundglow.records.kit import Combination
from groundglow.steps.fit.air import DISTANCES, FARTHEST, Doubts, Seen, band_of, doubts_of, seen_through
from groundglow.steps.fit.kernels import contrast_by_hour, cycles_by_hour, farthest
from groundglow.steps.fit.measuring import Measuring, interval_reach, lag_at
from groundglow.steps.fit.resolving import FREQUENCIES, LAGS, Resolving, resolving
from groundglow.steps.fit.scene import Scene, scene_of
from groundglow.steps.fit.settings import FORWARD_OVERLAP, IN_HAND, LEAST_PIXELS, LOWEST_WING, SMEAR_LIMIT
from groundglow.steps.fit.stack import Stack, stack_of

__all__ = ["TASKS", "Expected", "evaluate"]

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]

#: Tasks of seeing, the easiest first.
TASKS = ("detect", "recognise", "identify")


@dataclass(frozen=True, eq=False)
class Expected:
    """What is expected of each combination (N) at each hour (H).

    ``hour`` is the one that answers are given for; ``lowest`` (N,) m is the nearest
    stand-off that is kept; ``reach`` (N, 3) m by `TASKS`; ``measure`` (N,) m or None;
    ``distance``, ``lag`` (N,); ``cycles`` (N, H) on the target at that distance and its ``contrast`` over
    noise and clutter; ``half_width`` (N, H) K or None where
    nothing is measured, at ``hour`` alone when seeing is asked.
    """

    ask: Ask
    stack: Stack
    scene: Scene
    seen: tuple[Seen, ...]
    resolving: Resolving
    hour: int
    motion: Array
    lowest: Array
    reach: Array
    measure: Array | None
    distance: Array
    cycles: Array
    contrast: Array
    measuring: Measuring
    half_width: Array

    @cached_property
    def lag(self) -> Array:
        """Motion of the picture during one thermal time constant at the distance, px."""
        return lag_at(self.motion, self.distance)

    @cached_property
    def speed(self) -> Array:
        """Over ground at the distance, m/s."""
        return np.asarray(self.lag * self.stack.ifov * self.distance / self.stack.time_constant)

    def probability(self, task: str) -> Array:
        """Of a task of seeing, (N, H): the lesser of making it out by its detail and of its standing out at all."""
        return np.minimum(probability_of_task(self.cycles, JOHNSON_CYCLES[task]), self._stands_out)

    @cached_property
    def _stands_out(self) -> Array:
        return probability_above_threshold(self.contrast, THRESHOLD_SNR)

    @cached_property
    def chances(self) -> Mapping[str, Array]:
        """Probability of each task of seeing at the hour of the answer, (N,)."""
        return {task: self.probability(task)[:, self.hour] for task in TASKS}

    @cached_property
    def seeing_works(self) -> Bools:
        """Whether the target is seen as asked: the asked task, or found at all where measuring is asked; (N, H)."""
        task = "detect" if self.ask.task == "measure" else self.ask.task
        return np.asarray(self.probability(task) >= self.ask.probability)

    @cached_property
    def pixels(self) -> tuple[Array, Array]:
        """On the longer and the shorter side as seen, (N,)."""
        per = 1.0 / (self.stack.ifov * self.distance)
        long, short = self.ask.target.sides(self.ask.view)
        return long * per, short * per

    @cached_property
    def in_range(self) -> Bools:
        """Whether a calibrated range holds the target at each hour, (N, H)."""
        kelvin = self.scene.target[None, :]
        out = np.zeros((self.stack.size, self.scene.size), dtype=bool)
        for i, c in enumerate(self.stack.combinations):
            for low, high in c.camera.ranges:
                out[i] |= ((kelvin >= low) & (kelvin <= high))[0]
        return out

    @cached_property
    def measuring_works(self) -> Bools:
        """Whether the interval is as narrow as asked, in range, on pixels enough; (N, H)."""
        narrow = self.half_width <= (self.ask.accuracy or 0.0)
        enough = self.pixels[1] >= LEAST_PIXELS
        return np.asarray(narrow & self.in_range & enough[:, None])

    @cached_property
    def works(self) -> Bools:
        """Whether the asked task works, (N, H)."""
        return self.seeing_works & self.measuring_works if self.ask.task == "measure" else self.seeing_works

    @property
    def farthest(self) -> float:
        """Where the air model ends, m: no reach goes beyond."""
        return FARTHEST

    @cached_property
    def share(self) -> Array:
        """Share of the rise that the peak pixel shows, (N,)."""
        return self.measuring.response(self.distance, self.lag).share

    def through_air(self, i: int) -> float:
        """Transmittance between the target and combination ``i`` at the hour of the answer."""
        row = self.seen[int(self.stack.band[i])].transmittance[self.hour]
        return float(np.interp(np.log(self.distance[i]), np.log(DISTANCES), row))

    @cached_property
    def asked_reach(self) -> Array:
        """Largest distance of the asked task, m."""
        if self.measure is not None and self.ask.task == "measure":
            return self.measure
        return np.asarray(self.reach[:, TASKS.index(self.ask.task)])


def _motion(ask: Ask, stack: Stack, speeds: Array | None) -> Array:
    """Slowest and fastest lag in px x m, and the lag that the survey keeps under, (N, 3)."""
    per = stack.time_constant / stack.ifov
    slow, fast = stack.slowest, stack.fastest
    wanted = ask.speed if speeds is None else speeds
    if wanted is not None:
        # An aircraft that cannot fly so slowly or so fast flies as near to it as it can.
        fixed = np.clip(wanted, slow, np.maximum(fast, slow))
        return np.column_stack([fixed * per, fixed * per, np.full(stack.size, np.inf)])
    still = (slow == 0.0) & (ask.work.shape == "point")
    kept = FORWARD_OVERLAP["measure" if ask.task == "measure" else "see"]
    by_rate = stack.rate * stack.rows * (1.0 - kept) * stack.time_constant
    limit = np.where(still, 0.0, np.minimum(SMEAR_LIMIT, by_rate))
    return np.column_stack([slow * per, fast * per, limit])


def _hour(ask: Ask, scene: Scene, seen: Seen) -> int:
    """The hour asked for, or the one with the surest rise."""
    if ask.hour is not None and scene.known:
        return ask.hour
    return int(np.argmax(np.abs(seen.sure_rise)))


def _lowest(ask: Ask, stack: Stack) -> Array:
    """Nearest stand-off that is kept, m: what cannot hover stays higher over ground."""
    low = np.full(stack.size, ask.nearest)
    return np.where(stack.slowest > 0, np.maximum(low, LOWEST_WING), low) if ask.view == "above" else low


def _distance(ask: Ask, lowest: Array, reach: Array) -> Array:
    """The distance asked for, or one with something in hand within the limits, m."""
    if ask.distance is not None:
        return np.full(reach.shape, ask.distance)
    return np.clip(reach / (1.0 + IN_HAND), lowest, np.maximum(ask.highest, lowest))


def _noises(stack: Stack, seen: Sequence[Seen]) -> tuple[Array, Array]:
    """Noise of a pixel at the scene's temperature, and with the residual pattern, (N, H), K."""
    own = stack.noise[:, None] * np.array([s.noise for s in seen])[stack.band]
    return own, np.hypot(own, stack.pattern[:, None])


def evaluate(
    ask: Ask, combinations: Sequence[Combination], *, distances: Array | None = None, speeds: Array | None = None
) -> Expected:
    """Work out all combinations at all hours of a question.

    Parameters
    ----------
    ask : Ask
    combinations : sequence of Combination
        One or more.
    distances, speeds : ndarray, shape (N,), optional
        For each combination in place of the question's own, m and m/s: the same kit may be listed many times.

    Returns
    -------
    Expected

    Raises
    ------
    InputError
        When the scene cannot be told.
    RangeError
        For weather outside of what the air model was tested for.
    """
    stack = stack_of(combinations, highest_frame_rate=ask.highest_frame_rate)
    scene = scene_of(ask)
    seen = tuple(_kept_seen(ask, scene, edges) for edges in stack.bands)
    hour = _hour(ask, scene, seen[0])
    tables = resolving(stack.spreads)
    motion = _motion(ask, stack, speeds)
    own, noise = _noises(stack, seen)
    size = float(critical_dimension(*ask.target.sides(ask.view)))
    columns = (stack.band, stack.spread, size / stack.ifov, motion, noise, ask.target.clutter)
    light = (np.array([s.sure_rise for s in seen]), np.array([s.transmittance for s in seen]), FARTHEST)
    packed = (tables.log_difference, (FREQUENCIES, LAGS))
    reach = np.zeros((stack.size, len(TASKS)))
    needed = np.array([float(cycles_for_probability(ask.probability, JOHNSON_CYCLES[task])) for task in TASKS])
    least = THRESHOLD_SNR + float(ndtri(ask.probability))
    farthest(columns, light, packed, (needed, least), hour, reach)
    measuring = _measuring(ask, stack, scene, (seen, own, hour))
    measure = None
    if ask.accuracy is not None:
        at = hour if ask.task == "measure" else 0
        measure = np.nan_to_num(interval_reach(measuring, motion, reach[:, 0], at))
    asked = measure if measure is not None and ask.task == "measure" else _task_reach(ask, reach)
    lowest = _lowest(ask, stack)
    distance = _distance(ask, lowest, asked) if distances is None else distances
    require("distance", distance, (distance > 0) & (distance <= FARTHEST), unit="m", allowed="above 0 to 5000 m",
            why="the air model's range", hint="Check the unit.")  # fmt: skip
    cycles = np.empty((stack.size, scene.size))
    cycles_by_hour(columns, light, packed, distance, cycles)
    contrast = np.empty(cycles.shape)
    contrast_by_hour(columns, light, distance, contrast)
    half_width = measuring.half_width(distance, measuring.response(distance, lag_at(motion, distance)))
    return Expected(
        ask,
        stack,
        scene,
        seen,
        tables,
        hour,
        motion,
        lowest,
        reach,
        measure,
        distance,
        cycles,
        contrast,
        measuring,
        half_width,
    )


def _task_reach(ask: Ask, reach: Array) -> Array:
    return np.asarray(reach[:, TASKS.index(ask.task) if ask.task in TASKS else 0])


def _measuring(ask: Ask, stack: Stack, scene: Scene, of: tuple[Sequence[Seen], Array, int]) -> Measuring:
    """Doubts at all hours where measuring is asked, else at the one hour of the answer."""
    seen, own, hour = of
    hours = slice(None) if ask.task == "measure" else slice(hour, hour + 1)
    doubts: list[Doubts] = [_kept_doubts(ask, scene, s, hours) for s in seen]
    return Measuring(ask, stack, doubts, scene.rise[hours], own[:, hours])


def _kept_seen(ask: Ask, scene: Scene, edges: tuple[float, float]) -> Seen:
    """What a band sees of a scene, kept while questions differ in other things only."""
    key = ("seen", edges, ask.view, ask.target.emissivity, ask.target.only_at, ask.sky)
    if key not in scene.kept:
        scene.kept[key] = seen_through(ask, scene, band_of(edges))
    seen: Seen = scene.kept[key]
    return seen


def _kept_doubts(ask: Ask, scene: Scene, seen: Seen, hours: slice) -> Doubts:
    """Doubts of a scene, likewise."""
    of = ask.target
    key = ("doubts", seen.table.band.name, ask.view, of.emissivity, of.emissivity_sd, ask.sky, hours.start, hours.stop)
    if key not in scene.kept:
        scene.kept[key] = doubts_of(ask, scene, seen, hours)
    doubts: Doubts = scene.kept[key]
    return doubts
