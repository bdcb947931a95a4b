"""Short form of tests/accept/test_intervals.py, and the page on intervals."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from groundglow.model.band import nominal_band
from groundglow.model.reading import Situation, sky_factor

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "intervals.md"


@pytest.fixture(scope="module")
def experiment() -> ModuleType:
    sys.path.insert(0, str(ROOT / "tools"))
    return importlib.import_module("interval_experiment")


@pytest.fixture(scope="module")
def found(experiment: ModuleType):
    """Five seeds that the long form does not use."""
    return experiment.outcome(range(30_000, 30_005), each=3).telling()


def test_some_hundred_readings_miss_as_often_as_they_say(experiment: ModuleType, found) -> None:
    assert found.cell.size >= 900
    (whole,) = experiment.counted(found.missed, {"all": np.ones(found.cell.size, dtype=bool)})
    assert whole.honest, whole


@pytest.mark.parametrize("family", ["truths", "margins", "tails"])
def test_so_do_parts_of_them(experiment: ModuleType, found, family: str) -> None:
    assert not [count for count in getattr(experiment, family)(found) if not count.honest]


def test_intervals_a_third_too_narrow_or_too_wide_are_found_out(experiment: ModuleType, found) -> None:
    """The check can fail either way: on the readings of first order, their intervals scaled."""
    for factor in (0.67, 1.5):
        half = factor * 0.5 * (found.high - found.low)
        missed = np.abs(found.truth - found.temperature) > half
        (count,) = experiment.counted(missed, {"first order": found.first_order})
        assert not count.honest


def test_bands_are_those_of_the_binomial_distribution(experiment: ModuleType) -> None:
    """1000 intervals: 34 to 69 by a table of the binomial distribution (n p = 50, standard deviation 6.89)."""
    low, high = experiment.allowed(1000)
    assert (low, high) == (33, 69)
    assert experiment.allowed(1000, 64)[0] < low


def test_budgets_on_the_page_are_those_the_model_makes(experiment: ModuleType) -> None:
    """After a change of the model run tools/make_interval_page.py."""
    maker = importlib.import_module("make_interval_page")
    page = PAGE.read_text(encoding="utf-8")
    assert maker.with_budgets(page) == page


def test_claims_of_the_page_hold(experiment: ModuleType) -> None:
    page = " ".join(PAGE.read_text(encoding="utf-8").split())
    near, far = (sky_factor(nominal_band("7.5-13.5"), Situation(0.9, 239.0, 288.15, 0.6, d)) for d in (50.0, 500.0))
    assert (round(100 * (1 - float(near))), round(100 * (1 - float(far)))) == (4, 11)
    assert "4 % less over 50 m of mild air, 11 % over 500 m" in page
    each = experiment.SEEDS * experiment.EACH
    low, high = experiment.allowed(each, len(experiment.CELLS))
    assert f"Of {each} readings {low} to {high} are allowed" in page
