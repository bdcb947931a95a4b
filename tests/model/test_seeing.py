"""Contrast, resolution and the probability of a task."""

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model import seeing
from groundglow.model.pointspread import PointSpread

LENS = PointSpread(diffraction=1.0, aberration=0.4)


def test_contrast_is_lost_in_air_blur_and_noise_and_keeps_its_sign():
    assert seeing.contrast_to_noise(-2.0, 0.1) == pytest.approx(-20)
    assert seeing.contrast_to_noise(-2.0, 0.2, transmittance=0.5, response=0.5) == pytest.approx(-2.5)


def test_threshold_agrees_with_thrown_noise():
    rng = np.random.default_rng(3)
    noise = rng.normal(size=400_000)
    found = seeing.probability_above_threshold([2.0, 4.0], 3.0)
    assert found == pytest.approx([np.mean(2 + noise > 3), np.mean(4 + noise > 3)], abs=3e-3)
    assert seeing.false_alarms(2.0, noise.size) == pytest.approx(np.count_nonzero(noise > 2), rel=0.03)


def test_cold_targets_are_found_as_warm_ones():
    assert seeing.probability_above_threshold(-6.0, 5.0) == seeing.probability_above_threshold(6.0, 5.0)


def test_bars_finer_than_two_pixels_are_never_resolved():
    assert np.isinf(seeing.minimum_resolvable_difference(0.501, 0.01, LENS))
    assert seeing.resolved_frequency(1e6, 0.01, LENS) == 0.5


def test_finer_bars_need_more_difference_and_a_blurrier_lens_more_still():
    f = np.linspace(0.02, 0.5, 30)
    sharp = seeing.minimum_resolvable_difference(f, 0.05, PointSpread())
    blurred = seeing.minimum_resolvable_difference(f, 0.05, LENS)
    assert (np.diff(sharp) > 0).all()
    assert (blurred > sharp).all()


def test_bars_at_the_threshold_have_its_signal_to_noise_in_a_drawn_picture():
    """Draw the bars finely, average them over pixels and compare the mean over a bright and a dark bar."""
    f, noise, pixels = 0.1, 0.3, PointSpread(aberration=1.5)
    difference = float(seeing.minimum_resolvable_difference(f, noise, pixels))
    x = (np.arange(16_000) + 0.5) / 40  # 400 pixels, 40 samples each, 40 whole periods
    bars = difference * (np.sin(2 * np.pi * f * x) > 0)
    spectrum = np.fft.rfft(bars)
    frequency = np.fft.rfftfreq(bars.size, 1 / 40)
    blurred = np.fft.irfft(spectrum * np.exp(-2 * (np.pi * 1.5 * frequency) ** 2) * np.sinc(frequency), n=bars.size)
    bright = np.sin(2 * np.pi * f * x) > 0
    signal = blurred[bright].mean() - blurred[~bright].mean()
    count = 7 / (4 * f**2)
    assert signal / (noise * np.sqrt(2 / count)) == pytest.approx(seeing.THRESHOLD_SNR, rel=0.01)


def test_resolved_frequency_undoes_the_minimum_difference():
    f = np.array([0.05, 0.2, 0.45])
    needed = seeing.minimum_resolvable_difference(f, 0.05, LENS, frames=4)
    assert seeing.resolved_frequency(needed, 0.05, LENS, frames=4) == pytest.approx(f, abs=1e-6)
    assert seeing.resolved_frequency(-needed, 0.05, LENS, frames=4) == pytest.approx(f, abs=1e-6)


def test_nothing_without_contrast_is_resolved():
    assert seeing.resolved_frequency(0.0, 0.05, LENS) == 0


def test_no_cycles_no_task_and_many_cycles_surely():
    assert seeing.probability_of_task([0.0, 1e-9, 50.0, 1e3], 1.0) == pytest.approx([0, 0, 1, 1])


def test_a_square_and_a_rectangle_of_the_same_area_count_alike():
    assert seeing.critical_dimension(4.0, 1.0) == seeing.critical_dimension(2.0, 2.0)


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: seeing.contrast_to_noise(1.0, 0.0), "noise"),
        (lambda: seeing.contrast_to_noise(1.0, 0.1, transmittance=93), "transmittance"),
        (lambda: seeing.probability_of_task(-1.0, 1.0), "cycles"),
        (lambda: seeing.probability_of_task(1.0, 0.0), "cycles_for_half"),
        (lambda: seeing.cycles_for_probability(95.0, 1.0), "probability"),
        (lambda: seeing.critical_dimension(0.0, 1.0), "length"),
        (lambda: seeing.minimum_resolvable_difference(0.0, 0.05, LENS), "frequency"),
    ],
)
def test_figures_that_cannot_be_are_refused(call, name):
    with pytest.raises(RangeError, match=f"{name} out of range"):
        call()
