"""Through air: the quick solution agrees with the sum over wavelengths, and its derivatives with differences.

Air holds water up to a dew point of 30 C, about the muggiest that people meet. Beyond it, far away, with a cold surface
of low emissivity, the quick solution leaves 10 mK: 11 mK at 35 C of dew point, over 100 mK in saturated air of 45 C;
and 10.1 mK at 250 K with an emissivity of 0.31 from 837 m.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundglow.model.air import scalar_transmittance_error, spectral_transmittance
from groundglow.model.band import lookup, nominal_band
from groundglow.model.planck import spectral_radiance
from groundglow.model.through_air import at_sensor_radiance_through_air, surface_temperature_through_air

BAND = nominal_band("7.5-13.5")
TABLE = lookup(BAND)
WAVELENGTH = np.linspace(*BAND.edges, 4001)
RESPONSE = np.interp(WAVELENGTH, BAND.wavelength, BAND.response)

MUGGIEST = 273.15 + 30.0


def dew_point(scene: dict[str, float]) -> float:
    """Dew point, K, by the Magnus formula (constants of Sonntag 1990, from memory)."""
    celsius = scene["air"] - 273.15
    wet = np.log(scene["humidity"]) + 17.62 * celsius / (243.12 + celsius)
    return float(273.15 + 243.12 * wet / (17.62 - wet))


scenes = st.fixed_dictionaries(
    {
        "surface": st.floats(250.0, 420.0),
        "emissivity": st.floats(0.4, 0.995),
        "reflected": st.floats(210.0, 310.0),
        "distance": st.floats(1.0, 1000.0),
        "air": st.floats(253.0, 318.0),
        "humidity": st.floats(0.05, 1.0),
    }
).filter(lambda scene: dew_point(scene) <= MUGGIEST)


def summed(scene: dict[str, float]) -> float:
    """At-sensor radiance by the trapezium rule over 4001 wavelengths: the twin that knows no table."""
    at, tau = spectral_transmittance(
        scene["distance"], air_temperature=scene["air"], relative_humidity=scene["humidity"]
    )
    tau = np.interp(WAVELENGTH, at, tau)
    own, mirrored, air = (spectral_radiance(WAVELENGTH, scene[n]) for n in ("surface", "reflected", "air"))
    leaving = scene["emissivity"] * own + (1 - scene["emissivity"]) * mirrored
    return float(np.trapezoid(RESPONSE * (tau * leaving + (1 - tau) * air), WAVELENGTH))


def known(scene: dict[str, float]) -> dict[str, float]:
    return {
        "emissivity": scene["emissivity"],
        "reflected_radiance": float(TABLE.radiance(scene["reflected"])),
        "distance": scene["distance"],
        "air_temperature": scene["air"],
        "relative_humidity": scene["humidity"],
    }


@settings(deadline=None, max_examples=30)
@given(scenes)
def test_temperature_is_within_10_mk_of_the_sum_over_wavelengths(scene: dict[str, float]) -> None:
    found = surface_temperature_through_air(TABLE, summed(scene), **known(scene))
    assert float(found.temperature) == pytest.approx(scene["surface"], abs=0.010)


@settings(deadline=None, max_examples=30)
@given(scenes)
def test_radiance_forwards_is_within_10_mk_of_the_sum_over_wavelengths(scene: dict[str, float]) -> None:
    seen = at_sensor_radiance_through_air(TABLE, scene["surface"], **known(scene))
    truth = float(TABLE.temperature(summed(scene)))
    assert float(TABLE.temperature(float(seen))) == pytest.approx(truth, abs=0.010)


@settings(deadline=None, max_examples=30)
@given(scenes)
def test_backwards_undoes_forwards(scene: dict[str, float]) -> None:
    seen = at_sensor_radiance_through_air(TABLE, scene["surface"], **known(scene))
    back = surface_temperature_through_air(TABLE, seen, **known(scene)).temperature
    assert float(back) == pytest.approx(scene["surface"], abs=2e-3)


@settings(deadline=None, max_examples=30)
@given(scenes)
def test_derivatives_agree_with_differences(scene: dict[str, float]) -> None:
    """A step across several cells of the table: its slope is constant within a cell."""
    given_ = known(scene)
    radiance = summed(scene)
    by = surface_temperature_through_air(TABLE, radiance, **given_).sensitivities

    def moved(name: str, step: float) -> float:
        other = {**given_, "radiance": radiance}
        other[name] += step
        return float(surface_temperature_through_air(TABLE, other.pop("radiance"), **other).temperature)

    for name, step in (("radiance", 1.0), ("emissivity", 0.004), ("reflected_radiance", 1.0)):
        difference = (moved(name, step) - moved(name, -step)) / (2 * step)
        assert float(getattr(by, name)) == pytest.approx(difference, rel=0.02, abs=2e-3)


@settings(deadline=None, max_examples=20)
@given(scenes)
def test_a_warmer_surface_sends_more_through_the_air(scene: dict[str, float]) -> None:
    kelvin = np.linspace(250.0, 420.0, 300)
    assert (np.diff(at_sensor_radiance_through_air(TABLE, kelvin, **known(scene))) > 0).all()


def test_one_transmittance_for_all_sources_errs_where_this_does_not() -> None:
    """The error that the air model itself states for a scalar transmittance at 60 C over 100 m is gone."""
    air = {"air_temperature": 288.15, "relative_humidity": 0.5}
    scalar = float(scalar_transmittance_error(BAND, 100.0, surface_temperature=333.15, **air))
    scene = {
        "surface": 333.15, "emissivity": 1.0, "reflected": 250.0, "distance": 100.0, "air": 288.15, "humidity": 0.5,
    }  # fmt: skip
    followed = float(surface_temperature_through_air(TABLE, summed(scene), **known(scene)).temperature) - 333.15
    assert abs(scalar) > 0.1
    assert abs(followed) < 0.005
