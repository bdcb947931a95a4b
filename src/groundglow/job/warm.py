"""Compiling ahead: kernels are compiled once on a machine, each by one worker, while others do something else.

Without it all workers come to the same kernel at the same moment, and each of them compiles it. What is compiled
is kept on disk for the next process and the next run; then warming takes a fraction of a second.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor

import numpy as np

__all__ = ["WARMERS", "warm_finding", "warm_levelling", "warm_measuring", "warm_up"]

SIDE = 48


def warm_levelling() -> None:
    """What registering compiles: two small pictures compared."""
    from groundglow.steps.register.overlap import cell_table

    picture = np.zeros((SIDE, SIDE), dtype=np.float32)
    cell_table(picture, picture, np.eye(3), block=4, size=12)


def warm_measuring() -> None:
    """What measuring compiles: a small picture through air, in the types that frames come in."""
    from groundglow.model.band import lookup, nominal_band
    from groundglow.model.through_air import at_sensor_radiance_through_air, surface_temperature_through_air

    table = lookup(nominal_band("7.5-13.5"))
    air = {"air_temperature": 288.15, "relative_humidity": 0.5}
    one = np.ones((2, 2), dtype=np.float32)
    warm, sky = (table.radiance(np.float32(kelvin) * one) for kelvin in (300.0, 250.0))
    surface_temperature_through_air(
        table, warm, emissivity=0.9 * one, reflected_radiance=sky, distance=np.float32(50.0) * one, **air
    )
    at_sensor_radiance_through_air(
        table, 300.0, emissivity=0.9, reflected_radiance=float(sky[0, 0]), distance=50.0, **air
    )


def warm_finding() -> None:
    """What finding compiles: one warm spot and a calm picture around it."""
    from groundglow.model.doubt import Doubt
    from groundglow.records.brief import Question
    from groundglow.records.field import Field
    from groundglow.steps.find import FindSettings, candidates, searches

    value = np.random.default_rng(1).normal(290.0, 0.05, (2 * SIDE, 2 * SIDE)).astype(np.float32)
    value[SIDE : SIDE + 4, SIDE : SIDE + 4] += np.float32(2.0)
    doubt = Doubt(np.full(value.shape, 0.05, dtype=np.float32))
    field = Field(value, doubt, np.zeros(value.shape, dtype=np.uint8), "surface_temperature", "K")
    questions = [Question(name=kind, looking_for=kind) for kind in ("spot", "area")]
    settings = FindSettings()
    asked = searches(questions, settings, shape=value.shape, metres_per_pixel=None)
    candidates(field, asked, settings, "warm")


#: In the order in which they are handed out: the longest first.
WARMERS: tuple[Callable[[], None], ...] = (warm_measuring, warm_levelling, warm_finding)


def warm_up(executor: Executor) -> None:
    """Hand the warmers to a pool and do not wait; a warmer that fails costs nothing but its time."""
    for warmer in WARMERS:
        executor.submit(warmer)
