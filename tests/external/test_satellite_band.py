"""A measured band: Landsat 8 TIRS band 10, response and published table (U.S. Geological Survey, public domain)."""

from __future__ import annotations

import csv

import numpy as np
import pytest

from groundglow.model.band import Band, band_radiance, band_temperature, lookup, response_integral

K1, K2 = 774.8853, 1321.0789  # band 10 constants in the scene metadata of Landsat 8 (USGS)


def _columns(path):
    with path.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    return [np.array([float(row[name]) for row in rows]) for name in rows[0]]


@pytest.fixture(scope="module")
def band(shared_data):
    wavelength_um, response = _columns(shared_data("satellite-band") / "landsat8_band10_response.csv")
    return Band("band 10", wavelength_um * 1e-6, response)


@pytest.fixture(scope="module")
def published(shared_data):
    kelvin, radiance = _columns(shared_data("satellite-band") / "landsat8_band10_radiance.csv")
    warm = (kelvin >= 250) & (kelvin <= 350)
    return kelvin[warm], radiance[warm]


def test_published_table_is_met_to_3_millikelvin(band, published, record_check):
    """Temperature-to-radiance table of the USGS, 250 to 350 K, W m-2 sr-1 um-1."""
    kelvin, radiance = published
    ours = band_temperature(band, radiance * 1e6 * response_integral(band))
    source = "table of the USGS, Landsat 8 band 10"
    record_check("Satellite bands", "temperature of a measured band, 250 to 350 K", kelvin, ours, "K", 3e-3, source)


def test_fast_table_adds_nothing_for_a_measured_response(band, published):
    """The table of a ragged measured response stays within 0.01 mK of the exact integral."""
    kelvin, _ = published
    assert lookup(band).temperature(band_radiance(band, kelvin)) == pytest.approx(kelvin, abs=1e-5)


def test_two_constant_inversion_reads_a_tenth_of_a_kelvin_high(band, published, record_check):
    """T = K2 / ln(K1 / L + 1) reads +0.105 to +0.145 K above the exact band inversion, 250 to 350 K."""
    kelvin, _ = published
    mean_radiance = band_radiance(band, kelvin) / response_integral(band) * 1e-6
    excess = K2 / np.log(K1 / mean_radiance + 1) - kelvin
    ends, name = [excess.min(), excess.max()], "excess of the two-constant form, least and greatest"
    record_check("Satellite bands", name, [0.105, 0.145], ends, "K", 0.01, "computed apart, USGS response")
