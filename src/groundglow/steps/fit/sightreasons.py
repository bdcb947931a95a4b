"""Why a combination does not see or measure as asked at its distance: pixels, contrast, smear, range, accuracy."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from scipy.special import ndtri

from groundglow.model.seeing import JOHNSON_CYCLES, THRESHOLD_SNR, cycles_for_probability, probability_above_threshold
from groundglow.records.fit import Ask, Reason
from groundglow.steps.fit.evaluate import Expected
from groundglow.steps.fit.kernels import cycles_by_hour
from groundglow.steps.fit.resolving import FREQUENCIES, LAGS
from groundglow.steps.fit.settings import LEAST_PIXELS

__all__ = ["sight_reasons"]

_ZERO = 273.15
_NYQUIST = 0.5  # cycles per pixel
_STAYS_ON = {"detect": "detecting", "recognise": "recognising", "identify": "identifying", "measure": "finding"}


def sight_reasons(of: Expected, i: int) -> tuple[Reason, ...]:
    """Reasons of combination ``i`` at the hour of the answer, in the order in which they bind."""
    return tuple(_reasons(of, i))


def _reasons(of: Expected, i: int) -> Iterator[Reason]:
    ask, distance = of.ask, float(of.distance[i])
    if ask.distance is not None and not ask.nearest <= distance <= ask.highest:
        limits = f"{ask.nearest:.0f} to {ask.highest:.0f} m"
        yield Reason("stand-off", f"{distance:.0f} m is asked for; the limits are {limits}")
    if distance < of.lowest[i]:
        yield Reason("stand-off", f"it cannot hover: {of.lowest[i]:.0f} m over ground are kept, {distance:.0f} m asked")
    if not of.seeing_works[i, of.hour]:
        yield _not_seen(of, i)
    if ask.task == "measure" and np.isfinite(of.half_width[i, of.hour]):
        yield from _not_measured(of, i)


def _not_seen(of: Expected, i: int) -> Reason:
    ask, distance = of.ask, float(of.distance[i])
    task = "detect" if ask.task == "measure" else ask.task
    needed = float(cycles_for_probability(ask.probability, JOHNSON_CYCLES[task]))
    across = of.pixels[0][i] * of.pixels[1][i]
    if of.scene.hidden(ask.target)[of.hour]:
        return Reason("hour", f"{ask.target.name} is looked for at night: by day sun, shade and soil hide it")
    doing = f"{_STAYS_ON[ask.task]} with {100 * ask.probability:.0f} % at {distance:.0f} m"
    if needed > _NYQUIST * across**0.5:
        return Reason("pixels", f"{doing} takes {2 * needed:.1f} pixels across the target; it has {across**0.5:.1f}")
    if float(probability_above_threshold(of.contrast[i, of.hour], THRESHOLD_SNR)) < ask.probability:
        rise, there = abs(float(of.seen[of.stack.band[i]].sure_rise[of.hour])), of.contrast[i, of.hour]
        least = THRESHOLD_SNR + float(ndtri(ask.probability))
        return Reason(
            "contrast",
            f"a sure rise of {rise:.1f} K is {there:.1f} times noise and clutter there; {least:.1f} are needed",
        )
    if _still_cycles(of, i) >= needed:
        return Reason(
            "smear",
            f"at {of.speed[i]:.0f} m/s the picture moves {of.lag[i]:.1f} pixels in the detector's time constant",
        )
    return Reason("contrast", f"{doing}: its contrast resolves {of.cycles[i, of.hour]:.1f} of {needed:.1f} line pairs")


def _still_cycles(of: Expected, i: int) -> float:
    """Line pairs on the target if nothing moved."""
    s, band = of.stack, of.stack.band[i : i + 1]
    size = np.array([(of.pixels[0][i] * of.pixels[1][i]) ** 0.5 * of.distance[i]])
    seen = of.seen[int(band[0])]
    noise = np.array([[float(np.hypot(s.noise[i] * seen.noise[of.hour], s.pattern[i]))]])
    columns = (np.zeros(1, dtype=np.intp), np.zeros(1, dtype=np.intp), size, np.zeros((1, 3)), noise, 0.0)
    rise = np.array([[float(seen.sure_rise[of.hour]) * of.through_air(i)]])
    table = of.resolving.log_difference[s.spread[i] : s.spread[i] + 1]
    out = np.empty((1, 1))
    # The rise already holds the air: none is left between.
    clear = (rise, np.ones((1, 1, 2)), 2.0)
    cycles_by_hour(columns, clear, (table, (FREQUENCIES, LAGS)), of.distance[i : i + 1], out)
    return float(out[0, 0])


def _not_measured(of: Expected, i: int) -> Iterator[Reason]:
    ask: Ask = of.ask
    short = float(of.pixels[1][i])
    if short < LEAST_PIXELS:
        yield Reason(
            "pixels",
            f"{short:.1f} pixels across the shorter side at {of.distance[i]:.0f} m: below {LEAST_PIXELS:.0f} it is "
            "detected only",
        )
    if not of.in_range[i, of.hour]:
        kelvin = float(of.scene.target[of.hour])
        ranges = of.stack.combinations[i].camera.ranges
        held = " and ".join(f"{low - _ZERO:.0f} to {high - _ZERO:.0f} °C" for low, high in ranges)
        yield Reason("range", f"the target is at {kelvin - _ZERO:.0f} °C; it is calibrated for {held}")
    half = float(of.half_width[i, of.hour])
    if half > (ask.accuracy or 0.0):
        yield Reason("accuracy", f"the 95 % interval is ±{half:.1f} K; ±{ask.accuracy:.1f} K of a {ask.of} are asked")
