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

TOPIC = "Planck's law"
WAVELENGTHS_UM = np.array([3.0, 5.0, 7.5, 8.0, 10.0, 12.0, 14.0, 20.0])
TEMPERATURES = np.array([150.0, 233.15, 273.15, 300.0, 373.15, 800.0, 1500.0])


def _rows(path):
    with path.open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def test_radiation_constants_are_the_si_ones(record_check):
    """CODATA 2022 through astropy.constants and scipy: sigma, c2 and 2 h c^2 (exact since the SI of 2019)."""
    source = "CODATA 2022, by astropy and scipy"
    for name, published, ours, unit, relative in (
        ("Stefan-Boltzmann constant", 5.6703744191844314e-8, STEFAN_BOLTZMANN, "W m-2 K-4", 1e-13),
        ("second radiation constant", 14387.76877504e-6, SECOND_RADIATION_CONSTANT, "m K", 1e-12),
        ("first radiation constant, 2 h c^2", 1.1910429724e-16, FIRST_RADIATION_CONSTANT, "W m2 sr-1", 1e-10),
    ):
        record_check(TOPIC, name, published, ours, unit, 0.0, source, relative=relative)


def test_spectral_radiance_agrees_with_the_reference_table(shared_reference, record_check):
    """planck_spectral.csv, computed with astropy 8.0.2 from CODATA constants, printed to six decimals."""
    rows = _rows(shared_reference("planck_spectral.csv"))
    names = [name for name in rows[0] if name.startswith("L_")]
    wavelength = np.array([float(name.split("_")[1].removesuffix("um")) * 1e-6 for name in names])
    kelvin = np.array([float(row["T_K"]) for row in rows])
    published = [[float(row[name]) for name in names] for row in rows]
    ours = spectral_radiance(wavelength, kelvin[:, None]) * 1e-6
    source = "astropy 8.0.2, CODATA constants"
    record_check(TOPIC, "spectral radiance", published, ours, "W m-2 sr-1 um-1", 5e-7, source, relative=1e-6)


@pytest.mark.parametrize("wavelength_um", WAVELENGTHS_UM)
def test_spectral_radiance_agrees_with_astropy(wavelength_um, record_check):
    """astropy.modeling.models.BlackBody, an independent implementation."""
    units = pytest.importorskip("astropy.units")
    models = pytest.importorskip("astropy.modeling.models")
    body = models.BlackBody(
        temperature=TEMPERATURES * units.K, scale=1.0 * units.W / (units.m**2 * units.sr * units.um)
    )
    theirs = body(np.full(TEMPERATURES.shape, wavelength_um) * units.um).value * 1e6
    ours = spectral_radiance(wavelength_um * 1e-6, TEMPERATURES)
    name = f"spectral radiance at {wavelength_um:g} um, 150 to 1500 K"
    record_check(TOPIC, name, theirs, ours, "W m-2 sr-1 m-1", 0.0, "astropy BlackBody", relative=1e-9)


@pytest.mark.parametrize("kelvin", TEMPERATURES)
def test_spectral_radiance_agrees_with_ht(kelvin, record_check):
    """ht.blackbody_spectral_radiance, an independent heat transfer library (its constants are older: 1e-6)."""
    ht = pytest.importorskip("ht")
    theirs = [ht.blackbody_spectral_radiance(kelvin, w * 1e-6) for w in WAVELENGTHS_UM]
    ours = spectral_radiance(WAVELENGTHS_UM * 1e-6, kelvin)
    name = f"spectral radiance at {kelvin:g} K, 3 to 20 um"
    record_check(TOPIC, name, theirs, ours, "W m-2 sr-1 m-1", 0.0, "ht (older constants)", relative=1e-6)


