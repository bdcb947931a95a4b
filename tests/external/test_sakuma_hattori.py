"""Sakuma-Hattori equation against fits made with another program and the published two-constant form."""

from __future__ import annotations

import csv

import numpy as np
import pytest

from groundglow.model.band import SakumaHattori, band_radiance, fit_sakuma_hattori, ideal_band
from groundglow.model.planck import SECOND_RADIATION_CONSTANT

TOPIC, FIT = "Sakuma-Hattori equation", "scipy least squares, computed apart"
CALIBRATION = np.arange(-20.0, 100.1, 5.0) + 273.15


@pytest.mark.parametrize(
    ("low_um", "high_um", "a_um", "b_um_k", "residual_k"),
    [(8.0, 14.0, 9.33894, 178.365, 2e-3), (7.5, 13.5, 8.77811, 193.278, 3e-3)],
)
def test_fit_to_an_ideal_band(record_check, low_um, high_um, a_um, b_um_k, residual_k):
    """Least squares with scipy over -20 to 100 degC in 5 K steps, relative-radiance weights (computed values).

    The residual of the 8-14 um fit is at most 2 mK between the points too.
    """
    band = ideal_band(low_um * 1e-6, high_um * 1e-6)
    fit = fit_sakuma_hattori(CALIBRATION, band_radiance(band, CALIBRATION))
    within = f"{low_um:g}-{high_um:g} um, -20 to 100 degC"
    record_check(TOPIC, f"A, {within}", a_um, fit.a * 1e6, "um", 1e-3, FIT)
    record_check(TOPIC, f"B, {within}", b_um_k, fit.b * 1e6, "um K", 0.0, FIT, relative=1e-3)
    dense = np.linspace(CALIBRATION[0], CALIBRATION[-1], 500)
    ours = fit.temperature(band_radiance(band, dense))
    record_check(TOPIC, f"residual, {within}", dense, ours, "K", residual_k, "exact integral")


def test_closed_form_from_centre_and_width_is_no_fit(record_check):
    """A = l0 (1 - 6 s^2/l0^2), B = c2/2 s^2/l0^2, s = width/sqrt(12): 9.3636 um, 178.36 um K; 0.199 K off at worst.

    Published form (P. Saunders); the values are those commonly quoted for 8-14 um (ASTM E2847, from memory).
    """
    centre, spread = 11e-6, 6e-6 / np.sqrt(12)
    a = centre * (1 - 6 * spread**2 / centre**2)
    b = SECOND_RADIATION_CONSTANT / 2 * spread**2 / centre**2
    source = "P. Saunders; ASTM E2847 (from memory)"
    record_check(TOPIC, "A from centre and width, 8-14 um", 9.3636, a * 1e6, "um", 1e-4, source)
    record_check(TOPIC, "B from centre and width, 8-14 um", 178.36, b * 1e6, "um K", 1e-2, source)
    band = ideal_band(8e-6, 14e-6)
    free = SakumaHattori(a, b, 1.0)
    closed = SakumaHattori(a, b, float(band_radiance(band, 300.0) / free.signal(300.0)))
    error = np.abs(closed.temperature(band_radiance(band, CALIBRATION)) - CALIBRATION).max()
    record_check(TOPIC, "error of that closed form", 0.199, error, "K", 0.005, FIT)


def test_slope_is_the_published_derivative():
    """dS/dT = S^2 A c2 / (C (A T + B)^2) exp(c2 / (A T + B)), "Sakuma-Hattori equation" (open encyclopaedia)."""
    equation = SakumaHattori(9.33894e-6, 178.365e-6, 6809.815)
    kelvin = np.array([250.0, 300.0, 400.0])
    length = equation.a * kelvin + equation.b
    growth = np.exp(SECOND_RADIATION_CONSTANT / length)
    published = (
        equation.signal(kelvin) ** 2 * (equation.a * SECOND_RADIATION_CONSTANT / (equation.c * length**2)) * growth
    )
    assert equation.slope(kelvin) == pytest.approx(published, rel=1e-12)


def test_two_constant_form_of_the_satellites(shared_reference, record_check):
    """With B = 0 the equation is T = K2 / ln(K1 / L + 1): constants and temperatures of satellite_thermal.csv.

    Landsat 7 to 9 scene metadata, ASTER and MODIS constants (U.S. Geological Survey and public codes).
    """
    with shared_reference("satellite_thermal.csv").open(encoding="utf-8") as lines:
        rows = [row for row in csv.DictReader(lines) if row["T_K"]]
    assert rows
    for row in rows:
        k1, k2 = float(row["K1_W_m2_sr_um"]), float(row["K2_K"])
        equation = SakumaHattori(SECOND_RADIATION_CONSTANT / k2, 0.0, k1)
        radiance, kelvin = float(row["L_W_m2_sr_um"]), float(row["T_K"])
        rounding = 5e-7 / float(equation.slope(kelvin))
        name = f"{row['sensor_band']}: temperature of {radiance:g} W m-2 sr-1 um-1"
        ours = equation.temperature(radiance)
        record_check("Satellite bands", name, kelvin, ours, "K", 1e-5 + rounding, "scene metadata, USGS; public codes")
