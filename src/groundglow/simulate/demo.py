"""The demonstration: an invented site, flown twice, written as a job; its truth apart from it.

What is drawn once a flight and what from frame to frame stands in the job's ERRORS.md, in flight.toml's notes and in
the truth:

* once for all: weather's errors, the sky's (`SKY_TEMPERATURE_SD`), each material's emissivity;
* once a flight: calibration error, fixed pattern, constant parts of position, height, tilt, heading, clock;
* slowly from frame to frame: drift, the other parts of position, height, tilt and heading;
* in each pixel: noise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

from groundglow.frames.clock import iso_time
from groundglow.frames.places import LocalPlane
from groundglow.model.band import BandTable, lookup, nominal_band
from groundglow.records.plan import Plan
from groundglow.simulate.film import film
from groundglow.simulate.flight.camera import CAMERA, make_pattern
from groundglow.simulate.flight.limit import Planted, Stage, plant, scaled
from groundglow.simulate.flight.path import Shot, fly
from groundglow.simulate.flight.world import make_air, make_sky, make_world
from groundglow.simulate.job_files import (
    FLIGHTS,
    PATTERN_K,
    PLACE,
    VISIT,
    write_brief,
    write_errors_page,
    write_flight_areas,
    write_outline,
    write_visit,
)
from groundglow.simulate.nature import Nature, draw_nature
from groundglow.simulate.reference_targets import references
from groundglow.simulate.site.build import build_site
from groundglow.simulate.site.decoys import Decoys
from groundglow.simulate.site.faults import place_faults
from groundglow.simulate.site.grounds import BOUNDS
from groundglow.simulate.site.paint import paint_scene
from groundglow.simulate.site.parts import Grid, Site
from groundglow.simulate.site.texture import Texture, make_texture
from groundglow.simulate.truth_files import (
    write_decoys,
    write_faults,
    write_flight_truth,
    write_site,
)

__all__ = ["ask_demo", "make_demo"]

_STEPS = {"overview": 0.025, "close": 0.0075}
#: What a flight may show, m.
_BOUNDS = {"overview": BOUNDS, "close": (-23.5, -4.5, 31.5, 20.5)}
#: Between landing and the next take-off, s.
_BETWEEN_S = 120.0


def ask_demo(job: Path, *, seed: int = 7) -> None:
    """Write what is asked: the brief with its plans, the site and what is to be flown over."""
    job.mkdir(parents=True, exist_ok=True)
    site, _ = build_site(np.random.default_rng([seed, 0]))
    write_brief(job)
    write_outline(job, site)
    write_flight_areas(job)


def make_demo(
    job: Path, truth: Path, plans: Sequence[Plan], *, seed: int = 7, small: bool = False, workers: int = 2
) -> None:
    """Build the invented site, fly the plans over it, add the visit to the job and, apart from it, write the truth.

    Parameters
    ----------
    job, truth : Path
        Folders; ``job`` as `ask_demo` left it. No step ever reads ``truth``.
    plans : sequence of Plan
        The answers to the two ``[[plan]]`` of the job's brief: overview, then close pass.
    seed : int
        The same seed gives the same bytes.
    small : bool
        Five frames of the overview and three of the close pass instead of forty each, for tests.
    workers : int
        Threads; the bytes do not depend on it.

    Raises
    ------
    JobError
        When the faults do not fit on the site (not with the default seed).
    """
    rngs = [np.random.default_rng([seed, k]) for k in range(8)]
    start = iso_time(f"{VISIT}T11:08:00Z") or 0.0
    table = lookup(nominal_band("7.5-13.5"))
    site, decoys = build_site(rngs[0])
    texture = make_texture(rngs[1], BOUNDS)
    nature = draw_nature(site, rngs[2])
    shots = _shots(plans, start, (rngs[3], rngs[4]))
    stages = _stages(site, texture, nature, table, shots, (rngs[3], rngs[4]))
    planted = _plant_all(stages, decoys, rngs[5], workers)
    flown = [
        film(job, stage, rng, small=small, workers=workers)
        for stage, rng in zip(stages.values(), rngs[6:], strict=True)
    ]
    _write_visit(job, stages["overview"], flown[0].shots)
    truth.mkdir(parents=True, exist_ok=True)
    write_site(truth, seed, nature, flown)
    write_faults(truth, planted, flown, workers=workers)
    write_decoys(truth, site, decoys, flown)
    for flight in flown:
        write_flight_truth(truth, flight, workers=workers)


def _shots(plans: Sequence[Plan], start: float, rngs: Sequence[np.random.Generator]) -> dict[str, list[Shot]]:
    """Each plan flown in turn: true shots by the flight's name."""
    found, now = {}, start
    for (name, prefix), plan, rng in zip(FLIGHTS.items(), plans, rngs, strict=True):
        found[name] = fly(plan, LocalPlane(PLACE), now, prefix, rng)
        now += max(s.start + s.duration for s in plan.sorties) + _BETWEEN_S
    return found


def _stages(
    site: Site,
    texture: Texture,
    nature: Nature,
    table: BandTable,
    flown: Mapping[str, Sequence[Shot]],
    rngs: Sequence[np.random.Generator],
) -> dict[str, Stage]:
    air, sky = make_air(table, nature.weather), make_sky(table, nature.weather)
    stages = {}
    for (name, shots), rng in zip(flown.items(), rngs, strict=True):
        scene = paint_scene(site, Grid.spanning(_BOUNDS[name], _STEPS[name]), texture, rng)
        world = make_world(scene, table, nature.emissivity)
        pattern = make_pattern(rng, CAMERA, rms=PATTERN_K)
        planted = world._replace(radiance=world.radiance.copy())
        stages[name] = Stage(name, scene, planted, world, sky, air, shots, table, pattern)
    return stages


def _plant_all(stages: dict[str, Stage], decoys: Decoys, rng: np.random.Generator, workers: int) -> list[Planted]:
    """Faults at their levels, then planted in both worlds.

    Areas, whose rings hold spots, are worked out one by one; spots lie too far apart to see each other.
    """
    faults = place_faults(stages["overview"].scene, decoys, rng)
    spots = [f for f in faults if f.form == "spot"]
    planted = [scaled(stages[f.flight], f) for f in faults if f.form == "area"]
    with ThreadPoolExecutor(workers) as pool:
        planted += pool.map(lambda f: scaled(stages[f.flight], f), spots)
    for stage in stages.values():
        for one in planted:
            plant(stage, one.fault.feature)
    return planted


def _write_visit(job: Path, overview: Stage, shots: Sequence[Shot]) -> None:
    (job / "visits" / VISIT).mkdir(parents=True, exist_ok=True)
    write_errors_page(job)
    start = overview.shots[0].time
    write_visit(job / "visits" / VISIT, start - 480.0, references(overview.scene, shots, start))
