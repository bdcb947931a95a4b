"""Doubt in three parts: what shrinks in a mean, what cancels in a rise, what stays in a temperature."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.model.doubt import COVERAGE_95, Doubt, combined, difference, interval, mean_doubt, select


def _frame(shape=(4, 5)):
    """0.05 K noise, 0.3 K drift of the frame, 5 K calibration of the flight."""
    return Doubt(np.full(shape, 0.05), {"drift": np.array(0.3)}, {"calibration": np.array(5.0)})


def test_a_shared_offset_cancels_in_a_rise_and_not_in_a_temperature():
    """The camera's 5 K offset is in each temperature and in no difference of the flight."""
    hot, cool = select(_frame(), (0, 0)), select(_frame(), (1, 1))
    assert combined(hot) == pytest.approx(np.sqrt(0.05**2 + 0.3**2 + 5.0**2))
    assert combined(difference(hot, cool)) == pytest.approx(0.05 * np.sqrt(2))


def test_a_difference_between_frames_keeps_their_drifts():
    hot, cool = select(_frame(), (0, 0)), select(_frame(), (1, 1))
    rise = difference(hot, cool, shared="flight")
    assert combined(rise) == pytest.approx(np.sqrt(2 * 0.05**2 + 2 * 0.3**2))


def test_a_difference_between_flights_keeps_everything():
    value = select(_frame(), (0, 0))
    change = difference(value, value, shared="nothing")
    assert combined(change) == pytest.approx(np.sqrt(2) * combined(value))


@pytest.mark.parametrize("count", [1, 4, 100])
def test_a_mean_shrinks_only_the_independent_part(count):
    mean = mean_doubt(_frame((count,)))
    assert mean.independent == pytest.approx(0.05 / np.sqrt(count))
    assert mean.frame["drift"] == 0.3
    assert mean.flight["calibration"] == 5.0


def test_simulated_readings_scatter_as_the_doubt_says():
    """20,000 flights drawn: mean of nine pixels, and its rise over another nine of the same frame."""
    rng = np.random.default_rng(21)
    flights, pixels = 20_000, 9
    slope = np.linspace(0.8, 1.2, 2 * pixels)
    calibration, drift = rng.normal(size=(flights, 1)) * 2.0, rng.normal(size=(flights, 1)) * 0.3
    errors = rng.normal(size=(flights, 2 * pixels)) * 0.5 + drift + calibration * slope
    doubt = Doubt(np.full(2 * pixels, 0.5), {"drift": np.array(0.3)}, {"calibration": 2.0 * slope})
    target, ring = slice(0, pixels), slice(pixels, None)
    of_target, of_ring = mean_doubt(select(doubt, target)), mean_doubt(select(doubt, ring))
    means = errors[:, target].mean(axis=1), errors[:, ring].mean(axis=1)
    assert np.std(means[0]) == pytest.approx(combined(of_target), rel=0.02)
    assert np.std(means[0] - means[1]) == pytest.approx(combined(difference(of_target, of_ring)), rel=0.02)


def test_a_source_felt_with_opposite_sign_adds_up_in_a_difference():
    up, down = Doubt(np.array(0.0), {"tilt": np.array(0.2)}), Doubt(np.array(0.0), {"tilt": np.array(-0.2)})
    assert combined(difference(up, down)) == pytest.approx(0.4)


def test_emissivity_is_shared_within_a_material_only():
    """Two materials are two sources: their doubts add as squares; one material's cancels."""

    def of(material):
        return Doubt(np.array(0.0), flight={f"emissivity of {material}": np.array(1.0)})

    assert combined(difference(of("bitumen"), of("bitumen"))) == 0.0
    assert combined(difference(of("bitumen"), of("zinc"))) == pytest.approx(np.sqrt(2))


def test_a_weighted_mean_weighs_the_shared_sensitivities():
    doubt = Doubt(np.array([3.0, 4.0]), flight={"air": np.array([1.0, -1.0])})
    mean = mean_doubt(doubt, [3.0, 1.0])
    assert mean.flight["air"] == pytest.approx(0.5)
    assert mean.independent == pytest.approx(np.hypot(0.75 * 3, 0.25 * 4))


@pytest.mark.parametrize("weights", [[0.0, 0.0], [1.0, -1.0]])
def test_weights_that_sum_to_nothing_are_refused(weights):
    with pytest.raises(InputError, match="weights"):
        mean_doubt(Doubt(np.array([3.0, 4.0])), weights)


def test_a_mean_of_nothing_is_refused():
    with pytest.raises(InputError, match="no value"):
        mean_doubt(select(_frame(), np.zeros((4, 5), dtype=bool)))


def test_selection_keeps_sources_that_vary_and_those_that_do_not():
    doubt = Doubt(np.ones((2, 3)), {"drift": np.array(0.3)}, {"air": np.arange(6.0).reshape(2, 3)})
    part = select(doubt, np.array([[True, False, False], [False, False, True]]))
    assert part.independent.shape == (2,)
    assert part.frame["drift"].tolist() == [0.3, 0.3]
    assert part.flight["air"].tolist() == [0.0, 5.0]


def test_interval_is_two_sided_95_percent():
    """Two-sided 95 % factor 1.960 of the normal law (JCGM 100:2008, table G.1)."""
    assert pytest.approx(1.960, abs=5e-4) == COVERAGE_95
    low, high = interval(300.0, Doubt(np.array(2.0)))
    assert (high - low) / 2 == pytest.approx(3.92, abs=1e-3)
    assert (high + low) / 2 == pytest.approx(300.0)


def test_an_unknown_sharing_is_refused():
    with pytest.raises(ValueError, match="shared"):
        difference(Doubt(np.array(1.0)), Doubt(np.array(1.0)), shared="camera")
