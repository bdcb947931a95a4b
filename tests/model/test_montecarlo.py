"""Adaptive Monte Carlo: seeds, stopping, intervals, refusals. The guide's examples are in tests/external."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import expon, norm

from groundglow.errors import InputError
from groundglow.model.band import ideal_band, lookup
from groundglow.model.budget import Quantity, make_budget
from groundglow.model.distribution import normal, rectangular, truncated_normal
from groundglow.model.montecarlo import monte_carlo, shortest_interval, symmetric_interval
from groundglow.model.sensing import surface_temperature, surroundings_at


def test_equal_seeds_give_equal_results_and_others_do_not():
    runs = [monte_carlo(lambda x: x**2, [normal(1.0, 0.5)], seed=s, digits=1) for s in (7, 7, 8)]
    assert runs[0] == runs[1]
    assert runs[0] != runs[2]


def test_more_digits_need_more_trials():
    coarse = monte_carlo(lambda x: x, [normal(0.0, 2.0)], seed=1, digits=1)
    fine = monte_carlo(lambda x: x, [normal(0.0, 2.0)], seed=1, digits=2)
    assert coarse.settled
    assert fine.settled
    assert fine.trials > coarse.trials


def test_settled_results_hold_their_digits():
    """Normal law of deviation 2, two digits: u and both 95 % ends within the tolerance 0.05 of the exact law."""
    for seed in range(5):
        result = monte_carlo(lambda x: x, [normal(0.0, 2.0)], seed=seed)
        ends = 2.0 * norm.ppf([0.025, 0.975])
        assert result.standard_uncertainty == pytest.approx(2.0, abs=0.05)
        assert result.symmetric == pytest.approx(ends, abs=0.05)


def test_running_out_of_trials_is_said():
    result = monte_carlo(lambda x: x, [normal(0.0, 1.0)], seed=1, digits=4, largest=30_000)
    assert not result.settled
    assert result.trials == 30_000


def test_shortest_interval_of_a_one_sided_law_starts_at_its_edge():
    """Exponential law: shortest 95 % interval [0, 2.996], symmetric [0.025, 3.689] (scipy.stats.expon)."""
    draws = np.random.default_rng(2).exponential(size=400_000)
    assert shortest_interval(draws) == pytest.approx((0.0, expon.ppf(0.95)), abs=0.03)
    assert symmetric_interval(draws) == pytest.approx(expon.ppf([0.025, 0.975]), abs=0.03)


def test_shortest_interval_is_never_longer_than_the_symmetric_one():
    draws = np.random.default_rng(2).gamma(2.0, size=10_001)
    low, high = shortest_interval(draws)
    under, over = symmetric_interval(draws)
    assert high - low <= over - under
    assert np.mean((draws >= low) & (draws <= high)) == pytest.approx(0.95, abs=1e-3)


def test_a_certain_result_is_settled_at_once():
    result = monte_carlo(lambda x: 0 * x + 3.0, [normal(0.0, 1.0)], seed=1)
    assert result.settled
    assert (result.estimate, result.standard_uncertainty) == (3.0, 0.0)


def test_trials_without_a_result_are_refused():
    with pytest.raises(InputError, match="no finite result"):
        monte_carlo(lambda x: np.where(x > 0, x, np.nan), [normal(0.0, 1.0)], seed=1)


def test_the_measurement_model_runs_on_trials():
    """Emissivity cut to 0..1 and a rectangular reflected temperature, thousands of trials in one call."""
    table = lookup(ideal_band(8e-6, 14e-6))

    def reading(radiance, emissivity, reflected):
        around = surroundings_at(table, reflected_temperature=reflected, air_temperature=290.0)
        return surface_temperature(table, radiance, emissivity, around)

    samplers = [normal(54.0, 0.1), truncated_normal(0.95, 0.02, 0.0, 1.0), rectangular(259.0, 261.0)]
    result = monte_carlo(reading, samplers, seed=1, digits=1)
    inputs = [Quantity("L", 54.0, "", 0.1), Quantity("eps", 0.95, "", 0.02), Quantity("T", 260.0, "", 3**-0.5)]
    first_order = make_budget("T", "K", lambda *x: float(reading(*x)), inputs)
    assert result.estimate == pytest.approx(first_order.value, abs=0.05)
    assert result.standard_uncertainty == pytest.approx(first_order.standard_uncertainty, rel=0.05)
