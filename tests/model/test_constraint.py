"""Targets of known temperature take off what they show, by each pixel's own sensitivity, and leave honest doubt."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import lsq_linear

from groundglow.errors import InputError
from groundglow.model.constraint import constrain, constrained
from groundglow.model.doubt import Doubt, combined

NAMES = ("calibration", "sky", "air")


def test_without_targets_nothing_changes() -> None:
    doubt = Doubt(np.full(3, 0.1), flight={"calibration": np.array([1.0, 0.9, 0.8])})
    known = constrain(NAMES, np.zeros((0, 3)), [], [])
    value, left = constrained(np.arange(3.0), doubt, known)
    np.testing.assert_array_equal(value, np.arange(3.0))
    np.testing.assert_allclose(combined(left), combined(doubt))
    assert known.agreement == 1.0


def test_the_estimate_is_that_of_least_squares_with_the_prior_as_observations() -> None:
    rng = np.random.default_rng(1)
    design, residual, noise = rng.normal(size=(5, 3)), rng.normal(size=5), rng.uniform(0.2, 1.0, 5)
    stacked = np.vstack([design / noise[:, None], np.eye(3)])
    expected = lsq_linear(stacked, np.concatenate([residual / noise, np.zeros(3)])).x
    np.testing.assert_allclose(constrain(NAMES, design, residual, noise).estimate, expected, atol=1e-8)


def test_a_perfect_target_leaves_no_doubt_of_what_it_shows_and_all_of_what_it_does_not() -> None:
    known = constrain(NAMES, [[1.0, 0.0, 0.0]], [0.7], [1e-6])
    doubt = Doubt(np.zeros(1), flight={"calibration": np.ones(1), "sky": np.full(1, 0.5)})
    value, left = constrained(np.array([300.0]), doubt, known)
    assert value[0] == pytest.approx(299.3, abs=1e-5)
    assert abs(left.flight["calibration"][0]) < 1e-5
    assert left.flight["sky"][0] == pytest.approx(0.5)


def test_stated_intervals_hold_after_the_correction() -> None:
    """Draw sources, targets and pixels 4,000 times: 95 % intervals miss 5 % within the central 99 % of the binomial."""
    rng = np.random.default_rng(2)
    design = np.array([[0.8, 0.1, 0.05], [0.7, 0.4, 0.02]])
    sensitivity = np.array([0.9, -0.3, 0.2])
    misses = 0
    for _ in range(4000):
        truth = rng.normal(size=3)
        noise = np.array([0.3, 0.4])
        known = constrain(NAMES, design, design @ truth + rng.normal(size=2) * noise, noise)
        doubt = Doubt(np.array([0.05]), flight={n: np.array([s]) for n, s in zip(NAMES, sensitivity, strict=True)})
        read = 300.0 + sensitivity @ truth + rng.normal() * 0.05
        value, left = constrained(np.array([read]), doubt, known)
        misses += abs(value[0] - 300.0) > 1.959964 * combined(left)[0]
    assert 164 <= misses <= 237


def test_targets_that_contradict_the_stated_doubts_are_noticed() -> None:
    assert constrain(("calibration",), [[1.0], [1.0]], [5.0, -5.0], [0.1, 0.1]).agreement < 1e-6
    assert constrain(("calibration",), [[1.0]], [0.5], [0.3]).agreement > 0.3


def test_a_target_without_doubt_of_its_own_is_refused() -> None:
    with pytest.raises(InputError, match="above zero"):
        constrain(("calibration",), [[1.0]], [1.0], [0.0])
