"""Planck's law against computed tables, two general-purpose libraries and a handbook table."""

from __future__ import annotations

import csv

import numpy as np
import pytest

from groundglow.model.band import band_radiance, band_slope, band_temperature, ideal_band, lookup
from groundglow.model.planck import (
    FIRST_RADIATION_CONSTANT,
    SECOND_RADIATION_CONSTANT,
    STEFAN_BOLTZMANN,
    black_body_exitance,
    brightness_temperature,
    fraction_below,
    spectral_radiance,
)

WAVELENGTHS_UM = np.array([3.0, 5.0, 7.5, 8.0, 10.0, 12.0, 14.0, 20.0])
TEMPERATURES = np.array([150.0, 233.15, 273.15, 300.0, 373.15, 800.0, 1500.0])


def _rows(path):
    with path.open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def test_radiation_constants_are_the_si_ones():
    """CODATA 2022 through astropy.constants and scipy: sigma, c2 and 2 h c^2 (exact since the SI of 2019)."""
    assert pytest.approx(5.6703744191844314e-8, rel=1e-13) == STEFAN_BOLTZMANN
    assert pytest.approx(14387.76877504e-6, rel=1e-12) == SECOND_RADIATION_CONSTANT
    assert pytest.approx(1.1910429724e-16, rel=1e-10) == FIRST_RADIATION_CONSTANT


def test_spectral_radiance_agrees_with_the_reference_table(shared_reference):
    """planck_spectral.csv, computed with astropy 8.0.2 from CODATA constants, printed to six decimals."""
    for row in _rows(shared_reference("planck_spectral.csv")):
        for name, text in row.items():
            if name.startswith("L_"):
                wavelength = float(name.split("_")[1].removesuffix("um")) * 1e-6
                ours = spectral_radiance(wavelength, float(row["T_K"])) * 1e-6
                assert ours == pytest.approx(float(text), rel=1e-6, abs=5e-7)


@pytest.mark.parametrize("wavelength_um", WAVELENGTHS_UM)
def test_spectral_radiance_agrees_with_astropy(wavelength_um):
    """astropy.modeling.models.BlackBody, an independent implementation."""
    units = pytest.importorskip("astropy.units")
    models = pytest.importorskip("astropy.modeling.models")
    body = models.BlackBody(
        temperature=TEMPERATURES * units.K, scale=1.0 * units.W / (units.m**2 * units.sr * units.um)
    )
    theirs = body(np.full(TEMPERATURES.shape, wavelength_um) * units.um).value * 1e6
    assert spectral_radiance(wavelength_um * 1e-6, TEMPERATURES) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("kelvin", TEMPERATURES)
def test_spectral_radiance_agrees_with_ht(kelvin):
    """ht.blackbody_spectral_radiance, an independent heat transfer library (its constants are older: 1e-6)."""
    ht = pytest.importorskip("ht")
    theirs = [ht.blackbody_spectral_radiance(kelvin, w * 1e-6) for w in WAVELENGTHS_UM]
    assert spectral_radiance(WAVELENGTHS_UM * 1e-6, kelvin) == pytest.approx(theirs, rel=1e-6)


def test_exitance_of_300_kelvin():
    """sigma T^4 with sigma 5.670374419e-8 W m-2 K-4 (CODATA 2018): 459.30033 W/m2."""
    assert black_body_exitance(300.0) == pytest.approx(459.30033, rel=1e-8)


def test_exitance_is_the_integral_of_planck():
    """Stefan-Boltzmann against Planck: pi times the integral from 1 um to 1 mm, and what is left outside."""
    kelvin = np.array([250.0, 300.0, 1000.0])
    whole = np.pi * band_radiance(ideal_band(1e-6, 1e-3), kelvin)
    inside = fraction_below(1e-3, kelvin) - fraction_below(1e-6, kelvin)
    assert whole == pytest.approx(black_body_exitance(kelvin) * inside, rel=1e-9)


def test_wien_displacement():
    """Peak of spectral radiance at 2897.771955185 um K (CODATA 2022, astropy.constants.b_wien)."""
    peak = 2897.771955185e-6 / 300.0
    around = spectral_radiance(peak * np.array([0.999, 1.0, 1.001]), 300.0)
    assert around[1] > around[0]
    assert around[1] > around[2]
    flat = spectral_radiance(peak * np.array([1 - 1e-4, 1 + 1e-4]), 300.0)
    assert flat[1] - flat[0] == pytest.approx(0.0, abs=1e-9 * flat[0])


