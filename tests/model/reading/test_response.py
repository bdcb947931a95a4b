"""Bands with edges moved and response tilted."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.absorption import absorption
from groundglow.model.band import Band, nominal_band, response_integral
from groundglow.model.reading import moved_band

BAND = nominal_band("7.5-13.5")


def half_response(band: Band) -> tuple[float, float]:
    """Wavelengths at which the response passes half of its maximum, m."""
    rising = band.response / band.response.max() >= 0.5
    first, last = np.flatnonzero(rising)[[0, -1]]
    return float(band.wavelength[first]), float(band.wavelength[last])


def test_nothing_moved_is_the_same_response() -> None:
    same = moved_band(BAND)
    np.testing.assert_allclose(same.wavelength, BAND.wavelength)
    np.testing.assert_array_equal(same.response, BAND.response)


@pytest.mark.parametrize(("short", "long"), [(0.2e-6, 0.0), (0.0, -0.3e-6), (-0.2e-6, 0.3e-6)])
def test_edges_move_by_what_is_said(short: float, long: float) -> None:
    low, high = half_response(BAND)
    moved = half_response(moved_band(BAND, short_edge=short, long_edge=long))
    assert moved == pytest.approx((low + short, high + long), abs=0.06e-6)


def test_a_tilt_moves_the_weight_and_not_the_edges() -> None:
    tilted = moved_band(BAND, tilt=0.2)
    assert tilted.edges == pytest.approx(BAND.edges)

    def mean(band: Band) -> float:
        return float(np.average(band.wavelength, weights=band.response))

    assert mean(tilted) > mean(BAND) + 0.1e-6
    assert response_integral(tilted) == pytest.approx(response_integral(BAND), rel=0.02)


def test_a_band_stays_where_the_air_is_known() -> None:
    known = absorption().wavelength
    moved = moved_band(BAND, short_edge=-1.5e-6)
    assert moved.edges[0] == known[0]
    assert (np.diff(moved.wavelength) > 0).all()
