"""The measurement model over its whole domain: identities, limits, monotonicity, derivatives."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from groundglow.model.band import SakumaHattori, ideal_band, lookup, nominal_band
from groundglow.model.planck import SECOND_RADIATION_CONSTANT
from groundglow.model.sensing import (
    Surroundings,
    at_sensor_radiance,
    no_solution,
    surface_temperature,
    surface_temperature_and_sensitivities,
    surroundings_at,
    window_sensitivities,
)

BANDS = [ideal_band(8e-6, 14e-6), nominal_band("7.5-13.5"), nominal_band("8-14"), ideal_band(3e-6, 5e-6)]

TABLES = [lookup(band) for band in BANDS]

tables = st.sampled_from(TABLES)
surfaces = st.floats(150.0, 1500.0)
emissivities = st.floats(0.05, 1.0)
shares = st.floats(0.05, 1.0)
ambients = st.floats(180.0, 350.0)
scenes = st.fixed_dictionaries(
    {
        "reflected_temperature": ambients,
        "air_temperature": ambients,
        "transmittance": shares,
        "window_temperature": ambients,
        "window_transmittance": shares,
    }
)
mild = st.fixed_dictionaries(
    {
        "reflected_temperature": ambients,
        "air_temperature": ambients,
        "transmittance": st.floats(0.3, 1.0),
        "window_temperature": ambients,
        "window_transmittance": st.floats(0.5, 1.0),
    }
)


@given(tables, surfaces, emissivities, scenes)
def test_inverse_of_forward_is_the_identity_to_a_millikelvin(table, kelvin, emissivity, scene):
    """Emissivity and transmittances from 0.05 to 1, surfaces from 150 to 1500 K."""
    around = surroundings_at(table, **scene)
    radiance = at_sensor_radiance(table, kelvin, emissivity, around)
    found = surface_temperature(table, radiance, emissivity, around)
    rounding = 4 * np.finfo(float).eps * radiance / table.slope(kelvin)
    rounding /= emissivity * scene["transmittance"] * scene["window_transmittance"]
    assume(rounding < 1e-4)  # a 3-5 um surface at 150 K drowns in the reflection: beyond double precision
    near_end = min(kelvin - 150.0, 1500.0 - kelvin) < 1e-3
    assert found == pytest.approx(kelvin, abs=1e-3) or (near_end and np.isnan(found))


@given(tables, st.floats(200.0, 1500.0), st.floats(0.3, 1.0), mild)
def test_thirty_two_bit_frames_lose_no_more_than_their_rounding(table, kelvin, emissivity, scene):
    around = surroundings_at(table, **scene)
    radiance = at_sensor_radiance(table, kelvin, emissivity, around)
    found = surface_temperature(table, np.float32([radiance]), np.float32([emissivity]), around)
    through = emissivity * scene["transmittance"] * scene["window_transmittance"]
    error = 8 * np.finfo(np.float32).eps * (radiance / through / table.slope(kelvin) + kelvin)
    assume(kelvin < 1499.0 and error < 1.0)
    assert abs(float(found[0]) - kelvin) <= error


@given(tables, surfaces, surfaces, emissivities, scenes)
def test_a_hotter_surface_sends_more(table, one, other, emissivity, scene):
    around = surroundings_at(table, **scene)
    cold, hot = sorted((one, other))
    assume(hot - cold > 1e-3)
    low, high = at_sensor_radiance(table, [cold, hot], emissivity, around)
    assert high >= low


@given(tables, st.floats(10.0, 100.0), st.floats(10.0, 100.0), emissivities, mild)
def test_more_radiance_means_a_hotter_surface(table, one, other, emissivity, scene):
    around = surroundings_at(table, **scene)
    cold, hot = surface_temperature(table, sorted((one, other)), emissivity, around)
    assume(np.isfinite(cold) and np.isfinite(hot))
    assert hot >= cold


@given(tables, surfaces, scenes)
def test_a_black_surface_reflects_nothing(table, kelvin, scene):
    """Emissivity 1: the reflected temperature has no effect, forwards or backwards."""
    first = surroundings_at(table, **scene)
    second = surroundings_at(table, **(scene | {"reflected_temperature": 349.0}))
    assert at_sensor_radiance(table, kelvin, 1.0, first) == at_sensor_radiance(table, kelvin, 1.0, second)
    radiance = at_sensor_radiance(table, kelvin, 1.0, first)
    _, by = surface_temperature_and_sensitivities(table, radiance, 1.0, first)
    assert by.reflected_radiance == 0.0 or np.isnan(by.reflected_radiance)


@given(tables, surfaces, ambients)
def test_without_air_reflection_and_window_the_camera_reads_the_surface(table, kelvin, air):
    around = surroundings_at(table, reflected_temperature=air, air_temperature=air)
    assert at_sensor_radiance(table, kelvin, 1.0, around) == pytest.approx(float(table.radiance(kelvin)), rel=1e-15)


@given(tables, ambients, emissivities, shares, shares)
def test_a_closed_cavity_hides_emissivity_and_air(table, kelvin, emissivity, transmittance, window):
    """All at one temperature: the camera reads it (second law of thermodynamics)."""
    around = surroundings_at(
        table,
        reflected_temperature=kelvin,
        air_temperature=kelvin,
        transmittance=transmittance,
        window_temperature=kelvin,
        window_transmittance=window,
    )
    radiance = at_sensor_radiance(table, kelvin, emissivity, around)
    assert table.temperature(radiance) == pytest.approx(kelvin, abs=1e-4)


@given(tables, st.floats(0.0, 80.0), emissivities, scenes)
def test_a_temperature_or_a_reason_never_both(table, radiance, emissivity, scene):
    around = surroundings_at(table, **scene)
    kelvin = surface_temperature(table, radiance, emissivity, around)
    assert np.isnan(kelvin) == (no_solution(table, radiance, emissivity, around) != 0)


def _moved(table, point, name, step):
    """Radiance whose surface temperature is sought, with one of its inputs moved."""
    values = point | {name: point[name] + step}
    around = Surroundings(
        values["reflected_radiance"],
        values["transmittance"],
        values["path_radiance"],
        values["window_transmittance"],
        values["window_radiance"],
    )
    return surface_temperature(table, values["radiance"], values["emissivity"], around)


@given(st.sampled_from(TABLES[:3]), st.floats(200.0, 1200.0), st.floats(0.2, 0.95), mild)
def test_sensitivities_are_the_derivatives_of_the_forward_model(table, kelvin, emissivity, scene):
    """Central differences of the whole model agree with each analytic sensitivity to 1 part in 1000."""
    scene = scene | {
        "transmittance": min(scene["transmittance"], 0.97),
        "window_transmittance": min(scene["window_transmittance"], 0.97),
    }
    around = surroundings_at(table, **scene)
    point = {
        "radiance": float(at_sensor_radiance(table, kelvin, emissivity, around)),
        "emissivity": emissivity,
        "reflected_radiance": float(around.reflected_radiance),
        "transmittance": scene["transmittance"],
        "path_radiance": float(around.path_radiance),
        "window_transmittance": scene["window_transmittance"],
        "window_radiance": float(around.window_radiance),
    }
    _, by = surface_temperature_and_sensitivities(table, point["radiance"], emissivity, around)
    window = window_sensitivities(by.radiance, point["radiance"], around)
    analytic = by._asdict() | {"window_transmittance": window[0], "window_radiance": window[1]}
    for name, sensitivity in analytic.items():
        step = min(0.05 / max(abs(float(sensitivity)), 1e-9), 0.01 * point[name])  # moves T by 0.05 K at most
        assume(point[name] - step >= 0)
        numeric = (_moved(table, point, name, step) - _moved(table, point, name, -step)) / (2 * step)
        assert numeric == pytest.approx(float(sensitivity), rel=1e-3, abs=2e-5 / step), name


@given(st.floats(3e-6, 13e-6), st.floats(0.0, 300e-6), st.floats(1.0, 1e6), st.floats(200.0, 1500.0))
def test_sakuma_hattori_inverts_itself(a, b, c, kelvin):
    equation = SakumaHattori(a, b, c)
    assert equation.temperature(equation.signal(kelvin)) == pytest.approx(kelvin, rel=1e-10)
    assert equation.slope(kelvin) > 0
    assert SECOND_RADIATION_CONSTANT / (a * kelvin + b) < 25
