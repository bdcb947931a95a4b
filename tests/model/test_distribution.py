"""Distributions have the means and deviations that the guide states."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.model.distribution import (
    arcsine,
    curvilinear_trapezoid,
    normal,
    normal_vector,
    rectangular,
    scaled_t,
    truncated_normal,
)

COUNT = 200_000


@pytest.mark.parametrize(
    ("sampler", "mean", "deviation"),
    [
        (normal(3.0, 2.0), 3.0, 2.0),
        (rectangular(1.0, 5.0), 3.0, 4.0 / np.sqrt(12)),
        (arcsine(1.0, 5.0), 3.0, 4.0 / np.sqrt(8)),
        (curvilinear_trapezoid(1.0, 5.0, 0.6), 3.0, np.sqrt(4.0**2 / 12 + 0.6**2 / 9)),
        (scaled_t(3.0, 2.0, 10), 3.0, 2.0 * np.sqrt(10 / 8)),
    ],
    ids=["normal", "rectangular", "arcsine", "curvilinear trapezoid", "scaled t"],
)
def test_mean_and_deviation(sampler, mean, deviation):
    """JCGM 101:2008, 6.4.2 to 6.4.9, the expectation and variance stated for each distribution."""
    draws = sampler(np.random.default_rng(1), COUNT)
    assert draws.mean() == pytest.approx(mean, abs=5 * deviation / np.sqrt(COUNT))
    assert draws.std() == pytest.approx(deviation, rel=0.01)


def test_joint_draws_are_correlated_as_asked():
    draws = normal_vector([1.0, 2.0], [[4.0, -3.0], [-3.0, 9.0]])(np.random.default_rng(1), COUNT)
    assert np.cov(draws) == pytest.approx(np.array([[4.0, -3.0], [-3.0, 9.0]]), abs=0.1)


def test_truncated_draws_stay_within_and_keep_their_shape():
    draws = truncated_normal(0.98, 0.02, 0.0, 1.0)(np.random.default_rng(1), COUNT)
    assert draws.max() <= 1.0
    below = draws[draws < 0.98]
    assert np.mean(below < 0.96) == pytest.approx(0.3173, abs=0.01)


def test_limits_that_the_distribution_hardly_reaches_are_refused():
    with pytest.raises(InputError, match="hardly reaches"):
        truncated_normal(50.0, 1.0, 0.0, 1.0)(np.random.default_rng(1), 10)
