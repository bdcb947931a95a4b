"""Humidity: inverses, order, and clear refusals."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model import humidity


def test_dew_point_undoes_relative_humidity_over_the_whole_domain() -> None:
    kelvin, share = np.meshgrid(np.linspace(233.15, 328.15, 20), [1e-4, 0.01, 0.1, 0.5, 0.9, 1.0])
    back = humidity.relative_humidity_from_dew_point(kelvin, humidity.dew_point(kelvin, share))
    np.testing.assert_allclose(back, share, rtol=2e-6)


def test_saturated_air_has_its_own_temperature_as_dew_point() -> None:
    assert float(humidity.dew_point(283.15, 1.0)) == pytest.approx(283.15, abs=1e-6)


def test_completely_dry_air_has_no_dew_point() -> None:
    assert np.isnan(humidity.dew_point(283.15, 0.0))


def test_saturation_rises_with_temperature() -> None:
    assert (np.diff(humidity.saturation_vapour_pressure(np.linspace(180.0, 331.0, 500))) > 0).all()


def test_vapour_density_is_in_proportion_to_humidity() -> None:
    full, half = humidity.water_vapour_density(300.0, [1.0, 0.5])
    assert full == pytest.approx(2 * half)


def test_percent_is_refused_with_a_hint() -> None:
    with pytest.raises(RangeError, match=r"relative_humidity is 50.*Divide per cent by 100"):
        humidity.vapour_pressure(293.15, 50.0)


def test_celsius_is_refused_with_a_hint() -> None:
    with pytest.raises(RangeError, match=r"temperature is 20.*273\.15"):
        humidity.saturation_vapour_pressure(20.0)


def test_unknown_weather_stays_unknown() -> None:
    assert np.isnan(humidity.saturation_vapour_pressure(np.array([np.nan, 300.0]))[0])