@pytest.mark.parametrize(
    ("key", "low", "high"),
    [("8_14", 8, 14), ("7.5_13.5", 7.5, 13.5), ("7.5_14", 7.5, 14), ("8_12", 8, 12), ("3_5", 3, 5)],
)
def test_band_radiance_slope_and_share_agree_with_the_reference_table(shared_reference, key, low, high):
    """planck_inband.csv, computed with scipy.integrate.quad from CODATA constants, printed to six decimals."""
    band = ideal_band(low * 1e-6, high * 1e-6)
    for row in _rows(shared_reference("planck_inband.csv")):
        kelvin = float(row["T_K"])
        radiance, slope = float(row[f"L_W_m2_sr_{key}"]), float(row[f"dLdT_{key}"])
        assert band_radiance(band, kelvin) == pytest.approx(radiance, rel=1e-6, abs=6e-7)
        assert band_slope(band, kelvin) == pytest.approx(slope, rel=1e-6, abs=6e-7)
        share = fraction_below(high * 1e-6, kelvin) - fraction_below(low * 1e-6, kelvin)
        assert share == pytest.approx(float(row[f"frac_{key}"]), abs=1e-6)
        relative = band_slope(band, kelvin) * kelvin / band_radiance(band, kelvin)
        assert relative == pytest.approx(float(row[f"n_eff=dlnL_dlnT_{key}"]), rel=1e-5)


@pytest.mark.parametrize(("key", "low", "high"), [("8_14", 8, 14), ("7.5_13.5", 7.5, 13.5)])
def test_table_reads_the_reference_radiances_to_a_millikelvin(shared_reference, key, low, high):
    """planck_inband.csv read backwards through the fast table, 230 to 450 K: within 1 mK."""
    table = lookup(ideal_band(low * 1e-6, high * 1e-6))
    for row in _rows(shared_reference("planck_inband.csv")):
        kelvin, radiance = float(row["T_K"]), float(row[f"L_W_m2_sr_{key}"])
        assert table.temperature(radiance) == pytest.approx(kelvin, abs=1e-3)
        assert band_temperature(table.band, radiance) == pytest.approx(kelvin, abs=1e-4)


def test_band_fractions_agree_with_a_handbook(shared_reference):
    """Mechanical Engineers' Handbook, vol. 4, p. 183, table 16, "Radiation Function F0-lT", all 90 rows.

    Four figures with the constants of its time: 1e-4.
    """
    rows = _rows(shared_reference("band_fraction_handbook_table16.csv"))
    assert len(rows) == 90
    product = np.array([float(row["lambdaT_um_K"]) for row in rows]) * 1e-6
    published = np.array([float(row["F_published_4fig"]) for row in rows])
    assert fraction_below(product / 300.0, 300.0) == pytest.approx(published, abs=1e-4, rel=2e-3)
    assert np.abs(fraction_below(product / 300.0, 300.0) - published).max() <= 1e-4


@pytest.mark.parametrize(
    ("product_um_k", "fraction"),
    [
        (1000, 0.000321),
        (1448, 0.010005),
        (2000, 0.066730),
        (2897.77, 0.250055),
        (3000, 0.273229),
        (4000, 0.480865),
        (4107.2, 0.499992),
        (5000, 0.633726),
        (10000, 0.914157),
        (20000, 0.985554),
        (50000, 0.998904),
    ],
)
def test_band_fraction_with_exact_constants(product_um_k, fraction):
    """Computed from the series 15/pi^4 with CODATA constants, six decimals."""
    assert fraction_below(product_um_k * 1e-6 / 300.0, 300.0) == pytest.approx(fraction, abs=1e-6)


def test_brightness_temperature_of_a_published_radiance():
    """ht gives 9924033.96 W m-2 sr-1 m-1 at 10 um and 300 K; read backwards (older constants: 0.1 mK)."""
    assert brightness_temperature(10e-6, 9924033.96) == pytest.approx(300.0, abs=1e-4)
