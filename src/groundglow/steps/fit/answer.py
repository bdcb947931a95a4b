"""The answer for each combination: fit, or unfit with its reasons, and what is expected of it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from groundglow.kit.place_of_use import UseTable
from groundglow.records.fit import Answer, Ask, At, Reach
from groundglow.records.kit import Combination
from groundglow.steps.fit.effort import effort
from groundglow.steps.fit.evaluate import TASKS, Expected, evaluate
from groundglow.steps.fit.limits import chosen_recording, kit_reasons
from groundglow.steps.fit.place_of_use import use_flag
from groundglow.steps.fit.rank import ranked
from groundglow.steps.fit.settings import LEAST_PIXELS
from groundglow.steps.fit.sightreasons import sight_reasons
from groundglow.steps.fit.stack import highest_rate

__all__ = ["answer", "answers_of"]

_CAPPED = 0.999


def answer(ask: Ask, combinations: Sequence[Combination], *, table: UseTable | None = None) -> tuple[Answer, ...]:
    """Every combination, fit ones first and ranked.

    Parameters
    ----------
    ask : Ask
    combinations : sequence of Combination
        One or more.
    table : UseTable, optional
        The user's table of places of use; with it and places said each answer carries a flag.

    Returns
    -------
    tuple of Answer
    """
    return ranked(answers_of(evaluate(ask, combinations), table=table))


def answers_of(of: Expected, *, table: UseTable | None = None) -> tuple[Answer, ...]:
    """Answers in the order of the combinations."""
    return tuple(_answer(of, i, table) for i in range(of.stack.size))


def _answer(of: Expected, i: int, table: UseTable | None) -> Answer:
    ask, kit = of.ask, of.stack.combinations[i]
    at = _at(of, i)
    work = effort(ask, kit, speed=at.speed, footprint=at.footprint)
    reasons = (*kit_reasons(ask, kit), *sight_reasons(of, i))
    rate = highest_rate(kit, ask.highest_frame_rate)
    return Answer(
        combination=kit,
        fit=not reasons,
        reasons=reasons,
        reach=_reach(of, i),
        at=at,
        effort=work,
        margin=float(of.asked_reach[i]) / at.distance - 1.0,
        hours=tuple(bool(w) for w in of.works[i]) if of.scene.known else (),
        recording=chosen_recording(ask, kit.camera),
        frame_rate=rate,
        flags=_flags(ask, kit, table),
    )


def _flags(ask: Ask, kit: Combination, table: UseTable | None) -> tuple[str, ...]:
    """Beside the answer, never a reason: what the user's table says of the fastest that this camera can be set to."""
    if table is None or not (ask.use.bought_in or ask.use.used_in):
        return ()
    fastest = max(kit.camera.frame_rates)
    return (f"{use_flag(ask.use, fastest, table).told} It can be set to {fastest:g} Hz.",)


def _reach(of: Expected, i: int) -> Reach:
    detect, recognise, identify = (float(v) for v in of.reach[i])
    short = of.ask.target.sides(of.ask.view)[1]
    camera = of.stack.combinations[i].camera
    measures = of.measure is not None and camera.accuracy is not None
    return Reach(
        detect,
        recognise,
        identify,
        float(of.measure[i]) if measures and of.measure is not None else None,
        short / (float(of.stack.ifov[i]) * of.ask.target.pixels),
        capped=detect > _CAPPED * of.farthest,
    )


def _at(of: Expected, i: int) -> At:
    s, hour, distance = of.stack, of.hour, float(of.distance[i])
    sampling = float(s.ifov[i]) * distance
    seen = of.seen[int(s.band[i])]
    share = float(of.share[i])
    through = float(of.through_air(i))
    half = float(of.half_width[i, hour if of.half_width.shape[1] > hour and of.ask.task == "measure" else 0])
    measured = bool(np.isfinite(half))
    rise = float(of.scene.rise[hour])
    return At(
        distance=distance,
        footprint=(float(s.columns[i]) * sampling, float(s.rows[i]) * sampling),
        ground_sampling=sampling,
        pixels=(float(of.pixels[0][i]), float(of.pixels[1][i])),
        rise=rise,
        contrast=float(np.sign(seen.rise[hour]) * of.contrast[i, hour]),
        transmittance=through,
        probability={task: float(of.chances[task][i]) for task in TASKS},
        interval=half if measured else None,
        bias=(share - 1.0) * rise if measured else None,
        support=_support(of, i, half if measured else None),
        speed=float(of.speed[i]),
        smear=float(of.lag[i]),
        hour=hour if of.scene.known else None,
    )


def _support(of: Expected, i: int, half: float | None) -> str:
    """In the words of the report; worst first."""
    short, ask = float(of.pixels[1][i]), of.ask
    if half is None or not of.in_range[i, of.hour]:
        return "not supported"
    if short < LEAST_PIXELS:
        return "detected only"
    if short < ask.target.pixels:
        return "corrected"
    return "supported"
