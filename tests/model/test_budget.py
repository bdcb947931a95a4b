"""Budgets: sensitivities, shares, correlations, and their way into the three-part doubt."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError, RangeError
from groundglow.model.band import ideal_band, lookup
from groundglow.model.budget import Quantity, covariance, make_budget, second_order_variance, to_doubt
from groundglow.model.doubt import combined
from groundglow.model.sensing import surface_temperature, surface_temperature_and_sensitivities, surroundings_at

TABLE = lookup(ideal_band(8e-6, 14e-6))


def _pair(**kinds):
    return [
        Quantity("a", 2.0, "K", 0.3, **kinds),
        Quantity("b", 5.0, "K", 0.4, **kinds),
    ]


def _sum(a, b):
    return a + b


def _reading(radiance, emissivity):
    around = surroundings_at(TABLE, reflected_temperature=255.0, air_temperature=290.0, transmittance=0.92)
    return float(surface_temperature(TABLE, radiance, emissivity, around))


def test_numeric_sensitivities_agree_with_the_models_analytic_ones():
    inputs = [Quantity("radiance", 50.0, "W m-2 sr-1", 0.2), Quantity("emissivity", 0.9, "", 0.02)]
    numeric = make_budget("surface temperature", "K", _reading, inputs)
    around = surroundings_at(TABLE, reflected_temperature=255.0, air_temperature=290.0, transmittance=0.92)
    kelvin, by = surface_temperature_and_sensitivities(TABLE, 50.0, 0.9, around)
    analytic = make_budget(
        "surface temperature", "K", _reading, inputs, sensitivities=[float(by.radiance), float(by.emissivity)]
    )
    assert numeric.value == pytest.approx(float(kelvin))
    for ours, theirs in zip(numeric.lines, analytic.lines, strict=True):
        assert ours.sensitivity == pytest.approx(theirs.sensitivity, rel=1e-4)
    assert numeric.standard_uncertainty == pytest.approx(analytic.standard_uncertainty, rel=1e-4)


def test_fully_correlated_inputs_add_and_fully_opposed_ones_subtract():
    for r, expected in ((0.0, 0.5), (1.0, 0.7), (-1.0, 0.1)):
        budget = make_budget("sum", "K", _sum, _pair(), correlations={("a", "b"): r})
        assert budget.standard_uncertainty == pytest.approx(expected)


def test_shares_sum_to_one_with_correlations_too():
    budget = make_budget("sum", "K", _sum, _pair(), correlations={("b", "a"): -0.7})
    assert sum(line.share for line in budget.lines) == pytest.approx(1.0)


def test_an_input_without_uncertainty_keeps_its_sensitivity_and_has_no_share():
    inputs = [Quantity("a", 2.0, "K", 0.0), Quantity("b", 5.0, "K", 0.4)]
    budget = make_budget("product", "K2", lambda a, b: a * b, inputs)
    assert budget.lines[0].sensitivity == pytest.approx(5.0, rel=1e-6)
    assert budget.lines[0].share == 0.0


def test_nothing_uncertain_is_certain():
    budget = make_budget("same", "K", lambda a: a, [Quantity("a", 2.0, "K", 0.0)])
    assert budget.standard_uncertainty == 0.0
    assert budget.lines[0].share == 0.0


def test_few_degrees_of_freedom_widen_the_interval():
    """Student's t for 95 % and 4 degrees of freedom is 2.78 (JCGM 100:2008, table G.2)."""
    budget = make_budget("same", "K", lambda a: a, [Quantity("a", 2.0, "K", 1.0, degrees_of_freedom=4)])
    assert budget.expanded_uncertainty(0.95) == pytest.approx(2.78, abs=5e-3)


def test_correlated_inputs_of_few_readings_have_no_effective_degrees_of_freedom():
    budget = make_budget("sum", "K", _sum, _pair(degrees_of_freedom=4), correlations={("a", "b"): 0.5})
    with pytest.raises(InputError, match="Monte Carlo"):
        budget.expanded_uncertainty()


