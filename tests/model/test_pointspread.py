"""Blur of a point, and how a detector follows in time."""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import j1

from groundglow.errors import RangeError
from groundglow.model.pointspread import (
    PointSpread,
    encircled_energy,
    lag_response,
    point_spread,
    point_spread_sigma,
    transfer,
)
from groundglow.model.targetsize import blurred_target


def test_nothing_passes_beyond_the_cut_off_of_the_aperture():
    spread = PointSpread(diffraction=1.25, pixel=0.0)
    assert transfer(spread, 0.81, 0.0) == pytest.approx(0)
    assert transfer(spread, 0.79, 0.0).real > 0


def test_aperture_passes_half_way_what_two_overlapping_circles_share():
    """Overlap of two circles half a diameter apart, integrated numerically."""
    y = np.linspace(0, np.sqrt(1 - 0.25), 200_001)
    shared = 4 * np.trapezoid(np.sqrt(1 - y**2) - 0.5, y) / np.pi
    assert transfer(PointSpread(diffraction=1.0, pixel=0.0), 0.5, 0.0).real == pytest.approx(shared, abs=1e-8)


def test_contrast_at_frequency_zero_is_kept_whatever_blurs():
    spread = PointSpread(1.2, 0.7, 0.9, (1.0, 2.0), (0.3, 0.4), 0.05)
    assert transfer(spread, 0.0, 0.0) == pytest.approx(1)


def test_every_cause_of_blur_takes_contrast():
    plain = abs(transfer(PointSpread(), 0.3, 0.2))
    for more in ({"diffraction": 1.0}, {"aberration": 0.5}, {"smear": (1.0, 0)}, {"lag": (0, 1.0)}, {"veil": 0.1}):
        assert abs(transfer(PointSpread(**more), 0.3, 0.2)) < plain


def test_figures_of_the_camera_become_pixels():
    spread = point_spread(
        17e-6, 1.4, wavelength=10.5e-6, aberration=8.5e-6, velocity=(30, 60), exposure=0.02, time_constant=0.01
    )
    assert spread.diffraction == pytest.approx(14.7 / 17)
    assert spread.aberration == pytest.approx(0.5)
    assert spread.smear == pytest.approx((0.6, 1.2))
    assert spread.lag == pytest.approx((0.3, 0.6))


def test_lag_trails_behind_the_motion_by_the_way_of_one_time_constant():
    picture, place = blurred_target(2.0, 2.0, PointSpread(lag=(0.0, 1.5), diffraction=1.0))
    weight = picture / picture.sum()
    assert (weight.sum(axis=1) * place).sum() == pytest.approx(-1.5, abs=0.02)
    assert (weight.sum(axis=0) * place).sum() == pytest.approx(0.0, abs=0.02)


def test_sigma_is_the_half_width_of_the_airy_pattern():
    """First root of (2 J1(x)/x)^2 = 1/2 gives the full width, in wavelength x f-number, of 2 x / pi."""
    x = brentq(lambda x: (2 * j1(x) / x) ** 2 - 0.5, 1.0, 2.0)
    expected = 2 * x / np.pi / np.sqrt(8 * np.log(2))
    assert point_spread_sigma(PointSpread(diffraction=1.0, pixel=0.0)) == pytest.approx((expected, expected), rel=1e-6)


def test_sigma_of_smear_and_lag_lies_along_the_motion():
    column, row = point_spread_sigma(PointSpread(smear=(0.0, 3.0), lag=(0.0, 2.0)))
    assert column == pytest.approx(np.sqrt(1 / 12))
    assert row == pytest.approx(np.sqrt(1 / 12 + 9 / 12 + 4))


def test_dark_rings_hold_the_published_energy():
    """Born and Wolf, Principles of Optics, section 8.5.2 (from memory): 83.8, 91.0, 93.8 %."""
    rings = np.array([1.21967, 2.23313, 3.23832]) * 10e-6
    assert encircled_energy(rings, 1.0, wavelength=10e-6) == pytest.approx([0.838, 0.910, 0.938], abs=5e-4)


def test_the_skirt_of_diffraction_falls_only_with_the_distance():
    missing = 1 - encircled_energy(np.array([1e-3, 2e-3]), 1.25)
    assert missing[0] / missing[1] == pytest.approx(2, rel=0.02)


def test_a_detector_that_lags_follows_as_a_first_order_system():
    """Against an Euler integration of tau dT/dt = 1 - T."""
    tau, step, level = 12e-3, 1e-6, 0.0
    for _ in range(20_000):
        level += step / tau * (1 - level)
    assert lag_response(20e-3, tau) == pytest.approx(level, abs=1e-4)
    assert lag_response(-1.0, tau) == 0


@pytest.mark.parametrize("wrong", [{"veil": 1.0}, {"pixel": 1.2}, {"diffraction": -1.0}, {"aberration": np.nan}])
def test_blur_that_cannot_be_is_refused(wrong):
    with pytest.raises(RangeError, match=next(iter(wrong))):
        PointSpread(**wrong)
