"""Piecewise cubics found by the bits of a float, against their NumPy twin."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.cubic import cubic_at, fit_cubic, midpoints


def twin(cubic, x):
    """NumPy reference: the piece by searching the nodes, not by bits."""
    step = 2.0 ** -(23 - cubic.shift)
    count = len(cubic.coefficients)
    exponent = np.floor(np.log2(cubic.low))
    start = 2.0**exponent
    first = start + np.floor((cubic.low - start) / (start * step)) * start * step
    nodes = [first]
    while len(nodes) < count:
        nodes.append(nodes[-1] + 2.0 ** np.floor(np.log2(nodes[-1])) * step)
    k = np.searchsorted(nodes, np.float32(x), side="right") - 1
    t = x - np.array(nodes)[k]
    c0, c1, c2, c3 = cubic.coefficients[k].T
    return c0 + c1 * t + c2 * t**2 + c3 * t**3, c1 + 2 * c2 * t + 3 * c3 * t**2


def _power(x):
    return x**0.22, 0.22 * x**-0.78


@pytest.mark.parametrize(("low", "high"), [(0.3, 900.0), (150.0, 1500.0), (1.0, 2.0), (7e-6, 1e-3)])
def test_kernel_agrees_with_its_twin(low, high):
    cubic = fit_cubic(_power, low, high, 4)
    x = np.geomspace(low, high, 1001)
    ours = np.array([cubic_at(cubic.coefficients, cubic.first, cubic.shift, v) for v in x]).T
    theirs = twin(cubic, x)
    assert ours[0] == pytest.approx(theirs[0], rel=1e-13)
    assert ours[1] == pytest.approx(theirs[1], rel=1e-11)


def test_pieces_meet_in_value_and_slope():
    cubic = fit_cubic(_power, 1.0, 64.0, 3)
    for node in (2.0, 3.0, 4.0, 32.0):
        below = cubic_at(cubic.coefficients, cubic.first, cubic.shift, np.nextafter(np.float32(node), 0))
        above = cubic_at(cubic.coefficients, cubic.first, cubic.shift, node)
        assert below == pytest.approx(above, rel=1e-6)


def test_halving_the_pieces_cuts_the_error_sixteenfold():
    """Error bound h^4/384 max|f''''| of cubic Hermite interpolation."""
    errors = []
    for refine in (3, 4, 5):
        cubic = fit_cubic(_power, 1.0, 16.0, refine)
        x = midpoints(cubic)
        errors.append(np.abs(twin(cubic, x)[0] - x**0.22).max())
    assert errors[0] / errors[1] == pytest.approx(16, rel=0.2)
    assert errors[1] / errors[2] == pytest.approx(16, rel=0.2)


def test_error_stays_within_the_published_bound():
    refine, low = 4, 1.0
    cubic = fit_cubic(_power, low, 2.0, refine)
    fourth = 0.22 * 0.78 * 1.78 * 2.78 * low ** (0.22 - 4)
    x = np.linspace(low, 2.0, 5000)
    assert np.abs(twin(cubic, x)[0] - x**0.22).max() <= (2.0**-refine) ** 4 / 384 * fourth * (1 + 1e-6)
