"""The air path: limits, identities, tables and refusals."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError, RangeError
from groundglow.model.air import (
    AirPath,
    air_path,
    scalar_transmittance_error,
    spectral_transmittance,
    with_transmittance,
)
from groundglow.model.band import band_radiance
from groundglow.model.response import Band, ideal_band, nominal_band

BAND = ideal_band(8e-6, 14e-6)
MILD = {"air_temperature": 288.15, "relative_humidity": 0.5}
TROPICAL = {"air_temperature": 303.15, "relative_humidity": 0.8}
WET = {"air_temperature": 318.15, "relative_humidity": 0.9}


def test_no_distance_is_no_air() -> None:
    path = air_path(BAND, 0.0, **MILD)
    assert float(path.transmittance) == pytest.approx(1.0, abs=1e-12)
    assert float(path.radiance) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("band", [BAND, nominal_band("7.5-13.5"), nominal_band("8-14")], ids=lambda b: b.name)
@pytest.mark.parametrize("distance", [3.0, 120.0, 4000.0])
def test_a_black_body_at_air_temperature_is_seen_as_without_air(band: Band, distance: float) -> None:
    path = air_path(band, distance, **WET, source_temperature=318.15)
    alone = float(band_radiance(band, 318.15))
    assert float(path.transmittance * alone + path.radiance) == pytest.approx(alone, rel=1e-9)


def test_path_radiance_is_the_integral_of_what_is_absorbed() -> None:
    """Against a plain fine-grid integral, written out here."""
    wavelength, tau = spectral_transmittance(250.0, **MILD)
    fine = np.linspace(8e-6, 14e-6, 60001)
    glow = 1.191042972e-16 / fine**5 / np.expm1(0.01438776877 / (fine * 288.15))
    wanted = np.trapezoid((1 - np.interp(fine, wavelength, tau)) * glow, fine)
    assert float(air_path(BAND, 250.0, **MILD).radiance) == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize("weather", [MILD, WET, {"air_temperature": 240.0, "relative_humidity": 0.1}])
def test_a_map_of_distances_is_interpolated_to_2e_5(weather: dict[str, float]) -> None:
    distance = np.concatenate([np.linspace(0.0, 2.0, 30), np.geomspace(0.01, 5000.0, 90)])
    table = air_path(BAND, distance, **weather)
    single = [air_path(BAND, float(d), **weather) for d in distance]
    assert np.abs(table.transmittance - [float(s.transmittance) for s in single]).max() < 2e-5
    assert np.abs(table.radiance - [float(s.radiance) for s in single]).max() < 2e-3


def test_a_map_keeps_its_shape() -> None:
    path = air_path(BAND, np.full((12, 16), 80.0), **MILD)
    assert path.transmittance.shape == path.radiance.shape == path.transmittance_sd.shape == (12, 16)


def test_weather_and_distance_broadcast() -> None:
    kelvin, distance = np.array([[260.0], [300.0]]), np.array([10.0, 100.0, 1000.0])
    path = air_path(BAND, distance, air_temperature=kelvin, relative_humidity=0.5)
    assert path.transmittance.shape == (2, 3)
    alone = air_path(BAND, 1000.0, air_temperature=300.0, relative_humidity=0.5)
    assert float(path.transmittance[1, 2]) == pytest.approx(float(alone.transmittance), rel=1e-12)


def test_more_conditions_than_a_chunk_agree_with_single_calls() -> None:
    kelvin = np.linspace(250.0, 320.0, 1100)
    path = air_path(BAND, 90.0, air_temperature=kelvin, relative_humidity=0.4)
    alone = air_path(BAND, 90.0, air_temperature=float(kelvin[1050]), relative_humidity=0.4)
    assert float(path.radiance[1050]) == pytest.approx(float(alone.radiance), rel=1e-12)


def test_unknown_weather_gives_an_unknown_path() -> None:
    assert np.isnan(air_path(BAND, 90.0, air_temperature=np.array([np.nan]), relative_humidity=0.4).transmittance)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"distance": 5001.0}, "distance is 5001"),
        ({"distance": -1.0}, "distance is -1"),
        ({"air_temperature": 20.0}, "air_temperature is 20"),
        ({"relative_humidity": 50.0}, "Divide per cent"),
        ({"pressure": 1013.25}, "hectopascals"),
        ({"visibility": 10.0}, "visibility is 10"),
    ],
)
def test_outside_the_domain_is_refused(change: dict[str, float], words: str) -> None:
    given = {"distance": 100.0, **MILD, **change}
    with pytest.raises(RangeError, match=words):
        air_path(BAND, given.pop("distance"), **given)


def test_a_band_outside_the_table_is_refused() -> None:
    with pytest.raises(InputError, match=r"responds at 3\.00 to 5\.00 um"):
        air_path(ideal_band(3e-6, 5e-6), 100.0, **MILD)


def test_a_response_that_is_zero_outside_the_table_is_used() -> None:
    wide = Band("wide", [4e-6, 7.99e-6, 8e-6, 14e-6, 14.01e-6, 30e-6], [0, 0, 1, 1, 0, 0])
    path, ideal = air_path(wide, 100.0, **MILD), air_path(BAND, 100.0, **MILD)
    assert float(path.transmittance) == pytest.approx(float(ideal.transmittance), abs=5e-4)


def test_doubt_is_a_share_of_what_is_absorbed_and_wider_far_or_wet() -> None:
    near, far = air_path(BAND, 1000.0, **MILD), air_path(BAND, 1001.0, **MILD)
    wet = air_path(BAND, 100.0, **WET)
    shares = [float(p.transmittance_sd / (1 - p.transmittance)) for p in (near, far, wet)]
    assert shares[0] == pytest.approx(0.05, abs=0.002)
    assert shares[1] == pytest.approx(0.15, abs=0.002)
    assert shares[2] == pytest.approx(0.15, abs=0.002)


def test_haze_lowers_transmittance_and_widens_the_doubt() -> None:
    clear = air_path(BAND, 500.0, **MILD)
    seen = [air_path(BAND, 500.0, **MILD, visibility=v) for v in (40e3, 5e3, 1e3, 300.0)]
    transmittances = [float(clear.transmittance), *(float(p.transmittance) for p in seen)]
    doubts = [float(clear.transmittance_sd), *(float(p.transmittance_sd) for p in seen[:3])]
    assert transmittances == sorted(transmittances, reverse=True)
    assert doubts == sorted(doubts)


def test_haze_is_the_same_in_a_map_and_alone() -> None:
    table = air_path(BAND, np.full(60, 500.0), **MILD, visibility=2e3)
    alone = air_path(BAND, 500.0, **MILD, visibility=2e3)
    assert float(table.transmittance[7]) == pytest.approx(float(alone.transmittance), abs=2e-5)
    assert float(table.transmittance_sd[7]) == pytest.approx(float(alone.transmittance_sd), abs=2e-5)


def test_a_measured_transmittance_replaces_the_computed_one() -> None:
    path = air_path(BAND, 300.0, **MILD)
    same = with_transmittance(path, path.transmittance, 0.01)
    none = with_transmittance(path, 0.0, 0.01)
    assert float(same.radiance) == pytest.approx(float(path.radiance))
    assert float(none.radiance) == pytest.approx(float(band_radiance(BAND, 288.15)), rel=0.05)
    assert isinstance(same, AirPath)
    assert float(same.transmittance_sd) == 0.01


def test_path_radiance_errs_against_transmittance_by_its_slope() -> None:
    path = air_path(BAND, 300.0, **MILD)
    assert float(path.radiance_slope) == pytest.approx(-float(band_radiance(BAND, 288.15)), rel=0.05)


def test_one_mean_transmittance_costs_nothing_at_the_source_temperature_and_more_away_from_it() -> None:
    error = scalar_transmittance_error(
        BAND, 300.0, surface_temperature=[260.0, 300.0, 350.0, 400.0], **MILD, source_temperature=300.0
    )
    assert abs(error[1]) < 1e-3
    assert error[0] < -0.1
    assert 0.3 < error[2] < error[3] < 5.0
