"""The air above a place."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.profile import cloud_base, profile, slant_lengths


def test_pressure_falls_as_in_the_standard_atmosphere() -> None:
    """898.7, 540.2 and 264.4 hPa at 1, 5 and 10 km (US Standard Atmosphere 1976, from memory), 3 %."""
    layers = profile(288.15, 0.5)
    middle = 0.5 * (layers.levels[1:] + layers.levels[:-1])
    found = np.exp(np.interp([1e3, 5e3, 10e3], middle, np.log(layers.pressure)))
    np.testing.assert_allclose(found, [898.7e2, 540.2e2, 264.4e2], rtol=0.03)


def test_columns_of_water_and_ozone_are_those_of_the_rules() -> None:
    """Prata's 46.5 e/T cm; Lacis and Hansen's 0.34 cm of ozone (and a little near the ground)."""
    layers = profile(293.15, 0.5)
    steps = np.diff(layers.levels)
    water = (layers.vapour / (461.52 * layers.temperature) * steps).sum()
    ozone = (layers.ozone * layers.pressure / 101325.0 * 273.15 / layers.temperature * steps).sum()
    assert water == pytest.approx(10 * 46.5 * 11.697 / 293.15, rel=0.02)
    assert 0.0034 < ozone < 0.0038


def test_temperature_never_rises_and_stops_at_the_stratosphere() -> None:
    for kelvin in (235.0, 257.0, 272.0, 290.0, 320.0):
        found = profile(kelvin, 0.5).temperature
        assert (np.diff(found) <= 0).all()
        assert found[-1] == pytest.approx(215.0)


def test_a_slanted_ray_is_longer_by_the_secant_and_finite_at_the_horizon() -> None:
    layers = profile(288.15, 0.5)
    steps = np.diff(layers.levels)
    np.testing.assert_allclose(slant_lengths(layers, 0.0), steps, rtol=1e-6)
    np.testing.assert_allclose(slant_lengths(layers, np.radians(60.0))[:8], 2 * steps[:8], rtol=5e-3)
    assert np.isfinite(slant_lengths(layers, np.pi / 2)).all()


def test_no_ray_above_a_cloud() -> None:
    layers = profile(288.15, 0.5)
    assert slant_lengths(layers, 0.0, 1200.0).sum() == pytest.approx(1200.0)


def test_cloud_base_follows_the_dew_point_or_the_temperature_given() -> None:
    """125 m a kelvin of dew-point depression (Lawrence 2005)."""
    height, kelvin = cloud_base(293.15, 0.5, None)
    assert height == pytest.approx(125.0 * (20.0 - 9.27), rel=0.01)
    assert kelvin < 293.15
    higher, given = cloud_base(293.15, 0.5, 260.0)
    assert given == 260.0
    assert higher == pytest.approx((293.15 - 260.0) / 5.5e-3, abs=30.0)


def test_weather_outside_the_domain_is_refused() -> None:
    with pytest.raises(RangeError, match="pressure"):
        profile(288.15, 0.5, 1013.25)