def test_independent_results_of_different_inputs_have_no_covariance_to_compute():
    first = make_budget("sum", "K", _sum, _pair())
    second = make_budget("same", "K", lambda a: a, _pair()[:1])
    with pytest.raises(InputError, match="different inputs"):
        covariance(first, second)


def test_variance_of_a_square_at_its_bottom_is_all_second_order():
    """x^2 of a standard normal: mean 1, variance 2 (chi-squared law with one degree of freedom)."""
    inputs = [Quantity("x", 0.0, "", 1.0)]
    assert make_budget("square", "", lambda x: x * x, inputs).standard_uncertainty == pytest.approx(0.0, abs=1e-9)
    assert second_order_variance(lambda x: x * x, inputs) == pytest.approx(2.0)


def test_second_order_of_a_product_is_the_product_of_the_variances():
    """var(ab) = a^2 v_b + b^2 v_a + v_a v_b for independent inputs."""
    assert second_order_variance(lambda a, b: a * b, _pair()) == pytest.approx(0.09 * 0.16)


def test_second_order_of_a_cube():
    """x^3 about 2: f'' = 12, f''' = 6: (12^2 / 2 + 12 * 6) u^4."""
    inputs = [Quantity("x", 2.0, "", 0.1)]
    assert second_order_variance(lambda x: x**3, inputs) == pytest.approx((144 / 2 + 12 * 6) * 1e-4, rel=1e-3)


def test_parts_of_the_doubt_follow_the_inputs():
    inputs = [
        Quantity("noise", 0.0, "K", 0.05, "independent"),
        Quantity("jitter", 0.0, "K", 0.12, "independent"),
        Quantity("drift", 0.0, "K", 0.2, "frame"),
        Quantity("calibration", 0.0, "K", 2.0, "flight"),
    ]
    budget = make_budget("reading", "K", lambda n, j, d, c: 300 + n + j - d + c, inputs)
    doubt = to_doubt(budget)
    assert doubt.independent == pytest.approx(0.13)
    assert doubt.frame["drift"] == pytest.approx(-0.2)
    assert doubt.flight["calibration"] == pytest.approx(2.0)
    assert combined(doubt) == pytest.approx(budget.standard_uncertainty)


@pytest.mark.parametrize("r", [-1.0, -0.4, 0.6, 1.0])
def test_correlated_sources_keep_their_total_in_the_doubt(r):
    budget = make_budget("sum", "K", lambda a, b: 2 * a - b, _pair(), correlations={("a", "b"): r})
    assert combined(to_doubt(budget)) == pytest.approx(budget.standard_uncertainty)


def test_correlation_across_parts_is_refused():
    inputs = [Quantity("a", 2.0, "K", 0.3, "frame"), Quantity("b", 5.0, "K", 0.4, "flight")]
    budget = make_budget("sum", "K", _sum, inputs, correlations={("a", "b"): 0.5})
    with pytest.raises(InputError, match="different parts"):
        to_doubt(budget)


@pytest.mark.parametrize(
    ("correlations", "told"),
    [({("a", "c"): 0.5}, "allowed a, b"), ({("a", "b"): 1.5}, "contradict")],
)
def test_correlations_that_cannot_be_are_refused(correlations, told):
    with pytest.raises(InputError, match=told):
        make_budget("sum", "K", _sum, _pair(), correlations=correlations)


def test_names_given_twice_are_refused():
    with pytest.raises(InputError, match="twice"):
        make_budget("sum", "K", _sum, [_pair()[0], _pair()[0]])


@pytest.mark.parametrize("value", [-0.1, np.nan, np.inf])
def test_an_uncertainty_that_is_none_is_refused(value):
    with pytest.raises(RangeError, match="standard uncertainty of a"):
        Quantity("a", 1.0, "K", value)
