"""Worked examples of the guides to uncertainty: JCGM 100:2008 annex H and JCGM 101:2008 clause 9.

Inputs are those of the examples; printed figures of H.1, H.3 and 9.2 to 9.4 are from memory and agree with
recomputations; those of H.2 and 9.5 were read in sources named beside them.
"""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.budget import Quantity, covariance, make_budget, second_order_variance
from groundglow.model.distribution import (
    arcsine,
    curvilinear_trapezoid,
    normal,
    normal_vector,
    rectangular,
    scaled_t,
)
from groundglow.model.montecarlo import monte_carlo

NOMINAL_NM = 50_000_000.0


def _end_gauge():
    """H.1: inputs of the end-gauge comparison, lengths in nm."""
    return [
        Quantity("standard", 50_000_623.0, "nm", 25.0, degrees_of_freedom=18),
        Quantity("mean difference", 215.0, "nm", 5.8, degrees_of_freedom=24),
        Quantity("comparator random", 0.0, "nm", 3.9, degrees_of_freedom=5),
        Quantity("comparator systematic", 0.0, "nm", 6.7, degrees_of_freedom=8),
        Quantity("expansion", 11.5e-6, "1/K", 1.2e-6),
        Quantity("bed temperature", -0.1, "K", 0.41),
        Quantity("expansion difference", 0.0, "1/K", 0.58e-6, degrees_of_freedom=50),
        Quantity("temperature difference", 0.0, "K", 0.029, degrees_of_freedom=2),
    ]


def _length(standard, mean, random, systematic, expansion, bed, expansion_difference, difference):
    return standard + mean + random + systematic - standard * (expansion_difference * bed + expansion * difference)


def test_end_gauge_budget():
    """GUM H.1: 50.000838 mm, u 32 nm, effective degrees of freedom 16, U99 93 nm; 34 nm with second order."""
    gauge = make_budget("length", "nm", _length, _end_gauge())
    assert gauge.value == pytest.approx(50_000_838, abs=0.5)
    assert gauge.standard_uncertainty == pytest.approx(32, abs=0.5)
    assert int(gauge.degrees_of_freedom) == 16
    assert gauge.expanded_uncertainty(0.99) == pytest.approx(93, abs=1.5)
    shares = {line.quantity.name: abs(line.contribution) for line in gauge.lines}
    assert shares["temperature difference"] == pytest.approx(16.6, abs=0.2)
    assert shares["expansion difference"] == pytest.approx(2.9, abs=0.05)
    assert shares["expansion"] == pytest.approx(0.0, abs=1e-6)
    whole = gauge.standard_uncertainty**2 + second_order_variance(_length, _end_gauge())
    assert np.sqrt(whole) == pytest.approx(34, abs=0.5)


VOLTAGE = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
CURRENT = np.array([19.663, 19.639, 19.640, 19.685, 19.678]) * 1e-3
PHASE = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])


@pytest.fixture(scope="module")
def impedance():
    """H.2: simultaneous resistance, reactance and impedance from five correlated sets of readings."""
    readings = {"V": VOLTAGE, "I": CURRENT, "phi": PHASE}
    names = list(readings)
    inputs = [
        Quantity(n, float(x.mean()), "", float(x.std(ddof=1) / np.sqrt(5)), degrees_of_freedom=4)
        for n, x in readings.items()
    ]
    matrix = np.corrcoef(list(readings.values()))
    pairs = {(names[i], names[j]): float(matrix[i, j]) for i in range(3) for j in range(i)}
    functions = {
        "R": lambda v, i, p: v / i * np.cos(p),
        "X": lambda v, i, p: v / i * np.sin(p),
        "Z": lambda v, i, p: v / i,
    }
    return {k: make_budget(k, "ohm", f, inputs, correlations=pairs) for k, f in functions.items()}


def test_correlated_inputs(impedance):
    """GUM H.2, table H.3: R 127.732, X 219.847, Z 254.260 ohm; u 0.071, 0.295, 0.236 (read second hand)."""
    published = {"R": (127.732, 0.071), "X": (219.847, 0.295), "Z": (254.260, 0.236)}
    for name, (value, uncertainty) in published.items():
        assert impedance[name].value == pytest.approx(value, abs=6e-4)
        assert impedance[name].standard_uncertainty == pytest.approx(uncertainty, abs=6e-4)


def test_correlated_results(impedance):
    """GUM H.2: r(R, X) -0.588, r(R, Z) -0.485, r(X, Z) +0.993."""
    for first, second, published in (("R", "X", -0.588), ("R", "Z", -0.485), ("X", "Z", 0.993)):
        a, b = impedance[first], impedance[second]
        ours = covariance(a, b) / (a.standard_uncertainty * b.standard_uncertainty)
        assert ours == pytest.approx(published, abs=6e-4)


def test_thermometer_line():
    """GUM H.3: b(t) = y1 + y2 (t - 20), y1 -0.1712(29), y2 0.00218(67), r -0.930: b(30) = -0.1494(41) degC."""
    inputs = [Quantity("y1", -0.1712, "degC", 0.0029), Quantity("y2", 0.00218, "", 0.00067)]
    line = make_budget(
        "correction",
        "degC",
        lambda y1, y2: y1 + y2 * (30.0 - 20.0),
        inputs,
        correlations={("y1", "y2"): -0.930},
    )
    assert line.value == pytest.approx(-0.1494, abs=6e-5)
    assert line.standard_uncertainty == pytest.approx(0.0041, abs=6e-5)


def test_additive_model_of_normal_inputs():
    """JCGM 101:2008, 9.2.2: four N(0, 1): u 2.00, 95 % interval -+3.92."""
    result = monte_carlo(lambda *x: sum(x), [normal(0.0, 1.0)] * 4, seed=1, digits=2)
    assert result.standard_uncertainty == pytest.approx(2.00, abs=0.02)
    assert result.symmetric == pytest.approx((-3.92, 3.92), abs=0.05)


