"""Humidity against IAPWS-95, Goff-Gratch, psychrometric libraries and published absolute humidities."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import psychrolib
import pytest

from groundglow.model.humidity import dew_point, saturation_vapour_pressure, vapour_pressure, water_vapour_density

TOPIC = "Humidity"


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open() as stream:
        return list(csv.DictReader(stream))


def _column(rows: list[dict[str, str]], name: str) -> tuple[np.ndarray, np.ndarray]:
    known = [row for row in rows if row[name] != "nan"]
    return np.array([float(r["T_C"]) + 273.15 for r in known]), np.array([100 * float(r[name]) for r in known])


def test_saturation_over_water_follows_iapws_from_0_to_50(
    shared_reference: Callable[[str], Path], record_check: Callable[..., None]
) -> None:
    """Asked: 0.5 %. IAPWS-95 (CoolProp 8.0) as tabulated; four decimals in hPa."""
    kelvin, pascal = _column(_rows(shared_reference("saturation_vapour_pressure.csv")), "CoolProp_IAPWS95_water")
    assert kelvin.size >= 11
    source = "IAPWS-95 by CoolProp 8.0"
    ours = saturation_vapour_pressure(kelvin)
    record_check(TOPIC, "saturation over water, 0 to 50 degC", pascal, ours, "Pa", 0.0, source, relative=2e-4)


@pytest.mark.parametrize("column", ["GoffGratch_WMO_water", "Buck1996_water", "metpy_1.7_water"])
def test_saturation_below_zero_is_over_supercooled_water(
    shared_reference: Callable[[str], Path], record_check: Callable[..., None], column: str
) -> None:
    """Within 0.3 % of three other formulas at -30 to -5 C; over ice it would be 5 to 26 % lower."""
    kelvin, pascal = _column(_rows(shared_reference("saturation_vapour_pressure.csv")), column)
    cold = kelvin < 273.0
    ours = saturation_vapour_pressure(kelvin[cold])
    name = "saturation over supercooled water, -30 to -5 degC"
    record_check(TOPIC, name, pascal[cold], ours, "Pa", 0.0, column.replace("_", " "), relative=3e-3)


def test_saturation_agrees_with_the_ashrae_formula(record_check: Callable[..., None]) -> None:
    """ASHRAE Handbook, Fundamentals, through psychrolib, above 0 C (it turns to ice below)."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    celsius = np.arange(1.0, 56.0, 3.0)
    theirs = [psychrolib.GetSatVapPres(float(c)) for c in celsius]
    ours = saturation_vapour_pressure(celsius + 273.15)
    source = "ASHRAE Handbook Fundamentals by psychrolib"
    record_check(TOPIC, "saturation over water, 1 to 55 degC", theirs, ours, "Pa", 0.0, source, relative=1e-3)


@pytest.mark.parametrize(
    ("celsius", "share", "grams"),
    [(0, 0.5, 2.424), (15, 0.5, 6.409), (20, 0.5, 8.638), (25, 0.6, 13.810), (30, 0.8, 24.265), (40, 0.2, 10.219)],
)
def test_absolute_humidity(record_check: Callable[..., None], celsius: float, share: float, grams: float) -> None:
    """216.679 e/T g/m3 with a Magnus-type e (WMO-No. 8): 0.5 %."""
    ours = 1e3 * float(water_vapour_density(celsius + 273.15, share))
    name = f"water vapour, {celsius:g} degC, {share:.0%}"
    record_check(TOPIC, name, grams, ours, "g/m3", 0.0, "216.679 e/T, WMO-No. 8", relative=5e-3)


@pytest.mark.parametrize(
    ("celsius", "share", "dew"), [(15, 0.5, 4.674), (20, 0.5, 9.274), (30, 0.8, 26.170), (40, 0.2, 12.794)]
)
def test_dew_point(record_check: Callable[..., None], celsius: float, share: float, dew: float) -> None:
    """CoolProp 8.0 humid air."""
    ours = float(dew_point(celsius + 273.15, share)) - 273.15
    record_check(TOPIC, f"dew point, {celsius:g} degC, {share:.0%}", dew, ours, "degC", 0.02, "CoolProp 8.0 humid air")


def test_vapour_pressure_of_the_table_of_sky_formulas(shared_reference: Callable[[str], Path]) -> None:
    """e of the rows of sky_emissivity.csv (Magnus, WMO-No. 8), 0.5 %."""
    for row in _rows(shared_reference("sky_emissivity.csv")):
        ours = float(vapour_pressure(float(row["T_C"]) + 273.15, float(row["RH_pct"]) / 100))
        assert ours == pytest.approx(100 * float(row["e_hPa"]), rel=5e-3)
