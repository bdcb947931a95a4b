"""Delivered temperatures: what was told is undone, what was not told is doubted."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundglow.frames.radiometry.delivered import AS_DELIVERED_SD_K, delivered_radiance
from groundglow.model.band import lookup, nominal_band
from groundglow.records.flight import ValuesSpec

TABLE = lookup(nominal_band("7.5-13.5"))
WARM = np.array([280.0, 300.0, 340.0])


def said(**known: float) -> ValuesSpec:
    return ValuesSpec.model_validate({"kind": "surface_temperature", "unit": "K", **known})


def test_a_black_body_seen_through_nothing_is_its_own_radiance() -> None:
    """Emissivity 1 over no distance changes nothing."""
    values = said(emissivity=1.0, reflected_c=-40.0, air_c=20.0, relative_humidity_pct=50.0, distance_m=0.0)
    found = delivered_radiance(WARM, values, TABLE)
    np.testing.assert_allclose(found.radiance, TABLE.radiance(WARM), rtol=1e-9)
    assert not found.corrected


@given(st.floats(0.3, 1.0), st.floats(-60, 40))
def test_undoing_mixes_surface_and_reflection_by_emissivity(emissivity: float, reflected: float) -> None:
    """L = eps L(T) + (1 - eps) L(T_reflected): the balance at an opaque surface (Kirchhoff)."""
    found = delivered_radiance(WARM, said(emissivity=emissivity, reflected_c=reflected), TABLE)
    expected = emissivity * TABLE.radiance(WARM) + (1 - emissivity) * TABLE.radiance(reflected + 273.15)
    np.testing.assert_allclose(found.radiance, expected, rtol=1e-9)


def test_a_surface_as_warm_as_its_air_owes_nothing_to_the_air() -> None:
    """Where scene and air are alike, the transmittance does not matter: its sensitivity is zero there."""
    values = said(emissivity=1.0, reflected_c=20.0, air_c=20.0, relative_humidity_pct=60.0, distance_m=200.0)
    found = delivered_radiance(np.array([293.15, 313.15]), values, TABLE)
    alike, warmer = found.flight["delivered correction"]
    assert abs(alike) < 1e-3 * abs(warmer)
    assert warmer > 0


@pytest.mark.parametrize("known", [{}, {"emissivity": 0.9}, {"reflected_c": -20.0}])
def test_half_of_the_inputs_is_not_enough(known: dict[str, float]) -> None:
    """Emissivity without reflection undoes nothing."""
    found = delivered_radiance(WARM, said(**known), TABLE)
    assert found.corrected
    np.testing.assert_allclose(found.flight["delivered correction"], AS_DELIVERED_SD_K * TABLE.slope(WARM))
