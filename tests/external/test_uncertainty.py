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

TOPIC = "Guides to uncertainty"
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


def test_end_gauge_budget(record_check):
    """GUM H.1: 50.000838 mm, u 32 nm, effective degrees of freedom 16, U99 93 nm; 34 nm with second order."""
    gauge = make_budget("length", "nm", _length, _end_gauge())
    source = "GUM H.1 (from memory)"
    record_check(TOPIC, "end gauge, length", 50_000_838, gauge.value, "nm", 0.5, source)
    record_check(TOPIC, "end gauge, standard uncertainty", 32, gauge.standard_uncertainty, "nm", 0.5, source)
    record_check(TOPIC, "end gauge, degrees of freedom", 16, int(gauge.degrees_of_freedom), "", 1e-9, source)
    record_check(TOPIC, "end gauge, 99 % half width", 93, gauge.expanded_uncertainty(0.99), "nm", 1.5, source)
    shares = {line.quantity.name: abs(line.contribution) for line in gauge.lines}
    names = ("temperature difference", "expansion difference")
    for name, published, tolerance in zip(names, (16.6, 2.9), (0.2, 0.05), strict=True):
        record_check(TOPIC, f"end gauge, contribution of {name}", published, shares[name], "nm", tolerance, source)
    assert shares["expansion"] == pytest.approx(0.0, abs=1e-6)
    whole = gauge.standard_uncertainty**2 + second_order_variance(_length, _end_gauge())
    record_check(TOPIC, "end gauge, with second order", 34, np.sqrt(whole), "nm", 0.5, source)


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


def test_correlated_inputs(impedance, record_check):
    """GUM H.2, table H.3: R 127.732, X 219.847, Z 254.260 ohm; u 0.071, 0.295, 0.236 (read second hand)."""
    published = {"R": (127.732, 0.071), "X": (219.847, 0.295), "Z": (254.260, 0.236)}
    for name, wanted in published.items():
        ours = [impedance[name].value, impedance[name].standard_uncertainty]
        record_check(TOPIC, f"{name} and its uncertainty", wanted, ours, "ohm", 6e-4, "GUM H.2 (second hand)")


def test_correlated_results(impedance, record_check):
    """GUM H.2: r(R, X) -0.588, r(R, Z) -0.485, r(X, Z) +0.993."""
    for first, second, published in (("R", "X", -0.588), ("R", "Z", -0.485), ("X", "Z", 0.993)):
        a, b = impedance[first], impedance[second]
        ours = covariance(a, b) / (a.standard_uncertainty * b.standard_uncertainty)
        record_check(TOPIC, f"correlation of {first} and {second}", published, ours, "", 6e-4, "GUM H.2")


def test_thermometer_line(record_check):
    """GUM H.3: b(t) = y1 + y2 (t - 20), y1 -0.1712(29), y2 0.00218(67), r -0.930: b(30) = -0.1494(41) degC."""
    inputs = [Quantity("y1", -0.1712, "degC", 0.0029), Quantity("y2", 0.00218, "", 0.00067)]
    line = make_budget(
        "correction",
        "degC",
        lambda y1, y2: y1 + y2 * (30.0 - 20.0),
        inputs,
        correlations={("y1", "y2"): -0.930},
    )
    ours, wanted = [line.value, line.standard_uncertainty], [-0.1494, 0.0041]
    record_check(TOPIC, "thermometer at 30 degC, and its uncertainty", wanted, ours, "K", 6e-5, "GUM H.3 (from memory)")


def test_additive_model_of_normal_inputs(record_check):
    """JCGM 101:2008, 9.2.2: four N(0, 1): u 2.00, 95 % interval -+3.92."""
    result = monte_carlo(lambda *x: sum(x), [normal(0.0, 1.0)] * 4, seed=1, digits=2)
    _sum(record_check, result, ("four normal inputs", "JCGM 101 9.2.2"), (2.00, 0.02), (3.92, 0.05))


def _sum(record_check, result, words, deviation, end):
    """Standard uncertainty and symmetric interval about zero, each with its tolerance."""
    name, source = words
    source += " (from memory)"
    record_check(
        TOPIC, f"sum of {name}: uncertainty", deviation[0], result.standard_uncertainty, "", deviation[1], source
    )
    record_check(TOPIC, f"sum of {name}: 95 % interval", [-end[0], end[0]], result.symmetric, "", end[1], source)


