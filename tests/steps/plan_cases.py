"""A kit, ground and questions for the tests of plans."""

import numpy as np
import shapely

from groundglow.kit.fleet import catalogue
from groundglow.records.kit import Combination
from groundglow.records.log import Origin
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.ground import Ground, flat_ground

ORIGIN = Origin(8.0, 47.0, 0.0)
SITE = shapely.Polygon([(0, 0), (300, 40), (280, 250), (-30, 220)], [[(80, 80), (160, 80), (160, 150), (80, 150)]])
YARD = shapely.box(200.0, 90.0, 240.0, 150.0)


def kit(aircraft="demo-quad-work", camera="demo-640"):
    fleet = catalogue()
    body = fleet.cameras[camera]
    return Combination(body, body.lenses[0], fleet.aircraft[aircraft])


def level(height=300.0):
    return flat_ground((-3000.0, -3000.0, 3000.0, 3000.0), height)


def hills(rise=12.0, step=5.0, seed=None):
    """Waves of a given rise; with a seed, random ones."""
    x, y = np.arange(-500.0, 800.0, step), np.arange(700.0, -500.0, -step)
    if seed is None:
        heights = 300.0 + rise * np.sin(x[None] / 80) * np.cos(y[:, None] / 60)
    else:
        random = np.random.default_rng(seed)
        waves = [(random.uniform(0, rise), *random.uniform(30, 200, 2), *random.uniform(0, 6, 2)) for _ in range(4)]
        heights = 300.0 + sum(a * np.sin(x[None] / p + s) * np.cos(y[:, None] / q + t) for a, p, q, s, t in waves)
    return Ground(heights, (float(x[0]), float(y[0])), (step, -step))


def ask(**changed):
    given = {
        "name": "test", "kind": "area", "shape": SITE, "origin": ORIGIN, "kit": kit(), "ground": level(),
        "take_offs": {"home": (-60.0, -60.0)}, "sampling": 0.08,
    } | changed  # fmt: skip
    if changed.get("height") is not None:
        given["sampling"] = None
    return PlanAsk(**given)
