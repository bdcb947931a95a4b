"""How well the sky's rules carry over: leave one reference atmosphere out, and vary the rules.

For each of six atmospheres (tests/external/data/sky_six.csv) the lapse, the vapour height and the cold-air rule are
fitted to the other five on a coarse grid and judged on the one left out. Then each rule is moved over the range
that real air has. Prints kelvins of apparent temperature in 8-14 um.

    .venv/bin/python tools/cross_validate_sky.py
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import product
from pathlib import Path

import numpy as np

from groundglow.model import profile
from groundglow.model.absorption import quadrature
from groundglow.model.band import band_temperature
from groundglow.model.humidity import water_vapour_density
from groundglow.model.response import ideal_band
from groundglow.model.sky import spectral_sky_radiance

REFERENCE = Path(__file__).parents[1] / "tests/external/data/sky_six.csv"
BAND = ideal_band(8e-6, 14e-6)
GRID = {
    "LAPSE": (4.5e-3, 5.5e-3, 6.5e-3),
    "VAPOUR_HEIGHT": (1900.0, 2150.0, 2400.0),
    "ISOTHERMAL": (235.0, 250.0, 265.0),
}
REAL = {"LAPSE": (3.5e-3, 8e-3), "VAPOUR_HEIGHT": (1400.0, 3000.0), "OZONE_COLUMN": (0.25e-2, 0.45e-2)}


def atmospheres() -> dict[str, list[dict[str, str]]]:
    """Rows of the reference by atmosphere."""
    lines = [line for line in REFERENCE.read_text().splitlines() if not line.startswith("#")]
    found: dict[str, list[dict[str, str]]] = {}
    for row in csv.DictReader(lines):
        found.setdefault(row["atmosphere"], []).append(row)
    return found


@contextmanager
def rules(**values: float) -> Iterator[None]:
    """Set rules of the profile for a while."""
    before = {name: getattr(profile, name) for name in values}
    for name, value in values.items():
        setattr(profile, name, value)
    try:
        yield
    finally:
        for name, value in before.items():
            setattr(profile, name, value)


def temperatures(rows: list[dict[str, str]]) -> np.ndarray:
    """Modelled apparent temperatures at the rows' angles, K."""
    kelvin, water = float(rows[0]["air_temperature_k"]), float(rows[0]["water_g_m3"]) / 1e3
    layers = profile.profile(kelvin, water / float(water_vapour_density(kelvin, 1.0)))
    spectra, _ = spectral_sky_radiance(layers, np.radians([float(row["zenith_deg"]) for row in rows]))
    grid = quadrature(BAND)
    return band_temperature(BAND, grid.at_nodes(spectra) @ grid.weight)


def errors(rows: list[dict[str, str]]) -> np.ndarray:
    """Model minus reference, K."""
    return temperatures(rows) - band_temperature(BAND, np.array([float(row["8-14"]) for row in rows]))


def main() -> None:
    """Print both tables."""
    known = atmospheres()
    settings = [dict(zip(GRID, values, strict=True)) for values in product(*GRID.values())]
    table = []
    for setting in settings:
        with rules(**setting):
            table.append({name: errors(rows) for name, rows in known.items()})
    for left in known:
        scores = [np.mean([np.mean(e**2) for name, e in row.items() if name != left]) for row in table]
        best = int(np.argmin(scores))
        out, shipped = table[best][left], errors(known[left])
        print(
            f"{left:17s} left out: max {abs(out).max():.1f} rms {np.sqrt(np.mean(out**2)):.1f} K with {settings[best]};"
            f" shipped rules: max {abs(shipped).max():.1f} rms {np.sqrt(np.mean(shipped**2)):.1f} K"
        )
    for name, values in REAL.items():
        for value in values:
            with rules(**{name: value}):
                moved = {a: temperatures(rows) for a, rows in known.items()}
            shift = [f"{(moved[a] - temperatures(rows))[0]:+.1f}" for a, rows in known.items()]
            print(f"{name} = {value:g}: zenith moves by {' '.join(shift)} K")


if __name__ == "__main__":
    main()
