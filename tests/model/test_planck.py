"""Planck's law: limits, shapes, refusals and its inverse. Published values are held in tests/external."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.planck import (
    BOLTZMANN,
    LIGHT_SPEED,
    brightness_temperature,
    fraction_below,
    spectral_radiance,
    spectral_radiance_slope,
)

WAVELENGTH = np.array([1e-6, 3e-6, 10e-6, 30e-6])[:, None]
KELVIN = np.array([77.0, 150.0, 300.0, 1500.0])


def test_brightness_temperature_inverts_spectral_radiance():
    radiance = spectral_radiance(WAVELENGTH, KELVIN)
    found = brightness_temperature(WAVELENGTH, radiance)
    assert found == pytest.approx(np.broadcast_to(KELVIN, found.shape), rel=1e-12)


def test_no_overflow_far_out_on_the_short_wave_side():
    """A cold body in the visible sends nothing, and warns of nothing."""
    assert spectral_radiance(0.4e-6, 20.0) == 0.0
    assert spectral_radiance_slope(0.4e-6, 20.0) == 0.0


def test_long_waves_follow_rayleigh_and_jeans():
    """2 c k T / lambda^4 where h c / (lambda k T) is small."""
    classical = 2 * LIGHT_SPEED * BOLTZMANN * 1500.0 / 0.01**4
    assert spectral_radiance(0.01, 1500.0) == pytest.approx(classical, rel=1e-3)


def test_slope_is_the_derivative():
    step = 1e-3
    numeric = (spectral_radiance(WAVELENGTH, KELVIN + step) - spectral_radiance(WAVELENGTH, KELVIN - step)) / (2 * step)
    assert spectral_radiance_slope(WAVELENGTH, KELVIN) == pytest.approx(numeric, rel=1e-6)


def test_unknown_stays_unknown():
    assert np.isnan(spectral_radiance(10e-6, [np.nan, 300.0])).tolist() == [True, False]
    assert np.isnan(brightness_temperature(10e-6, [0.0, -1.0, np.nan])).all()


@pytest.mark.parametrize("wavelength", [10.0, 0.0, -1e-6, np.inf])
def test_micrometres_given_as_metres_are_refused(wavelength):
    with pytest.raises(RangeError, match="1e-6"):
        spectral_radiance(wavelength, 300.0)


def test_fraction_rises_from_nothing_to_all():
    share = fraction_below(np.geomspace(0.3e-6, 9e-2, 400), 300.0)
    assert (np.diff(share) >= 0).all()
    assert share[0] < 1e-30
    assert share[-1] > 1 - 1e-9


def test_both_series_of_the_fraction_meet():
    """At x = 1 the two series hand over: no step larger than their slope explains."""
    join = 0.01438776877 / 300.0
    below, above = fraction_below(join * np.array([1 - 1e-9, 1 + 1e-9]), 300.0)
    assert above - below == pytest.approx(0.0, abs=1e-9)
