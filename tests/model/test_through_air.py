"""The model through air on whole frames: shapes, types, what is unknown, what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.air import air_path
from groundglow.model.band import lookup, nominal_band
from groundglow.model.sensing import Surroundings, surface_temperature_and_sensitivities
from groundglow.model.through_air import at_sensor_radiance_through_air, surface_temperature_through_air

BAND = nominal_band("7.5-13.5")
TABLE = lookup(BAND)
AIR = {"air_temperature": 288.15, "relative_humidity": 0.5}


def frame(kind: type) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    rng = np.random.default_rng(3)
    shape = (31, 45)  # not a whole number of blocks
    radiance = TABLE.radiance(rng.uniform(270, 330, shape)).astype(kind)
    known = {
        "emissivity": rng.uniform(0.8, 1.0, shape).astype(kind),
        "reflected_radiance": rng.uniform(10, 40, shape).astype(kind),
        "distance": rng.uniform(40, 300, shape).astype(kind),
    }
    return radiance, known


def test_a_frame_gives_what_its_pixels_give_one_by_one() -> None:
    radiance, known = frame(np.float64)
    whole = surface_temperature_through_air(TABLE, radiance, **known, **AIR)
    for place in ((0, 0), (7, 11), (30, 44)):
        one = surface_temperature_through_air(TABLE, radiance[place], **{n: v[place] for n, v in known.items()}, **AIR)
        assert float(one.temperature) == pytest.approx(whole.temperature[place], abs=5e-4)
        assert float(one.sensitivities.radiance) == pytest.approx(whole.sensitivities.radiance[place], rel=5e-3)
        assert float(one.transmittance) == pytest.approx(whole.transmittance[place], abs=1e-5)


def test_with_the_same_transmittance_it_is_the_measurement_equation() -> None:
    """With nothing reflected, the equation with the transmittance found gives the same temperature."""
    radiance, known = frame(np.float64)
    known["reflected_radiance"] = np.zeros(radiance.shape)
    found = surface_temperature_through_air(TABLE, radiance, **known, **AIR)
    around = Surroundings(0.0, found.transmittance, found.path_radiance)
    kelvin, by = surface_temperature_and_sensitivities(TABLE, radiance, known["emissivity"], around)
    np.testing.assert_allclose(found.temperature, kelvin, atol=1e-6)
    # In this band air passes a warmer body worse, so that the same change of radiance takes a larger change.
    share = found.sensitivities.radiance / by.radiance
    assert 1.0 < share.min() < share.max() < 1.02


def test_32_bits_in_give_32_bits_out_and_the_same_to_a_millikelvin() -> None:
    radiance, known = frame(np.float64)
    exact = surface_temperature_through_air(TABLE, radiance, **known, **AIR)
    small = surface_temperature_through_air(
        TABLE, radiance.astype(np.float32), **{n: v.astype(np.float32) for n, v in known.items()}, **AIR
    )
    assert small.temperature.dtype == np.float32
    np.testing.assert_allclose(small.temperature, exact.temperature, atol=1e-3)


def test_transmittance_and_own_radiance_are_the_air_models() -> None:
    """At a source of 300 K the table gives what the air model computes; so do path radiance and doubt."""
    metres = np.array([1.0, 17.0, 120.0, 700.0])
    path = air_path(BAND, metres, **AIR)
    seen = at_sensor_radiance_through_air(TABLE, 300.0, emissivity=1.0, reflected_radiance=0.0, distance=metres, **AIR)
    np.testing.assert_allclose((seen - path.radiance) / TABLE.radiance(300.0), path.transmittance, atol=2e-5)
    back = surface_temperature_through_air(TABLE, seen, emissivity=1.0, reflected_radiance=0.0, distance=metres, **AIR)
    np.testing.assert_allclose(back.path_radiance, path.radiance, atol=1e-3)
    np.testing.assert_allclose(back.transmittance_sd, path.transmittance_sd, rtol=0.01)


def test_what_is_unknown_stays_unknown_and_spreads_to_no_other_pixel() -> None:
    radiance = np.full(5, 45.0)
    radiance[1] = np.nan
    metres = np.full(5, 80.0)
    metres[3] = np.nan
    found = surface_temperature_through_air(
        TABLE, radiance, emissivity=0.95, reflected_radiance=20.0, distance=metres, **AIR
    )
    assert np.isnan(found.temperature).tolist() == [False, True, False, True, False]


def test_less_radiance_than_the_air_alone_gives_no_temperature() -> None:
    found = surface_temperature_through_air(
        TABLE, [0.5, 45.0], emissivity=0.95, reflected_radiance=20.0, distance=500.0, **AIR
    )
    assert np.isnan(found.temperature[0])
    assert np.isnan(found.sensitivities.emissivity[0])
    assert np.isfinite(found.temperature[1])


def test_no_distance_is_no_air() -> None:
    found = surface_temperature_through_air(
        TABLE, TABLE.radiance(310.0), emissivity=1.0, reflected_radiance=0.0, distance=0.0, **AIR
    )
    assert float(found.temperature) == pytest.approx(310.0, abs=1e-3)


@pytest.mark.parametrize(
    ("change", "said"),
    [({"emissivity": 1.2}, "emissivity"), ({"distance": -1.0}, "distance"), ({"relative_humidity": 50.0}, "humidity")],
)
def test_what_cannot_be_is_refused_by_name(change: dict[str, float], said: str) -> None:
    given = {"emissivity": 0.95, "reflected_radiance": 20.0, "distance": 60.0, **AIR, **change}
    with pytest.raises(RangeError, match=said):
        surface_temperature_through_air(TABLE, 45.0, **given)
