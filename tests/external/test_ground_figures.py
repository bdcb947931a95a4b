"""Bodies whose surface temperature is forecast, against published heat properties."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from groundglow.model.ground import ground

TOPIC = "Ground"
#: Row of de Vries' table, and the body whose first layer is made of it.
SOILS = {
    "Sandy soil loose (pore 0.4) dry": "soil, dry sand",
    "Sandy soil loose theta=0.4": "soil, wet sand",
    "Clay soil (pore 0.4) dry": "soil, dry clay",
    "Clay soil theta=0.2": "soil, moist clay",
    "Peat soil theta=0.90": "peat, wet",
    "Rock": "rock",
    "Fresh snow": "snow, fresh",
    "Ice": "ice",
}
#: Thermal inertia, J m-2 K-1 s-1/2, computed apart from ISO 10456 and de Vries, and the body.
INERTIA = {
    "asphalt": "asphalt on gravel",
    "concrete 2000 (ISO 10456)": "concrete slab on soil",
    "soil sandy dry (deVries)": "soil, dry sand",
    "soil sandy sat 0.4": "soil, wet sand",
    "clay dry": "soil, dry clay",
    "peat sat": "peat, wet",
    "fresh snow (deVries/Lee)": "snow, fresh",
    "steel": "steel roof, painted, uninsulated",
    "glass soda lime": "photovoltaic module, working",
    "aluminium alloy": "clamp, aluminium, aged",
}


def _rows(path: Path) -> dict[str, dict[str, str]]:
    with path.open(encoding="utf-8") as lines:
        return {row["material"]: row for row in csv.DictReader(lines)}


@pytest.mark.parametrize("soil", SOILS)
def test_soils_are_those_of_de_vries(
    shared_reference: Callable[[str], Path], record_check: Callable[..., None], soil: str
) -> None:
    """de Vries 1963, table 2.2 of a text on transport in soil and air: to the printed figures."""
    row = _rows(shared_reference("soil_thermal_published.csv"))[soil]
    layer = ground(SOILS[soil]).layers[0]
    published = [float(row["lambda_W_mK"]), float(row["C_J_m3K"]) / 1e6]
    ours = [layer.conductivity, layer.heat_capacity / 1e6]
    record_check(TOPIC, f"{SOILS[soil]}: W/m/K and MJ/m3/K", published, ours, "", 1e-9, "de Vries 1963, second hand")


@pytest.mark.parametrize("name", INERTIA)
def test_thermal_inertia(shared_reference: Callable[[str], Path], record_check: Callable[..., None], name: str) -> None:
    """Root of conductivity times heat capacity: half a per cent, for rounding of densities."""
    row = _rows(shared_reference("thermal_properties.csv"))[name]
    layer = ground(INERTIA[name]).layers[0]
    ours = np.sqrt(layer.conductivity * layer.heat_capacity)
    published = float(row["thermal_inertia_J_m2_K_s0.5"])
    source = "ISO 10456 and de Vries 1963, computed apart"
    record_check(
        TOPIC, f"thermal inertia, {INERTIA[name]}", published, ours, "J m-2 K-1 s-1/2", 0.0, source, relative=0.005
    )
