"""Exchange with the air: signs, limits and the order of things."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundglow.model.ground.turbulence import Exchange, evaporated_share, latent_flux, sensible_conductance

LAW = Exchange().law()
AIR = np.array([1200.0, 2339.0, 101325.0])


@settings(deadline=None)  # the first call compiles
@given(st.floats(-30, 60), st.floats(0, 25))
def test_conductance_is_never_negative(rise: float, wind: float) -> None:
    """Heat never flows against the difference of temperature."""
    assert sensible_conductance(rise, 288.15, wind, 1e5, LAW) >= 0


def test_stable_air_insulates_and_unstable_air_stirs() -> None:
    """A surface colder than the air has less exchange than at equal temperature; a warmer one more."""
    cold, equal, warm = (sensible_conductance(r, 288.15, 2.0, 1e5, LAW) for r in (-5.0, 0.0, 5.0))
    assert cold < 0.5 * equal < equal < warm


def test_a_hot_surface_loses_heat_without_wind() -> None:
    """Free convection: conductance grows with the cube root of the difference when the air stands still."""
    one, eight = (sensible_conductance(r, 288.15, 0.0, 1e5, LAW) for r in (2.0, 16.0))
    assert one > 3
    assert eight == pytest.approx(2 * one, rel=0.25)


def test_neutral_exchange_is_the_logarithmic_law() -> None:
    """At equal temperatures: density, heat capacity, k^2 and wind over the two logarithms, by hand."""
    law = Exchange(roughness=0.01, wind_height=10.0, air_height=2.0).law()
    density_heat = 101325 / (287.05 * 290) * 1005
    by_hand = density_heat * 0.16 * 3 / (np.log(1000) * np.log(2000))
    assert sensible_conductance(0.0, 290.0, 3.0, 101325.0, law) == pytest.approx(by_hand, rel=1e-9)


def test_wet_ground_evaporates_and_dew_falls() -> None:
    """A wet surface warmer than the dew point loses latent heat; one far colder gains it; a dry one has neither."""
    wet, dry = Exchange(wet_share=1.0).law(), Exchange().law()
    assert latent_flux(293.15, 0.0, 10.0, 293.15, AIR, wet) > 0
    assert latent_flux(273.15, 0.0, 10.0, 293.15, AIR, wet) < 0
    assert latent_flux(293.15, 0.0, 10.0, 293.15, AIR, dry) == 0


def test_leaves_hold_water_back_but_not_dew() -> None:
    """A resistance lowers evaporation and leaves dew as it is."""
    open_water, leaves = Exchange(wet_share=1.0).law(), Exchange(wet_share=1.0, resistance=100.0).law()
    lost = [latent_flux(298.15, 50.0, 10.0, 293.15, AIR, law) for law in (open_water, leaves)]
    gained = [latent_flux(275.15, -50.0, 10.0, 293.15, AIR, law) for law in (open_water, leaves)]
    assert 0 < lost[1] < lost[0]
    assert gained[0] == gained[1] < 0


def test_latent_share_follows_only_heat_that_rises() -> None:
    """Evaporation in proportion to sensible heat stops at night."""
    law = Exchange(latent_per_sensible=1.5).law()
    assert latent_flux(300.0, 100.0, 10.0, 293.15, AIR, law) == pytest.approx(150.0)
    assert latent_flux(285.0, -30.0, 10.0, 293.15, AIR, law) == 0


def test_humid_warm_land_evaporates_more_than_dry_or_cold_land() -> None:
    """The share orders a jungle, a meadow and a desert, and stays at 0.6 at most."""
    desert, meadow, jungle = (
        evaporated_share(305.0, 0.15, 1e5),
        evaporated_share(290.0, 0.6, 1e5),
        evaporated_share(300.0, 0.95, 1e5),
    )
    assert 0.1 < desert < 0.25 < meadow < jungle <= 0.6
    assert evaporated_share(260.0, 0.6, 1e5) < meadow
