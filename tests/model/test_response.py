"""What is a spectral response, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.model.response import NOMINAL_BANDS, Band, ideal_band, nominal_band

GOOD = np.array([8e-6, 10e-6, 14e-6])


@pytest.mark.parametrize(
    ("wavelength", "response", "told"),
    [
        (GOOD, [1.0, 1.0], "two lists of one length"),
        (GOOD[:1], [1.0], "two points or more"),
        (GOOD[::-1], [1.0, 1.0, 1.0], "do not ascend at row 2"),
        ([8e-6, 8e-6, 9e-6], [1.0, 1.0, 1.0], "do not ascend at row 2"),
        (GOOD * 1e6, [1.0, 1.0, 1.0], "micrometres by 1e-6"),
        ([8e-6, np.nan, 14e-6], [1.0, 1.0, 1.0], "wavelength"),
        (GOOD, [1.0, -0.1, 1.0], "finite and >= 0"),
        (GOOD, [1.0, np.nan, 1.0], "finite and >= 0"),
        (GOOD, [1.0, np.inf, 1.0], "finite and >= 0"),
        (GOOD, [0.0, 0.0, 0.0], "zero everywhere"),
    ],
)
def test_a_table_that_is_no_response_is_refused(wavelength, response, told):
    with pytest.raises(InputError, match=told):
        Band("mine", wavelength, response)


def test_bands_of_equal_content_are_one_key():
    first, second = Band("mine", GOOD, [0.0, 1.0, 0.0]), Band("mine", GOOD.copy(), [0.0, 1.0, 0.0])
    assert first == second
    assert len({first, second}) == 1
    assert first != Band("mine", GOOD, [0.0, 0.9, 0.0])
    assert first != Band("mine", GOOD, [0.0, 1.0, 0.0], nominal=True)


def test_a_band_cannot_be_changed_from_outside():
    """The caller's array is copied, the band's is read-only."""
    mine = GOOD.copy()
    band = Band("mine", mine, [0.0, 1.0, 0.0])
    mine[0] = 1.0
    assert band.edges == (8e-6, 14e-6)
    with pytest.raises(ValueError, match="read-only"):
        band.response[0] = 1.0


@pytest.mark.parametrize("name", sorted(NOMINAL_BANDS))
def test_nominal_bands_are_marked_smooth_and_half_at_their_edges(name):
    band = nominal_band(name)
    assert band.nominal
    low, high = (float(edge) * 1e-6 for edge in name.split("-"))
    peak = band.response.max()
    assert np.interp([low, high], band.wavelength, band.response) == pytest.approx(peak / 2, rel=0.1)
    assert band.response[[0, -1]] == pytest.approx(0.0, abs=1e-12)
    inside = (band.wavelength > low + 0.4e-6) & (band.wavelength < high - 0.4e-6)
    assert band.response[inside].min() > 0.85 * peak
    assert np.abs(np.diff(band.response)).max() < 0.11 * peak


def test_an_ideal_band_is_not_nominal():
    assert not ideal_band(8e-6, 14e-6).nominal


def test_unknown_nominal_band_names_those_there_are():
    with pytest.raises(InputError, match=r"7\.5-13\.5, 8-14"):
        nominal_band("3-5")
