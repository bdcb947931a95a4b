"""The stated doubt of places holds over many random flights."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom
from tests.steps.find_flights import HEIGHT, Doubts, Errors, Flown, flown, lines, sights

from groundglow.steps.find.place import Place, place_of


def drawn(rng: np.random.Generator, doubts: Doubts, tie_px: float) -> Flown:
    """A flight with errors drawn from what its records state: half of the variance common, half each frame's own."""
    half = np.sqrt(0.5)
    common = Errors(
        scale=rng.normal(0, half * doubts.height / HEIGHT),
        heading=rng.normal(0, half * doubts.heading),
        tilt=(rng.normal(0, half * doubts.tilt), rng.normal(0, half * doubts.tilt)),
        own=True,
        tie_px=tie_px,
    )
    return flown(common, rng, doubts=doubts, poses=lines(2, 3))


def placed(flight: Flown, x: float, y: float, z: float, rng: np.random.Generator) -> Place:
    """Place of a thing whose centre each frame reads to half a pixel."""
    seen = [
        replace(c, column=c.column + rng.normal(0, 0.5), row=c.row + rng.normal(0, 0.5))
        for c in sights(flight, x, y, z)
    ]
    return place_of(tuple(seen), seen[0], flight.sight)


def misses(count: int, doubts: Doubts, tie_px: float) -> NDArray[np.float64]:
    """Errors of places over their stated standard uncertainty in so many random flights, shape (count, 2)."""
    out = []
    for seed in range(count):
        rng = np.random.default_rng((seed, 77))
        flight = drawn(rng, doubts, tie_px)
        x, y = rng.uniform(-8, 8, 2)
        place = placed(flight, x, y, rng.normal(0, 1.0), rng)
        wander = rng.normal(0, doubts.place, 2)  # of the receiver: one over a short flight
        out.append((np.array([place.x, place.y]) + wander - (x, y)) / place.sd)
    return np.array(out)


def test_places_lie_within_their_stated_doubt_as_often_as_stated() -> None:
    """200 random flights: misses of the 95 % interval within the central 99 % of the binomial law, both axes."""
    z = misses(200, Doubts(shared=0.0), 1.5)
    low, high = binom.ppf((0.005, 0.995), len(z), 0.05)
    for axis in z.T:
        assert low <= np.count_nonzero(np.abs(axis) > 1.96) <= high
