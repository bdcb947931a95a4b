"""Surroundings: from temperatures, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.band import band_radiance, ideal_band, lookup
from groundglow.model.surroundings import Surroundings, surroundings_at

TABLE = lookup(ideal_band(8e-6, 14e-6))


def test_air_and_window_radiate_what_they_do_not_transmit():
    """Kirchhoff: (1 - tau) of a black body at the layer's own temperature."""
    around = surroundings_at(
        TABLE,
        reflected_temperature=250.0,
        air_temperature=290.0,
        transmittance=0.9,
        window_temperature=303.15,
        window_transmittance=0.8,
    )
    assert around.reflected_radiance == pytest.approx(band_radiance(TABLE.band, 250.0), rel=1e-6)
    assert around.path_radiance == pytest.approx(0.1 * band_radiance(TABLE.band, 290.0), rel=1e-6)
    assert around.window_radiance == pytest.approx(0.2 * band_radiance(TABLE.band, 303.15), rel=1e-6)


def test_without_window_nothing_is_added():
    around = surroundings_at(TABLE, reflected_temperature=250.0, air_temperature=290.0)
    assert around.path_radiance == 0.0
    assert around.window_radiance == 0.0


@pytest.mark.parametrize("share", [0.0, -0.1, 95.0, np.inf])
@pytest.mark.parametrize("name", ["transmittance", "window_transmittance"])
def test_a_transmittance_that_is_no_share_is_refused(name, share):
    with pytest.raises(RangeError, match="percent"):
        Surroundings(**({"reflected_radiance": 1.0, "transmittance": 1.0, "path_radiance": 0.0} | {name: share}))


@pytest.mark.parametrize("name", ["reflected_radiance", "path_radiance", "window_radiance"])
def test_a_negative_radiance_is_refused_with_its_place(name):
    given = {"reflected_radiance": 1.0, "transmittance": 1.0, "path_radiance": 0.0}
    with pytest.raises(RangeError, match=r"1 of 3 values, the first at index \(1,\)"):
        Surroundings(**(given | {name: [1.0, -1.0, 2.0]}))


def test_unknown_conditions_are_allowed():
    assert np.isnan(Surroundings(np.nan, 0.9, np.nan).reflected_radiance)
