"""Stated 95 % intervals miss the truth as often as they say: some 41,000 simulated readings, by `make accept`.

The truth comes from a sum over wavelengths with another response than the assumed one, see tools/interval_truth.py.
Honest is a number of misses within the central 99 % of the binomial distribution; the band of several comparisons is
family-wise (Sidak).
"""

from __future__ import annotations

import importlib
import re
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from scipy.stats import chi2

ROOT = Path(__file__).parents[2]
TOOLS, PAGE = ROOT / "tools", ROOT / "docs" / "intervals.md"
#: How far a count may differ between machines: readings whose truth lies at the very end of the interval.
BORDERLINE = 3

pytestmark = pytest.mark.accept


@pytest.fixture(scope="module")
def experiment() -> ModuleType:
    sys.path.insert(0, str(TOOLS))
    return importlib.import_module("interval_experiment")


@pytest.fixture(scope="module")
def found(experiment: ModuleType):
    return experiment.run().telling()


def test_the_experiment_is_large_enough(experiment: ModuleType, found) -> None:
    assert found.cell.size >= 40_000
    assert np.unique(found.seed).size >= 50
    assert np.bincount(found.cell, minlength=len(experiment.CELLS)).min() >= 400
    assert found.other.mean() > 0.32
    assert (found.truth.min() < 231, found.truth.max() > 449) == (True, True)
    assert (found.distance.min() < 2, found.distance.max() > 4500) == (True, True)


def test_all_readings_pooled(experiment: ModuleType, found) -> None:
    (whole,) = experiment.counted(found.missed, {"all": np.ones(found.cell.size, dtype=bool)})
    assert whole.honest, whole


@pytest.mark.parametrize("family", ["truths", "cells", "margins", "tails"])
def test_every_part_of_the_readings(experiment: ModuleType, found, family: str) -> None:
    """Both kinds of truth; each class x temperature x sky; each property alone; either side of the interval."""
    dishonest = [count for count in getattr(experiment, family)(found) if not count.honest]
    assert not dishonest


def test_readings_are_independent(found) -> None:
    """Misses scatter over the seeds as independent ones do: no seed shares an error that the band does not know of."""
    of_seed = np.unique(found.seed, return_inverse=True)[1]
    sizes, misses = np.bincount(of_seed), np.bincount(of_seed, weights=found.missed)
    spread = float(((misses - 0.05 * sizes) ** 2 / (0.05 * 0.95 * sizes)).sum())
    low, high = chi2.ppf([0.005, 0.995], sizes.size)
    assert low < spread < high


def test_within_300_m_open_intervals_are_rare_but_for_bare_metal(experiment: ModuleType, found) -> None:
    near = found.distance < 300.0
    bare = near & found.where(0, experiment.CLASSES.index("bare metal"))
    painted = near & found.where(0, experiment.CLASSES.index("painted or oxidised metal"))
    dull = near & ~bare & ~painted
    assert np.isfinite(found.low[dull]).mean() > 0.999
    assert np.isfinite(found.high[dull | painted]).mean() > 0.999
    assert np.isinf(found.low[bare]).mean() > 0.3


def test_the_page_tells_what_came_out(experiment: ModuleType, found) -> None:
    """After a change of the model run tools/make_interval_page.py."""
    maker = importlib.import_module("make_interval_page")
    page = PAGE.read_text(encoding="utf-8")
    pattern = re.compile(r"-?\d+(?:\.\d+)?")
    written, made = ([float(n) for n in pattern.findall(text)] for text in (page, maker.with_counts(page, found)))
    assert len(written) == len(made)
    assert np.abs(np.subtract(written, made)).max() <= BORDERLINE
