"""What must hold for any target, lens and search."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from groundglow.model import search, seeing
from groundglow.model.pointspread import PointSpread
from groundglow.model.targetsize import target_response

lens = st.builds(PointSpread, diffraction=st.floats(0.5, 1.5), aberration=st.floats(0.0, 1.5))


@given(st.floats(0.001, 0.999), st.floats(0.5, 10))
def test_cycles_and_probability_are_inverses(probability, half):
    cycles = seeing.cycles_for_probability(probability, half)
    np.testing.assert_allclose(seeing.probability_of_task(cycles, half), probability, rtol=1e-9)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=6))
def test_looks_together_find_at_least_what_the_best_finds(looks):
    found = search.cumulative_probability(looks)
    assert max(looks) - 1e-12 <= found <= min(1.0, sum(looks)) + 1e-12


@settings(max_examples=15, deadline=None)
@given(lens, st.floats(0.5, 11), st.floats(1.05, 2.0))
def test_a_larger_target_never_shows_less_of_its_rise(spread, side, times):
    small, large = (target_response(s, s, spread, shape="rectangle").share for s in (side, side * times))
    assert 0 < small <= large + 2e-3 <= 1.004


@settings(max_examples=30, deadline=None)
@given(lens, st.floats(0.01, 0.45), st.floats(1.01, 5.0))
def test_more_noise_never_resolves_finer_bars(spread, noise, times):
    quiet, loud = (seeing.resolved_frequency(0.3, n, spread) for n in (noise, noise * times))
    assert loud <= quiet + 1e-9
