"""Stated inputs: quantiles and moments of normal, rectangular and cut distributions against scipy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import truncnorm, uniform

from groundglow.errors import InputError, RangeError
from groundglow.model.reading.stated import Limits, Stated, as_stated, cut_share, deviation, quantile

SHARES = np.array([0.001, 0.025, 0.3, 0.5, 0.9, 0.975, 0.999])
UNIT = Limits(0.0, 1.0)


@pytest.mark.parametrize(("value", "spread"), [(0.98, 0.02), (0.02, 0.02), (0.5, 0.05), (0.9, 0.4)])
def test_a_cut_normal_distribution_is_scipys(value: float, spread: float) -> None:
    reference = truncnorm((0 - value) / spread, (1 - value) / spread, value, spread)
    stated = Stated(value, spread)
    np.testing.assert_allclose(quantile(stated, SHARES, UNIT), reference.ppf(SHARES), atol=1e-9)
    about_value = np.sqrt(reference.var() + (reference.mean() - value) ** 2)
    assert float(deviation(stated, UNIT)) == pytest.approx(about_value, rel=1e-6)


@pytest.mark.parametrize(("value", "spread"), [(0.95, 0.05), (0.5, 0.01)])
def test_a_cut_rectangle_is_the_rectangle_that_is_left(value: float, spread: float) -> None:
    low, high = max(value - 3**0.5 * spread, 0), min(value + 3**0.5 * spread, 1)
    stated, reference = Stated(value, spread, "rectangular"), uniform(low, high - low)
    np.testing.assert_allclose(quantile(stated, SHARES, UNIT), reference.ppf(SHARES))
    about_value = np.sqrt(reference.var() + (reference.mean() - value) ** 2)
    assert float(deviation(stated, UNIT)) == pytest.approx(about_value)


def test_without_limits_the_deviation_is_the_standard_uncertainty() -> None:
    for kind in ("normal", "rectangular"):
        assert float(deviation(Stated(300.0, 2.0, kind))) == pytest.approx(2.0)
        assert float(cut_share(Stated(300.0, 2.0, kind))) == pytest.approx(0.0, abs=1e-12)


def test_what_is_known_without_doubt_stays_where_it_is() -> None:
    assert quantile(Stated(1.0, 0.0), SHARES, UNIT).tolist() == [1.0] * SHARES.size
    assert as_stated(0.5).arrays[1] == 0
    assert as_stated(Stated(0.5, 0.1)).arrays[1] == 0.1


def test_elements_and_shapes_go_together() -> None:
    stated = Stated([[1.0], [2.0]], [0.1, 0.2, 0.3])
    assert stated.shape == (2, 3)
    assert stated.flat((2, 3)).part(slice(4, 5)).arrays[0].tolist() == [2.0]


@pytest.mark.parametrize("spread", [-0.1, np.nan, np.inf])
def test_a_standard_uncertainty_is_finite_and_not_negative(spread: float) -> None:
    with pytest.raises(RangeError, match="standard_uncertainty"):
        Stated(0.9, spread)


def test_another_distribution_is_refused() -> None:
    with pytest.raises(InputError, match="'triangular'"):
        Stated(0.9, 0.1, "triangular")
