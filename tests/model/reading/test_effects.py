"""Contributions to the budget are what moving one input by its uncertainty does to the reading."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from groundglow.model.air import spectral_transmittance
from groundglow.model.band import band_temperature, lookup, nominal_band
from groundglow.model.planck import spectral_radiance
from groundglow.model.profile import profile
from groundglow.model.reading import CameraDoubt, Situation, Stated, moved_band, reading_with_interval
from groundglow.model.reading.effects import effects
from groundglow.model.sky import spectral_sky_radiance

BAND = nominal_band("7.5-13.5")
AROUND = Situation(Stated(0.85, 0.01), Stated(295.0, 2.0), Stated(288.15, 0.5), Stated(0.6, 0.02), Stated(120.0, 2.0))
COLD = replace(AROUND, reflected_temperature=Stated(250.0, 2.0))
SHOWN = 305.0
CAMERA = CameraDoubt(
    noise=Stated(0.0, 0.1),
    calibration=Stated(0.0, 0.5),
    drift=Stated(0.0, 0.2),
    short_edge=Stated(0.0, 0.1e-6),
    long_edge=Stated(0.0, 0.1e-6),
    tilt=Stated(0.0, 0.05),
)


def found():
    return effects(BAND, np.array([SHOWN]), AROUND.flat((1,)), CAMERA.flat((1,)))


def read(shown: float = SHOWN, band=BAND, around: Situation = AROUND, **moved: float) -> float:
    plain = {name: around.of(name).arrays[0] for name in vars(around) if name not in ("pressure", "visibility")}
    scene = replace(around, **{name: float(value + moved.get(name, 0.0)) for name, value in plain.items()})
    return float(reading_with_interval(band, shown, scene, CameraDoubt()).temperature)


@pytest.mark.parametrize(
    "name", ["emissivity", "reflected_temperature", "air_temperature", "relative_humidity", "distance"]
)
def test_inputs_of_the_scene(name: str) -> None:
    spread = float(AROUND.of(name).arrays[1])
    wanted = 0.5 * (read(**{name: spread}) - read(**{name: -spread}))
    assert float(found().contributions[name.replace("_", " ")][0]) == pytest.approx(wanted, rel=0.03)


def test_a_colder_sky_also_passes_less() -> None:
    """The factor of what is reflected follows the reflected temperature."""
    wanted = 0.5 * (read(around=COLD, reflected_temperature=2.0) - read(around=COLD, reflected_temperature=-2.0))
    ours = effects(BAND, np.array([SHOWN]), COLD.flat((1,)), CAMERA.flat((1,))).contributions
    assert float(ours["reflected temperature"][0]) == pytest.approx(wanted, rel=0.03)


@pytest.mark.parametrize(("name", "spread"), [("noise", 0.1), ("calibration", 0.5), ("drift", 0.2)])
def test_an_error_of_the_camera_that_is_positive_lowers_the_truth(name: str, spread: float) -> None:
    wanted = 0.5 * (read(SHOWN - spread) - read(SHOWN + spread))
    assert wanted < 0
    assert float(found().contributions[name][0]) == pytest.approx(wanted, rel=0.01)


@pytest.mark.parametrize(("name", "spread"), [("short_edge", 0.1e-6), ("long_edge", 0.1e-6), ("tilt", 0.05)])
def test_another_response(name: str, spread: float) -> None:
    """The camera shows black bodies right, whatever its response."""
    ends = [read(band=moved_band(BAND, **{name: by})) for by in (-spread, spread)]
    ours = float(found().contributions[f"response, {name.replace('_', ' ')}"][0])
    assert ours == pytest.approx(0.5 * (ends[1] - ends[0]), rel=0.15, abs=5e-3)


def test_a_known_error_is_taken_off() -> None:
    known = CameraDoubt(calibration=Stated(1.5, 0.5))
    assert float(reading_with_interval(BAND, SHOWN, AROUND, known).temperature) == pytest.approx(read(SHOWN - 1.5))


def test_without_a_solution_contributions_are_unknown() -> None:
    dark = effects(BAND, np.array([200.0]), AROUND.flat((1,)), CAMERA.flat((1,)))
    assert np.isnan(dark.temperature[0])
    assert np.isnan(dark.standard_uncertainty[0])
    assert np.isfinite(dark.reference[0])


def test_parts_of_many_readings_are_those_readings() -> None:
    many = effects(BAND, np.array([290.0, 305.0, 320.0]), AROUND.flat((3,)), CAMERA.flat((3,)))
    one = many.part(slice(1, 2))
    assert one.temperature[0] == pytest.approx(found().temperature[0])
    for name, change in one.contributions.items():
        assert change[0] == pytest.approx(found().contributions[name][0]), name
    assert one.by_air["distance"].shape == (2, 3, 1)


def test_the_budget_of_a_black_body_without_air_is_the_cameras_alone() -> None:
    near = replace(AROUND, emissivity=1.0, distance=0.0)
    alone = effects(BAND, np.array([SHOWN]), near.flat((1,)), CAMERA.flat((1,)))
    assert alone.temperature[0] == pytest.approx(SHOWN, abs=1e-3)
    camera = [alone.contributions[name][0] for name in ("noise", "calibration", "drift")]
    rest = np.hypot(0.0, alone.contributions["transmittance"][0])
    assert alone.standard_uncertainty[0] == pytest.approx(np.sqrt(np.square(camera).sum() + rest**2), rel=1e-3)
    assert lookup(BAND) is alone.air.table


@pytest.mark.parametrize(("name", "step"), [("short_edge", 0.2e-6), ("long_edge", 0.2e-6), ("long_edge", -0.2e-6)])
def test_another_response_sees_another_part_of_a_clear_sky(name: str, step: float) -> None:
    """A dull metal under the layered sky, summed over wavelength for both responses: within a quarter."""
    grid, tau = spectral_transmittance(60.0, air_temperature=288.15, relative_humidity=0.6)
    sky = spectral_sky_radiance(profile(288.15, 0.6), [0.9])[0][0]
    moved = moved_band(BAND, **{name: step})
    shown = []
    for band in (BAND, moved):
        fine = np.arange(band.edges[0], band.edges[1], 0.005e-6)
        response = np.interp(fine, band.wavelength, band.response)
        through, glow = np.interp(fine, grid, tau), np.interp(fine, grid, sky)
        left = 0.5 * spectral_radiance(fine, 300.0) + 0.5 * glow
        seen = through * left + (1 - through) * spectral_radiance(fine, 288.15)
        shown.append(float(band_temperature(band, np.trapezoid(response * seen, fine))))
    mirrored = float(band_temperature(BAND, band_mean(sky, grid)))
    around = Situation(0.5, mirrored, 288.15, 0.6, 60.0).flat((1,))
    change = effects(BAND, np.array([shown[0]]), around, CAMERA.flat((1,))).by_response[name][:, 0]
    assert float(change[0] * step + change[1] * step**2) == pytest.approx(shown[1] - shown[0], rel=0.25)


def band_mean(spectrum: np.ndarray, grid: np.ndarray) -> float:
    fine = np.arange(BAND.edges[0], BAND.edges[1], 0.005e-6)
    response = np.interp(fine, BAND.wavelength, BAND.response)
    return float(np.trapezoid(response * np.interp(fine, grid, spectrum), fine))
