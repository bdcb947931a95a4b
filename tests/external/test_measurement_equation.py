"""The measurement equation against a table computed with another program, and published sensitivities.

No open worked example of the whole equation was found in print: measurement_equation.csv was computed with
scipy.integrate.quad on L = tau_w {tau [eps L(To) + (1 - eps) L(Tr)] + (1 - tau) L(Ta)} + (1 - tau_w) L(Tw).
"""

from __future__ import annotations

import csv

import numpy as np
import pytest

from groundglow.model.band import band_radiance, band_slope, ideal_band, lookup
from groundglow.model.sensing import (
    at_sensor_radiance,
    surface_temperature,
    surface_temperature_and_sensitivities,
    surroundings_at,
)

TOLERANCE_K = 1e-4
TOPIC, SOURCE = "Measurement equation", "scipy.integrate.quad, computed apart"


def column(rows, name):
    return [row[name] for row in rows]


@pytest.fixture(scope="module")
def rows(shared_reference):
    with shared_reference("measurement_equation.csv").open(encoding="utf-8") as lines:
        found = [
            {key: value if key == "band_um" else float(value) for key, value in row.items()}
            for row in csv.DictReader(lines)
        ]
    assert len(found) == 14
    return found


def _table(row):
    low, high = (float(edge) * 1e-6 for edge in row["band_um"].split("-"))
    return lookup(ideal_band(low, high))


def _around(row, *, reflected=0.0, transmittance=0.0, air=0.0, **window):
    return surroundings_at(
        _table(row),
        reflected_temperature=row["T_refl_K"] + reflected,
        air_temperature=row["T_atm_K"] + air,
        transmittance=row["tau_atm"] + transmittance,
        **window,
    )


def _signal(row, **window):
    return at_sensor_radiance(_table(row), row["T_obj_K"], row["emissivity"], _around(row, **window))


def test_signal_and_apparent_temperature(rows, record_check):
    """Columns L_sensor (half its last digit) and T_apparent."""
    ours = [_signal(row) for row in rows]
    record_check(TOPIC, "radiance at the sensor", column(rows, "L_sensor_W_m2_sr"), ours, "W m-2 sr-1", 1e-6, SOURCE)
    shown = [_table(row).temperature(signal) for row, signal in zip(rows, ours, strict=True)]
    record_check(TOPIC, "apparent temperature", column(rows, "T_apparent_K"), shown, "K", TOLERANCE_K, SOURCE)


def test_apparent_temperature_through_a_window(rows, record_check):
    """Column T_apparent_with_window: transmittance 0.9, window at 303.15 K."""
    window = {"window_transmittance": 0.9, "window_temperature": 303.15}
    shown = [_table(row).temperature(_signal(row, **window)) for row in rows]
    published = column(rows, "T_apparent_with_window_tau0.9_Tw303.15")
    record_check(TOPIC, "apparent temperature through a window", published, shown, "K", TOLERANCE_K, SOURCE)


def test_inversion_returns_the_surface(rows, record_check):
    """The table's surface temperature from the table's own printed signal."""
    kelvin = [
        surface_temperature(_table(row), row["L_sensor_W_m2_sr"], row["emissivity"], _around(row)) for row in rows
    ]
    record_check(TOPIC, "surface temperature", column(rows, "T_obj_K"), kelvin, "K", TOLERANCE_K, SOURCE)


@pytest.mark.parametrize(
    ("name", "emissivity", "change"),
    [
        ("dT_eps+0.01", 0.01, {}),
        ("dT_eps-0.01", -0.01, {}),
        ("dT_Trefl+5K", 0.0, {"reflected": 5.0}),
        ("dT_tau-0.01", 0.0, {"transmittance": -0.01}),
        ("dT_Tatm+2K", 0.0, {"air": 2.0}),
    ],
)
def test_effect_of_a_wrong_assumption(rows, record_check, name, emissivity, change):
    """Retrieved minus true surface temperature when one assumed input is wrong."""
    read = [
        surface_temperature(_table(row), _signal(row), row["emissivity"] + emissivity, _around(row, **change))
        for row in rows
    ]
    ours = np.subtract(read, column(rows, "T_obj_K"))
    record_check(TOPIC, f"error for a wrong assumption, {name}", column(rows, name), ours, "K", TOLERANCE_K, SOURCE)


def test_analytic_sensitivities_agree_with_the_tables_differences(rows):
    """The slope by emissivity is the mean of the two tabulated differences, to second order."""
    for row in rows:
        _, by = surface_temperature_and_sensitivities(_table(row), _signal(row), row["emissivity"], _around(row))
        middle = (row["dT_eps+0.01"] - row["dT_eps-0.01"]) / 2
        assert by.emissivity * 0.01 == pytest.approx(middle, rel=3e-3, abs=TOLERANCE_K)


@pytest.mark.parametrize(
    ("reflected_k", "effect_k"), [(1.0, 0.656), (233.15, 0.474), (255.0, 0.360), (273.15, 0.236), (293.15, 0.066)]
)
def test_effect_of_one_hundredth_of_emissivity(record_check, reflected_k, effect_k):
    """8-14 um, 300 K, emissivity near 1: kelvins a hundredth of emissivity by reflected temperature (computed values,
    printed with the reflected temperature in whole kelvins or degrees Celsius)."""
    band = ideal_band(8e-6, 14e-6)
    contrast = band_radiance(band, 300.0) - band_radiance(band, reflected_k)
    name = f"effect of 0.01 of emissivity at 300 K, reflected {reflected_k:g} K"
    record_check(TOPIC, name, effect_k, 0.01 * contrast / band_slope(band, 300.0), "K", 6e-4, "computed apart")
    if reflected_k > 150:
        table = lookup(band)
        around = surroundings_at(table, reflected_temperature=reflected_k, air_temperature=300.0)
        _, by = surface_temperature_and_sensitivities(table, table.radiance(300.0), 1.0, around)
        assert -0.01 * by.emissivity == pytest.approx(effect_k, abs=6e-4)


def test_short_waves_are_more_than_twice_less_sensitive_to_emissivity():
    """Salisbury and D'Aria, Remote Sensing of Environment 47 (1994) 345, abstract: 3-5 against 8-14 um."""

    def effect(low, high):
        band = ideal_band(low, high)
        return band_radiance(band, 300.0) / band_slope(band, 300.0)

    assert effect(8e-6, 14e-6) / effect(3e-6, 5e-6) > 2


def test_all_temperatures_equal_is_the_identity(rows):
    """In a closed cavity at one temperature the camera reads it, whatever emissivity and transmittance."""
    table = _table(rows[0])
    emissivity, transmittance = np.meshgrid([0.05, 0.5, 0.95, 1.0], [0.2, 0.7, 1.0])
    around = surroundings_at(table, reflected_temperature=300.0, air_temperature=300.0, transmittance=transmittance)
    signal = at_sensor_radiance(table, 300.0, emissivity, around)
    assert table.temperature(signal) == pytest.approx(np.full(signal.shape, 300.0), abs=1e-5)