def test_additive_model_of_rectangular_inputs(record_check):
    """JCGM 101:2008, 9.2.3: four rectangles of unit standard deviation: u 2.00, -+3.88."""
    half = np.sqrt(3.0)
    result = monte_carlo(lambda *x: sum(x), [rectangular(-half, half)] * 4, seed=2, digits=2)
    _sum(record_check, result, ("four rectangles", "JCGM 101 9.2.3"), (2.00, 0.02), (3.88, 0.05))


def test_one_dominant_rectangle(record_check):
    """JCGM 101:2008, 9.2.4: one rectangle ten times wider: u 10.1, -+17.0, where a normal law says -+19.9."""
    half = np.sqrt(3.0)
    samplers = [rectangular(-half, half)] * 3 + [rectangular(-10 * half, 10 * half)]
    result = monte_carlo(lambda *x: sum(x), samplers, seed=3, digits=2)
    _sum(record_check, result, ("three rectangles and a wide one", "JCGM 101 9.2.4"), (10.15, 0.1), (17.0, 0.1))


def _mass(reference, small, air, weight, standard):
    """9.3: deviation of a weight from 100 g, mg; densities in kg/m3."""
    return (reference + small) * (1 + (air - 1.2) * (1 / weight - 1 / standard)) - 100_000.0


def test_mass_calibration_needs_more_than_first_order(record_check):
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
    source = "JCGM 101 9.3 (from memory)"
    record_check(TOPIC, "mass by trials", 1.2341, result.estimate, "mg", 2e-3, source)
    record_check(TOPIC, "mass by trials, uncertainty", 0.0754, result.standard_uncertainty, "mg", 1e-3, source)
    record_check(TOPIC, "mass by trials, shortest interval", [1.0834, 1.3825], result.shortest, "mg", 5e-3, source)
    inputs = [
        Quantity("reference", 100_000.0, "mg", 0.050),
        Quantity("small weights", 1.234, "mg", 0.020),
        Quantity("air density", 1.2, "kg/m3", 0.1 / np.sqrt(3)),
        Quantity("weight density", 8000.0, "kg/m3", 1000 / np.sqrt(3)),
        Quantity("reference density", 8000.0, "kg/m3", 50 / np.sqrt(3)),
    ]
    first = make_budget("deviation", "mg", _mass, inputs)
    ours = [first.value, first.standard_uncertainty]
    record_check(TOPIC, "mass by first order, and its uncertainty", [1.2340, 0.0539], ours, "mg", 1e-4, source)
    whole = first.standard_uncertainty**2 + second_order_variance(_mass, inputs)
    record_check(TOPIC, "mass with second order, uncertainty", 0.0750, np.sqrt(whole), "mg", 2e-3, source)


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
def test_comparison_loss(record_check, x1, correlation, mean, uncertainty, shortest):
    """JCGM 101:2008, 9.4: loss x1^2 + x2^2 in units of 1e-6, u(x) 0.005, shortest 95 % interval."""
    matrix = 0.005**2 * np.array([[1.0, correlation], [correlation, 1.0]])
    result = monte_carlo(lambda a, b: (a**2 + b**2) * 1e6, [normal_vector([x1, 0.0], matrix)], seed=5, digits=2)
    name, source = f"comparison loss at {x1:g}, correlation {correlation:g}", "JCGM 101 9.4 (from memory)"
    record_check(TOPIC, f"{name}: mean", mean, result.estimate, "1e-6", 0.02 * uncertainty, source)
    ours = result.standard_uncertainty
    record_check(TOPIC, f"{name}: uncertainty", uncertainty, ours, "1e-6", 0.0, source, relative=0.02)
    record_check(TOPIC, f"{name}: shortest interval", shortest, result.shortest, "1e-6", 0.06 * uncertainty, source)


def test_gauge_block(record_check):
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
    source = "JCGM 101 9.5, by Metrology 2022, 2(1), 3"
    record_check(TOPIC, "gauge block", 838, result.estimate, "nm", 1.0, source)
    record_check(TOPIC, "gauge block, uncertainty", 36, result.standard_uncertainty, "nm", 0.6, source)
    record_check(TOPIC, "gauge block, shortest 99 % interval", [745, 932], result.shortest, "nm", 3.0, source)
