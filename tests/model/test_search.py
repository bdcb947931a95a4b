"""Sweep width and what a search finds."""

import numpy as np
import pytest

from groundglow.errors import InputError, RangeError
from groundglow.model import search


def test_sweep_width_of_a_sure_strip_is_its_width():
    assert search.sweep_width([-15.0, 0.0, 15.0], [1.0, 1.0, 1.0]) == pytest.approx(30)


def test_sweep_width_of_a_bell_is_its_integral():
    x = np.linspace(-100, 100, 2001)
    assert search.sweep_width(x, np.exp(-0.5 * (x / 12) ** 2)) == pytest.approx(12 * np.sqrt(2 * np.pi), rel=1e-6)


def test_random_search_agrees_with_strips_thrown_at_random():
    """One in 400 strips hides the target: with n strips coverage is n / 400, what is left misses it."""
    rng = np.random.default_rng(8)
    strips = 600
    found = (rng.uniform(size=(20_000, strips)) < 1 / 400).any(axis=1).mean()
    assert search.random_search_probability(strips / 400) == pytest.approx(found, abs=0.012)


def test_coverage_and_probability_are_inverses():
    coverage = np.array([0.0, 0.3, 1.0, 4.0])
    assert search.coverage_for_probability(search.random_search_probability(coverage)) == pytest.approx(coverage)


def test_parallel_tracks_cover_by_width_over_spacing():
    spacing, width, side = 25.0, 20.0, 1000.0
    assert search.coverage_factor(width, side * side / spacing, side * side) == pytest.approx(width / spacing)


def test_one_sure_look_is_enough_and_looks_add_up_along_an_axis():
    assert search.cumulative_probability([0.1, 1.0, 0.0]) == 1.0
    looks = np.array([[0.5, 0.0], [0.5, 0.2]])
    assert search.cumulative_probability(looks, axis=0) == pytest.approx([0.75, 0.2])


def test_lists_that_do_not_fit_are_refused():
    for lateral, seen in (([0, 1], [1, 1, 1]), ([1, 0], [1, 1]), ([0], [1])):
        with pytest.raises(InputError, match="rising"):
            search.sweep_width(lateral, seen)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: search.sweep_width([0, 1], [50, 80]), "probability"),
        (lambda: search.coverage_for_probability(1.0), "probability"),
        (lambda: search.random_search_probability(-1.0), "coverage"),
        (lambda: search.coverage_factor(10.0, 100.0, 0.0), "area"),
        (lambda: search.cumulative_probability([0.5, 1.5]), "probabilities"),
    ],
)
def test_figures_that_cannot_be_are_refused(call, name):
    with pytest.raises(RangeError, match=f"{name} out of range"):
        call()