def test_exitance_of_300_kelvin(record_check):
    """sigma T^4 with sigma 5.670374419e-8 W m-2 K-4 (CODATA 2018): 459.30033 W/m2."""
    record_check(
        TOPIC, "exitance at 300 K", 459.30033, black_body_exitance(300.0), "W/m2", 0.0, "CODATA 2018", relative=1e-8
    )


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
def test_band_radiance_slope_and_share_agree_with_the_reference_table(shared_reference, record_check, key, low, high):
    """planck_inband.csv, computed with scipy.integrate.quad from CODATA constants, printed to six decimals."""
    band = ideal_band(low * 1e-6, high * 1e-6)
    rows, source = _rows(shared_reference("planck_inband.csv")), "scipy.integrate.quad, CODATA constants"
    names = ("T_K", f"L_W_m2_sr_{key}", f"dLdT_{key}", f"frac_{key}", f"n_eff=dlnL_dlnT_{key}")
    kelvin, radiance, slope, share, power = (np.array([float(row[name]) for row in rows]) for name in names)
    within, ours, by_kelvin = f"{low:g}-{high:g} um", band_radiance(band, kelvin), band_slope(band, kelvin)
    record_check(TOPIC, f"band radiance, {within}", radiance, ours, "W m-2 sr-1", 6e-7, source, relative=1e-6)
    record_check(TOPIC, f"its slope, {within}", slope, by_kelvin, "W m-2 sr-1 K-1", 6e-7, source, relative=1e-6)
    fraction = fraction_below(high * 1e-6, kelvin) - fraction_below(low * 1e-6, kelvin)
    record_check(TOPIC, f"share of all radiation, {within}", share, fraction, "", 1e-6, source)
    exponent = by_kelvin * kelvin / ours
    record_check(TOPIC, f"d ln L / d ln T, {within}", power, exponent, "", 0.0, source, relative=1e-5)


@pytest.mark.parametrize(("key", "low", "high"), [("8_14", 8, 14), ("7.5_13.5", 7.5, 13.5)])
def test_table_reads_the_reference_radiances_to_a_millikelvin(shared_reference, record_check, key, low, high):
    """planck_inband.csv read backwards through the fast table, 230 to 450 K: within 1 mK."""
    table = lookup(ideal_band(low * 1e-6, high * 1e-6))
    rows, source = _rows(shared_reference("planck_inband.csv")), "scipy.integrate.quad, CODATA constants"
    kelvin, radiance = (np.array([float(row[name]) for row in rows]) for name in ("T_K", f"L_W_m2_sr_{key}"))
    within = f"{low:g}-{high:g} um"
    fast, exact = table.temperature(radiance), band_temperature(table.band, radiance)
    record_check(TOPIC, f"temperature by the fast table, {within}", kelvin, fast, "K", 1e-3, source)
    record_check(TOPIC, f"temperature by the exact integral, {within}", kelvin, exact, "K", 1e-4, source)


def test_band_fractions_agree_with_a_handbook(shared_reference, record_check):
    """Mechanical Engineers' Handbook, vol. 4, p. 183, table 16, "Radiation Function F0-lT", all 90 rows.

    Four figures with the constants of its time: 1e-4.
    """
    rows = _rows(shared_reference("band_fraction_handbook_table16.csv"))
    assert len(rows) == 90
    product = np.array([float(row["lambdaT_um_K"]) for row in rows]) * 1e-6
    published = np.array([float(row["F_published_4fig"]) for row in rows])
    assert fraction_below(product / 300.0, 300.0) == pytest.approx(published, abs=1e-4, rel=2e-3)
    source = "Mechanical Engineers' Handbook vol. 4, table 16"
    ours = fraction_below(product / 300.0, 300.0)
    record_check(TOPIC, "share below a wavelength, 400 to 100 000 um K", published, ours, "", 1e-4, source)


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
def test_band_fraction_with_exact_constants(record_check, product_um_k, fraction):
    """Computed from the series 15/pi^4 with CODATA constants, six decimals."""
    ours = fraction_below(product_um_k * 1e-6 / 300.0, 300.0)
    record_check(TOPIC, f"share below {product_um_k:g} um K", fraction, ours, "", 1e-6, "series, CODATA constants")


def test_brightness_temperature_of_a_published_radiance(record_check):
    """ht gives 9924033.96 W m-2 sr-1 m-1 at 10 um and 300 K; read backwards (older constants: 0.1 mK)."""
    ours = brightness_temperature(10e-6, 9924033.96)
    record_check(TOPIC, "brightness temperature of 9924033.96 W m-2 sr-1 m-1 at 10 um", 300.0, ours, "K", 1e-4, "ht")
