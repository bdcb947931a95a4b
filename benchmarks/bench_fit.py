"""Ten thousand combinations at 24 hours: arrays and compiled kernels against the plain loop of the tests.

The floor is `tests/steps/fit_reference.py`: one combination, one hour after another, by the model's functions for one
target. It is timed on a sample of cells and scaled. What both share (surface temperatures through the day, what a
band sees of them) is worked out beforehand. Printed are seconds of the processor, both sides on one core, and their
ratio: a busy machine does not change it much.

    python benchmarks/bench_fit.py [--kits 10000] [--cells 60]
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

begun = time.process_time()

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from tests.steps.fit_reference import plain_cell, plain_half_width  # noqa: E402

from groundglow.kit.fleet import catalogue  # noqa: E402 - the import is timed
from groundglow.kit.targets import target  # noqa: E402
from groundglow.records.fit import Ask, Sky, Work  # noqa: E402
from groundglow.records.kit import Combination  # noqa: E402
from groundglow.steps.fit.answer import answers_of  # noqa: E402
from groundglow.steps.fit.evaluate import Expected, evaluate  # noqa: E402
from groundglow.steps.fit.rank import ranked  # noqa: E402

IMPORTED = time.process_time() - begun
ROUNDS = 5


def many_kits(count: int) -> list[Combination]:
    """So many combinations of invented cameras, lenses and aircraft, all different."""
    rng, fleet = np.random.default_rng(1), catalogue()
    camera, lens = fleet.cameras["demo-640-field"], fleet.lenses["l640-22"]
    planes = list(fleet.aircraft.values())
    optics = [
        replace(lens, id=f"lens-{i}", focal_length=float(f), f_number=float(n))
        for i, (f, n) in enumerate(zip(rng.uniform(0.008, 0.06, 50), rng.choice([1.0, 1.1, 1.2, 1.4], 50), strict=True))
    ]
    bodies = [
        replace(camera, id=f"camera-{i}", noise=float(n), accuracy=float(a))
        for i, (n, a) in enumerate(zip(rng.uniform(0.03, 0.08, 40), rng.uniform(1.0, 5.0, 40), strict=True))
    ]
    every = [Combination(c, x, a) for c in bodies for x in optics for a in planes]
    return every[:count]


def seconds_of(work: Callable[[], object]) -> float:
    """Seconds of the processor."""
    start = time.process_time()
    work()
    return time.process_time() - start


def best(work: Callable[[], object]) -> float:
    """Least seconds of some rounds."""
    return min(seconds_of(work) for _ in range(ROUNDS))


def plain_seconds(ask: Ask, of: Expected, cells: int) -> float:
    """Seconds of one cell by the plain loop, mean over a sample."""
    rng = np.random.default_rng(2)
    kits = of.stack.combinations
    chosen = [(kits[int(rng.integers(len(kits)))], int(rng.integers(24))) for _ in range(cells)]
    mirrored = of.seen[0].reflected
    start = time.process_time()
    for kit, hour in chosen:
        plain_cell(ask, kit, of.scene, float(mirrored[hour]), hour=hour, distance=40.0)
        if ask.task == "measure":
            plain_half_width(ask, kit, of.scene, float(mirrored[hour]), hour=hour, distance=40.0)
    return (time.process_time() - start) / cells


def main() -> None:
    """Time both tasks and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kits", type=int, default=10_000)
    parser.add_argument("--cells", type=int, default=60)
    asked = parser.parse_args()
    kits = many_kits(asked.kits)
    see = Ask(
        "person", target("person-lying"), "recognise", 0.9, None, 40.0, 5.0, 120.0, Work("area", "", area=2e4),
        Sky(lowest=280.0, highest=292.0), lon_deg=11.0, lat_deg=48.0, day=1760000000.0,
    )  # fmt: skip
    measure = replace(see, name="clamp", target=target("clamp"), task="measure", accuracy=5.0, view="side", of="rise")
    print(f"imports {IMPORTED:.2f} s; {len(kits)} combinations x 24 hours")
    for ask in (see, measure):
        first = seconds_of(lambda ask=ask: evaluate(ask, kits))
        of = evaluate(ask, kits)
        ours = best(lambda ask=ask: evaluate(ask, kits))
        told = seconds_of(lambda of=of: ranked(answers_of(of)))
        cell = plain_seconds(ask, of, asked.cells)
        plain = cell * len(kits) * 24
        print(
            f"{ask.task}: first call with the ground model {first:.2f} s, then {ours:.3f} s; plain loop "
            f"{1e3 * cell:.2f} ms a cell, {plain:.0f} s in all; ratio {plain / ours:.0f} (wanted: at least 50). "
            f"Answers with reasons, ranked: {told:.1f} s more."
        )


if __name__ == "__main__":
    main()
