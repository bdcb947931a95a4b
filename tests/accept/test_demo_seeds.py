"""Twenty invented sites, flown and searched: how much is found, how much of it is false, where it is said to lie.

One site is one draw of everything that a flight shares. Only many of them show whether stated doubts are true.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binom
from tests.journeys.conftest import groundglow

from groundglow.simulate import Score, score

pytestmark = pytest.mark.accept

#: Not the demo's own seed; ``GROUNDGLOW_FIRST_SEED`` moves on to sites that nobody has looked at.
FIRST_SEED = int(os.environ.get("GROUNDGLOW_FIRST_SEED", "201"))
SITES = 20


@pytest.fixture(scope="module")
def scores(tmp_path_factory: pytest.TempPathFactory) -> list[Score]:
    """The score of each site."""
    root = tmp_path_factory.mktemp("sites")
    return [_one(root / f"site-{seed}", seed) for seed in range(FIRST_SEED, FIRST_SEED + SITES)]


def _one(job: Path, seed: int) -> Score:
    groundglow("demo", str(job), "--seed", str(seed), "--quiet")
    found = score(job / "out/find/findings.json", job.with_name(f"{job.name}-truth"))
    print(f"seed {seed}:", *found.lines(), sep="\n  ")
    return found


def test_strong_faults_are_found(scores: list[Score]) -> None:
    """At least 99 % of those planted at 5 times the contrast-noise limit or more."""
    strong = [level for s in scores for level in s.levels if level.multiple >= 5]
    assert sum(x.planted for x in strong) >= 10 * SITES
    assert sum(x.found for x in strong) >= 0.99 * sum(x.planted for x in strong)


def test_areas_are_found(scores: list[Score]) -> None:
    """Wet roof and inflow, on every site that shows them."""
    assert all(found for s in scores for found in s.areas.values())


def test_little_of_it_is_false(scores: list[Score]) -> None:
    """At most 5 false finds a hectare with all decoys in, fixtures in health counted; no reflection, no bird."""
    assert float(np.mean([s.false_per_hectare for s in scores])) <= 5.0
    assert not [k for s in scores for k in s.false_finds if "mirrored" in k or k == "bird"]


def test_places_lie_where_they_are_said_to_lie(scores: list[Score]) -> None:
    """95 % within 8 m and within the stated radius of 95 %.

    Places of a flight share most of their error, so the flights count, not the findings: as many as half a
    dozen flights' worth of findings may lie outside together.
    """
    within = np.array([s.share_within_95 for s in scores])
    assert float(np.mean([s.share_within_8_m for s in scores])) >= 0.95
    assert float(within.mean()) >= 1 - binom.ppf(0.995, 2 * SITES, 0.05) / (2 * SITES)
