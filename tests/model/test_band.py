"""Band radiance: the quadrature against dense sums, the inverse, refusals."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from groundglow.errors import InputError, RangeError
from groundglow.model.band import (
    band_radiance,
    band_slope,
    band_temperature,
    effective_wavelength,
    ideal_band,
    lookup,
    nominal_band,
    response_integral,
)
from groundglow.model.planck import spectral_radiance
from groundglow.model.response import Band

RAGGED = Band("ragged", np.array([7.9, 8.0, 9.1, 9.15, 12.7, 14.2]) * 1e-6, [0.0, 0.8, 1.0, 0.3, 0.9, 0.0])
BANDS = [ideal_band(8e-6, 14e-6), ideal_band(3e-6, 5e-6), nominal_band("7.5-13.5"), nominal_band("8-14"), RAGGED]


def _by_adaptive_quadrature(band, kelvin):
    """An independent integration of the piecewise linear response, piece by piece."""
    return sum(
        quad(
            lambda w: np.interp(w, band.wavelength, band.response) * float(spectral_radiance(w * 1.0, kelvin)),
            low,
            high,
            epsabs=0,
            epsrel=1e-11,
        )[0]
        for low, high in zip(band.wavelength[:-1], band.wavelength[1:], strict=True)
    )


@pytest.mark.parametrize("band", BANDS, ids=lambda band: band.name)
@pytest.mark.parametrize("kelvin", [100.0, 150.0, 300.0, 1500.0])
def test_quadrature_agrees_with_an_adaptive_one(band, kelvin):
    assert band_radiance(band, kelvin) == pytest.approx(_by_adaptive_quadrature(band, kelvin), rel=1e-9)


def test_linear_response_is_not_taken_as_steps():
    """A triangle holds half the area of the rectangle about it, at one wavelength's radiance to first order."""
    narrow = Band("triangle", np.array([9.999e-6, 10e-6, 10.001e-6]), [0.0, 1.0, 0.0])
    assert response_integral(narrow) == pytest.approx(1e-9, rel=1e-9)
    assert band_radiance(narrow, 300.0) == pytest.approx(spectral_radiance(10e-6, 300.0) * 1e-9, rel=1e-6)


def test_two_halves_of_a_band_add_up():
    whole = band_radiance(ideal_band(8e-6, 14e-6), 300.0)
    parts = band_radiance(ideal_band(8e-6, 10.5e-6), 300.0) + band_radiance(ideal_band(10.5e-6, 14e-6), 300.0)
    assert parts == pytest.approx(whole, rel=1e-12)


@pytest.mark.parametrize("band", BANDS, ids=lambda band: band.name)
def test_inverse_returns_the_temperature_over_the_whole_range(band):
    kelvin = np.geomspace(100.0, 3000.0, 300)
    assert band_temperature(band, band_radiance(band, kelvin)) == pytest.approx(kelvin, abs=1e-7)


def test_no_radiance_no_temperature():
    found = band_temperature(BANDS[0], [0.0, -3.0, np.nan, 54.933461])
    assert np.isnan(found).tolist() == [True, True, True, False]


def test_shapes_are_kept_and_nan_passes():
    kelvin = np.full((2, 3, 4), 300.0)
    kelvin[1, 2, 3] = np.nan
    radiance = band_radiance(BANDS[0], kelvin)
    assert radiance.shape == (2, 3, 4)
    assert np.isnan(radiance).sum() == 1


def test_large_arrays_are_integrated_in_blocks():
    """More temperatures than one block holds give the same as one by one."""
    kelvin = np.linspace(200.0, 400.0, 10_001)
    some = [0, 4095, 4096, 10_000]
    one_by_one = [float(band_radiance(RAGGED, kelvin[i])) for i in some]
    assert band_radiance(RAGGED, kelvin)[some] == pytest.approx(one_by_one, rel=1e-12)


def test_celsius_below_zero_is_refused():
    with pytest.raises(RangeError, match=r"273\.15"):
        band_radiance(BANDS[0], -20.0)


def test_slope_is_the_derivative():
    step = 1e-3
    kelvin = np.array([160.0, 300.0, 1200.0])
    numeric = (band_radiance(RAGGED, kelvin + step) - band_radiance(RAGGED, kelvin - step)) / (2 * step)
    assert band_slope(RAGGED, kelvin) == pytest.approx(numeric, rel=1e-6)


def test_effective_wavelength_of_a_narrow_band_is_its_centre():
    narrow = ideal_band(3.999e-6, 4.001e-6)
    assert effective_wavelength(narrow, 300.0) == pytest.approx(4e-6, rel=1e-4)


def test_scale_of_the_response_cancels_in_temperature():
    percent = Band("percent", RAGGED.wavelength, RAGGED.response * 100)
    radiance = lookup(RAGGED).radiance(310.0)
    assert lookup(percent).temperature(radiance * 100) == pytest.approx(310.0, abs=1e-5)


def test_table_is_built_once_for_equal_bands():
    assert lookup(ideal_band(8e-6, 14e-6)) is lookup(ideal_band(8e-6, 14e-6))


def test_a_band_without_thermal_radiation_is_refused():
    with pytest.raises(InputError, match="thermal band"):
        lookup(ideal_band(0.4e-6, 0.7e-6))
