"""Derivatives by every input agree with differences of the whole model."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.air import air_path
from groundglow.model.band import nominal_band
from groundglow.model.reading import Situation, Stated
from groundglow.model.reading.derivatives import At, air_effect, apparent, model_effect, model_ratios, model_sd, slope
from groundglow.model.reading.sight import sight, sky_passage, spectrum

BAND = nominal_band("8-14")
KELVIN = np.array([330.0])
GIVEN = {
    "emissivity": 0.9,
    "reflected_temperature": 300.0,
    "air_temperature": 298.15,
    "relative_humidity": 0.6,
    "distance": 200.0,
}


def at(**other: float | Stated) -> At:
    scene = Situation(**{**GIVEN, **other}).flat((1,))
    spectral = spectrum(scene)
    sky = sky_passage(BAND, spectral, scene)
    return At(BAND, scene, spectral, sight(BAND, spectral, sky.factor), sky)


def radiance(here: At, kelvin: np.ndarray = KELVIN) -> float:
    return float(here.air.at_sensor(kelvin, *here.values)[0])


def test_slope_by_the_surfaces_temperature() -> None:
    here = at()
    wanted = (radiance(here, KELVIN + 0.1) - radiance(here, KELVIN - 0.1)) / 0.2
    assert float(slope(here, KELVIN)[0]) == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize(("name", "step"), [("air_temperature", 0.1), ("relative_humidity", 0.005), ("distance", 1.0)])
def test_slopes_by_the_air(name: str, step: float) -> None:
    _, found = air_effect(at(), name, KELVIN)
    ends = [radiance(at(**{name: GIVEN[name] + by})) for by in (-step, step)]
    assert float(found[0]) == pytest.approx((ends[1] - ends[0]) / (2 * step), rel=0.02)


def test_parabolas_of_transmittance_hold_two_standard_uncertainties_away() -> None:
    logs, _ = air_effect(at(relative_humidity=Stated(0.6, 0.1)), "relative_humidity", KELVIN)
    for change in (-0.2, 0.2):
        moved = at(relative_humidity=0.6 + change).air.through(KELVIN) / at().air.through(KELVIN)
        ours = np.exp((logs[0, 0] + logs[1, 0] * change) * change)
        np.testing.assert_allclose(ours, moved, rtol=2e-3)


def test_at_full_humidity_the_step_goes_down_only() -> None:
    logs, _ = air_effect(at(relative_humidity=Stated(1.0, 0.05)), "relative_humidity", KELVIN)
    moved = at(relative_humidity=0.97).air.through(KELVIN) / at(relative_humidity=1.0).air.through(KELVIN)
    np.testing.assert_allclose(np.exp(-0.03 * logs[0, 0]), moved, rtol=2e-3)


def test_the_air_models_doubt_is_that_of_the_air_path() -> None:
    names = ("air_temperature", "relative_humidity")
    path = air_path(BAND, GIVEN["distance"], **{name: GIVEN[name] for name in names})
    assert float(model_sd(BAND, at().situation)[0]) == pytest.approx(float(path.transmittance_sd))


def test_deeper_air_changes_all_three_transmittances_in_proportion_to_depth() -> None:
    """Depths two per cent greater: radiance falls as the derivative says."""
    here, scale = at(), 1.02
    deeper = sight(BAND, here.spectral**scale, here.sky.factor)
    fall = float((here.air.through(np.array([300.0])) - deeper.through(np.array([300.0])))[0])
    wanted = float(deeper.at_sensor(KELVIN, *here.values)[0]) - radiance(here)
    found = float(model_effect(here, KELVIN, model_ratios(here, KELVIN))[0])
    assert -found * fall == pytest.approx(wanted, rel=0.03)


def test_apparent_temperature_of_even_surroundings_is_theirs() -> None:
    even = np.array([295.0])
    here = at(reflected_temperature=295.0, air_temperature=295.0)
    assert float(apparent(here.air, even, here.values)[0]) == pytest.approx(295.0, abs=1e-3)