def test_additive_model_of_rectangular_inputs():
    """JCGM 101:2008, 9.2.3: four rectangles of unit standard deviation: u 2.00, -+3.88."""
    half = np.sqrt(3.0)
    result = monte_carlo(lambda *x: sum(x), [rectangular(-half, half)] * 4, seed=2, digits=2)
    assert result.standard_uncertainty == pytest.approx(2.00, abs=0.02)
    assert result.symmetric == pytest.approx((-3.88, 3.88), abs=0.05)


def test_one_dominant_rectangle():
    """JCGM 101:2008, 9.2.4: one rectangle ten times wider: u 10.1, -+17.0, where a normal law says -+19.9."""
    half = np.sqrt(3.0)
    samplers = [rectangular(-half, half)] * 3 + [rectangular(-10 * half, 10 * half)]
    result = monte_carlo(lambda *x: sum(x), samplers, seed=3, digits=2)
    assert result.standard_uncertainty == pytest.approx(10.15, abs=0.1)
    assert result.symmetric == pytest.approx((-17.0, 17.0), abs=0.1)


def _mass(reference, small, air, weight, standard):
    """9.3: deviation of a weight from 100 g, mg; densities in kg/m3."""
    return (reference + small) * (1 + (air - 1.2) * (1 / weight - 1 / standard)) - 100_000.0


def test_mass_calibration_needs_more_than_first_order():
    """JCGM 101:2008, 9.3: Monte Carlo 1.2341 mg, u 0.0754, [1.0834, 1.3825]; first order u 0.0539 only, 0.0750
    with second order.
    """
    samplers = [
        normal(100_000.0, 0.050),
        normal(1.234, 0.020),
        rectangular(1.1, 1.3),
        rectangular(7000.0, 9000.0),
        rectangular(7950.0, 8050.0),
    ]
    result = monte_carlo(_mass, samplers, seed=4, digits=2)
    assert result.estimate == pytest.approx(1.2341, abs=2e-3)
    assert result.standard_uncertainty == pytest.approx(0.0754, abs=1e-3)
    assert result.shortest == pytest.approx((1.0834, 1.3825), abs=5e-3)
    inputs = [
        Quantity("reference", 100_000.0, "mg", 0.050),
        Quantity("small weights", 1.234, "mg", 0.020),
        Quantity("air density", 1.2, "kg/m3", 0.1 / np.sqrt(3)),
        Quantity("weight density", 8000.0, "kg/m3", 1000 / np.sqrt(3)),
        Quantity("reference density", 8000.0, "kg/m3", 50 / np.sqrt(3)),
    ]
    first = make_budget("deviation", "mg", _mass, inputs)
    assert first.value == pytest.approx(1.2340, abs=1e-4)
    assert first.standard_uncertainty == pytest.approx(0.0539, abs=1e-4)
    whole = first.standard_uncertainty**2 + second_order_variance(_mass, inputs)
    assert np.sqrt(whole) == pytest.approx(0.0750, abs=2e-3)


@pytest.mark.parametrize(
    ("x1", "correlation", "mean", "uncertainty", "shortest"),
    [
        (0.000, 0.0, 50, 50, (0, 150)),
        (0.010, 0.0, 150, 112, (0, 367)),
        (0.050, 0.0, 2551, 502, (1590, 3543)),
        (0.000, 0.9, 50, 67, (0, 185)),
        (0.010, 0.9, 150, 121, (13, 398)),
        (0.050, 0.9, 2551, 505, (1628, 3555)),
    ],
)
def test_comparison_loss(x1, correlation, mean, uncertainty, shortest):
    """JCGM 101:2008, 9.4: loss x1^2 + x2^2 in units of 1e-6, u(x) 0.005, shortest 95 % interval."""
    matrix = 0.005**2 * np.array([[1.0, correlation], [correlation, 1.0]])
    result = monte_carlo(lambda a, b: (a**2 + b**2) * 1e6, [normal_vector([x1, 0.0], matrix)], seed=5, digits=2)
    assert result.estimate == pytest.approx(mean, abs=0.02 * uncertainty)
    assert result.standard_uncertainty == pytest.approx(uncertainty, rel=0.02)
    assert result.shortest == pytest.approx(shortest, abs=0.06 * uncertainty)


def test_gauge_block():
    """JCGM 101:2008, 9.5: 838 nm, u 36 nm, 99 % interval [745, 932] nm.

    Figures of a million trials as given by Metrology 2022, 2(1), 3, section 4.1; distributions from memory.
    """
    samplers = [
        scaled_t(50_000_623.0, 25.0, 18),
        scaled_t(215.0, 6.0, 24),
        scaled_t(0.0, 4.0, 5),
        scaled_t(0.0, 7.0, 8),
        rectangular(9.5e-6, 13.5e-6),
        normal(-0.1, 0.2),
        arcsine(-0.5, 0.5),
        curvilinear_trapezoid(-1.0e-6, 1.0e-6, 0.1e-6),
        curvilinear_trapezoid(-0.050, 0.050, 0.025),
    ]

    def deviation(standard, mean, random, systematic, expansion, bed, cycle, alpha, theta):
        return _length(standard, mean, random, systematic, expansion, bed + cycle, alpha, theta) - NOMINAL_NM

    result = monte_carlo(deviation, samplers, seed=6, coverage=0.99)
    assert result.settled
    assert result.estimate == pytest.approx(838, abs=1)
    assert result.standard_uncertainty == pytest.approx(36, abs=0.6)
    assert result.shortest == pytest.approx((745, 932), abs=3)
