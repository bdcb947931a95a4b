"""A mean transmittance of a band is used only where its error against the sum over wavelengths is known or budgeted."""

from __future__ import annotations

import ast
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from groundglow.model.air import air_path, scalar_transmittance_error, spectral_transmittance
from groundglow.model.band import ideal_band, lookup, nominal_band
from groundglow.model.planck import spectral_radiance
from groundglow.model.through_air import surface_temperature_through_air

ROOT = Path(__file__).parents[2] / "src" / "groundglow"
BAND = nominal_band("7.5-13.5")
TABLE = lookup(BAND)
#: Modules that ask for the air's mean transmittance, and why that is no error of a reading.
USERS = {
    "steps/measure/air.py": "differences by the weather only: doubt",
    "frames/radiometry/delivered.py": "what a recorder used, undone with the doubt of that transmittance",
    "steps/fit/air.py": "advice before a flight, weighted at the target's own temperature, within the air's doubt",
    "steps/plan/when.py": "expected contrast before a flight, within the weather's doubt",
    "steps/fit/views.py": "pictures, not readings; weighted at the target's own temperature",
    "model/reading/derivatives.py": "the air model's own doubt",
}
weather = st.fixed_dictionaries({"air_temperature": st.floats(263.0, 308.0), "relative_humidity": st.floats(0.1, 0.95)})


def received(kelvin: float, metres: float, air: dict[str, float]) -> float:
    """Radiance of a black surface at the camera, summed over wavelengths here."""
    grid, tau = spectral_transmittance(metres, **air)
    fine = np.arange(BAND.edges[0], BAND.edges[1], 0.005e-6)
    passing = np.interp(fine, grid, tau)
    seen = passing * spectral_radiance(fine, kelvin) + (1 - passing) * spectral_radiance(fine, air["air_temperature"])
    return float(np.trapezoid(np.interp(fine, BAND.wavelength, BAND.response) * seen, fine))


def test_nobody_else_asks_for_a_mean_transmittance() -> None:
    """A new user of `air_path` outside the air model must say here how its error is budgeted."""
    found = set()
    for path in ROOT.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names = {n.name for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) for n in node.names}
        if "air_path" in names:
            found.add(path.relative_to(ROOT).as_posix())
    assert found - {"model/air.py", "model/airtable.py"} == set(USERS)


@settings(max_examples=40, deadline=None)
@given(air=weather, metres=st.floats(1.0, 1000.0), kelvin=st.floats(250.0, 400.0))
def test_the_reading_without_one_is_within_10_mk_of_the_spectral_sum(
    air: dict[str, float], metres: float, kelvin: float
) -> None:
    found = surface_temperature_through_air(
        TABLE, received(kelvin, metres, air), emissivity=1.0, reflected_radiance=0.0, distance=metres, **air
    )
    assert abs(float(found.temperature) - kelvin) < 0.01


@settings(max_examples=40, deadline=None)
@given(air=weather, metres=st.floats(5.0, 1000.0), kelvin=st.floats(250.0, 373.0))
def test_its_error_is_known_before_it_is_used(air: dict[str, float], metres: float, kelvin: float) -> None:
    """`scalar_transmittance_error` is what one number in the equation does to a reading of the spectral sum."""
    path = air_path(BAND, metres, **air)
    arrived = (received(kelvin, metres, air) - float(path.radiance)) / float(path.transmittance)
    error = float(TABLE.temperature(arrived)) - kelvin
    stated = float(scalar_transmittance_error(BAND, metres, surface_temperature=kelvin, **air))
    assert abs(stated - error) < 0.01 + 0.02 * abs(error)


def test_the_weight_moves_it_as_the_reference_says() -> None:
    """From 0.940 to 0.948 between 250 and 350 K: 100 m, 15 C, 50 %, 8-14 um (LOWTRAN7, computed for the reference)."""
    band = ideal_band(8e-6, 14e-6)
    cold, warm = (
        float(air_path(band, 100.0, air_temperature=288.15, relative_humidity=0.5, source_temperature=t).transmittance)
        for t in (250.0, 350.0)
    )
    assert (round(cold, 3), round(warm, 3)) == (0.940, 0.948)


@settings(max_examples=40, deadline=None)
@given(air=weather, metres=st.floats(5.0, 1000.0), kelvin=st.floats(260.0, 340.0))
def test_within_its_stated_doubt_it_is_budgeted(air: dict[str, float], metres: float, kelvin: float) -> None:
    """Between 260 and 340 K the weight moves a mean by less than twice the doubt that goes with it everywhere."""
    path = air_path(BAND, metres, **air)
    other = air_path(BAND, metres, source_temperature=kelvin, **air)
    assert abs(float(other.transmittance - path.transmittance)) < 2 * float(path.transmittance_sd)


def test_over_the_distances_of_an_invented_flight_it_costs_less_than_a_fifth_of_a_kelvin() -> None:
    air = {"air_temperature": 288.15, "relative_humidity": 0.5}
    error = scalar_transmittance_error(BAND, 90.0, surface_temperature=np.array([273.15, 293.15, 333.15]), **air)
    assert float(np.abs(error).max()) < 0.25
