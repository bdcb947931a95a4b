"""The sky: order, mixture, means and refusals."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.absorption import absorption, quadrature
from groundglow.model.band import band_radiance, band_temperature
from groundglow.model.longwave import sky_longwave_flux
from groundglow.model.planck import STEFAN_BOLTZMANN
from groundglow.model.profile import profile
from groundglow.model.response import ideal_band, nominal_band
from groundglow.model.sky import SKY_TEMPERATURE_SD, sky_hemisphere_radiance, sky_radiance, spectral_sky_radiance

BAND = ideal_band(8e-6, 14e-6)
MILD = {"air_temperature": 293.15, "relative_humidity": 0.5}
ANGLES = np.radians([0.0, 20.0, 40.0, 55.0, 70.0, 80.0, 86.0, 90.0])


def test_the_clear_sky_warms_towards_the_horizon_and_ends_near_air_temperature() -> None:
    kelvin = band_temperature(BAND, sky_radiance(BAND, ANGLES, **MILD))
    assert (np.diff(kelvin) > 0).all()
    assert kelvin[-1] == pytest.approx(293.15, abs=2.0)
    assert kelvin[0] < 293.15 - 30


def test_moist_air_has_a_warmer_sky() -> None:
    dry, moist = (sky_radiance(BAND, 0.0, air_temperature=293.15, relative_humidity=h) for h in (0.2, 0.9))
    assert moist > dry * 1.2


def test_a_high_place_has_a_colder_sky() -> None:
    assert sky_radiance(BAND, 0.0, **MILD, pressure=70e3) < sky_radiance(BAND, 0.0, **MILD)


def test_cloud_is_a_mixture_by_its_share() -> None:
    clear, half, closed = (sky_radiance(BAND, ANGLES, **MILD, cloud_fraction=c) for c in (0.0, 0.5, 1.0))
    np.testing.assert_allclose(half, 0.5 * (clear + closed))
    assert (closed >= clear - 1e-9).all()


def test_a_low_warm_cloud_glows_more_than_a_high_cold_one_and_hides_the_sky() -> None:
    low, high = (
        float(sky_radiance(BAND, 0.0, **MILD, cloud_fraction=1.0, cloud_temperature=t)) for t in (288.0, 250.0)
    )
    assert low == pytest.approx(float(band_radiance(BAND, 288.0)), rel=0.02)
    assert float(band_radiance(BAND, 250.0)) < high < low


def test_fog_at_the_ground_is_a_black_body() -> None:
    seen = sky_radiance(BAND, 0.3, **MILD, cloud_fraction=1.0, cloud_temperature=293.15)
    assert float(seen) == pytest.approx(float(band_radiance(BAND, 293.15)), rel=1e-3)


def test_the_hemisphere_is_the_cosine_weighted_mean() -> None:
    """Against a fine midpoint sum over rays computed one by one."""
    angles = np.radians(np.arange(0.25, 90.0, 0.5))
    radiance, _ = spectral_sky_radiance(profile(**MILD), angles)
    grid = quadrature(BAND)
    weight = np.sin(2 * angles)
    wanted = (grid.at_nodes(radiance) @ grid.weight * weight).sum() / weight.sum()
    assert sky_hemisphere_radiance(BAND, **MILD) == pytest.approx(wanted, rel=2e-3)


def test_between_tabulated_angles_the_sky_is_within_a_quarter_kelvin() -> None:
    angles = np.radians(np.linspace(0.0, 90.0, 61))
    radiance, _ = spectral_sky_radiance(profile(**MILD), angles)
    fine = np.linspace(8e-6, 14e-6, 6001)
    wanted = [np.trapezoid(np.interp(fine, absorption().wavelength, ray), fine) for ray in radiance]
    ours = sky_radiance(BAND, angles, **MILD)
    assert np.abs(band_temperature(BAND, ours) - band_temperature(BAND, wanted)).max() < 0.25


def test_the_clear_sky_in_the_band_is_far_colder_than_its_total_flux_tells() -> None:
    """The reason why the two are kept apart: 20-40 K."""
    total = (float(sky_longwave_flux(**MILD)) / STEFAN_BOLTZMANN) ** 0.25
    assert 15.0 < total - float(band_temperature(BAND, sky_radiance(BAND, 0.0, **MILD))) < 60.0


def test_the_stated_doubt_of_a_real_sky_is_wide() -> None:
    assert SKY_TEMPERATURE_SD >= 8.0


def test_any_band_works() -> None:
    for band in (nominal_band("7.5-13.5"), nominal_band("8-14"), ideal_band(7e-6, 14.5e-6)):
        assert 0 < sky_radiance(band, 0.2, **MILD) < float(band_radiance(band, 293.15))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"zenith": 95.0}, "zenith is 95"),
        ({"zenith": -0.1}, "zenith is -0.1"),
        ({"cloud_fraction": 40.0}, "cloud_fraction is 40"),
        ({"cloud_fraction": 1.0, "cloud_temperature": 5.0}, "cloud_temperature is 5"),
        ({"air_temperature": 20.0}, "air_temperature is 20"),
    ],
)
def test_outside_the_domain_is_refused(change: dict[str, float], words: str) -> None:
    given = {"zenith": 0.0, **MILD, **change}
    with pytest.raises(RangeError, match=words):
        sky_radiance(BAND, given.pop("zenith"), **given)
