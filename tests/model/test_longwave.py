"""Total longwave flux of the sky."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.longwave import sky_longwave_flux
from groundglow.model.planck import black_body_exitance


def test_a_closed_cloud_adds_the_published_factor() -> None:
    """EnergyPlus Engineering Reference, Climate Calculations: 1 + 0.224 - 0.35 + 0.28 for ten tenths."""
    clear, closed = sky_longwave_flux(283.15, 0.5, cloud_fraction=[0.0, 1.0])
    assert closed / clear == pytest.approx(1.154)


def test_the_sky_never_gives_more_than_a_black_body_at_air_temperature() -> None:
    kelvin = np.linspace(233.15, 328.15, 40)
    assert (sky_longwave_flux(kelvin, 1.0, cloud_fraction=1.0) <= black_body_exitance(kelvin)).all()


def test_moisture_and_warmth_add() -> None:
    assert (np.diff(sky_longwave_flux(283.15, np.linspace(0, 1, 11))) > 0).all()
    assert (np.diff(sky_longwave_flux(np.linspace(240.0, 320.0, 11), 0.5)) > 0).all()


def test_cloud_in_per_cent_is_refused() -> None:
    with pytest.raises(RangeError, match="cloud_fraction"):
        sky_longwave_flux(283.15, 0.5, cloud_fraction=50.0)
