"""What arrives from bodies of each temperature, held against sums over wavelength made here."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.absorption import absorption
from groundglow.model.air import air_path, spectral_transmittance
from groundglow.model.band import band_temperature, lookup, nominal_band
from groundglow.model.planck import spectral_radiance
from groundglow.model.profile import profile
from groundglow.model.reading import Situation
from groundglow.model.reading.sight import NODES, shares, sight, sky_passage, spectrum
from groundglow.model.reading.spectra import SKY_SPECTRUM_SD
from groundglow.model.sky import spectral_sky_radiance

BAND = nominal_band("7.5-13.5")
FINE = np.arange(BAND.edges[0], BAND.edges[1], 0.005e-6)
RESPONSE = np.interp(FINE, BAND.wavelength, BAND.response)
AIR = {"air_temperature": np.array([263.15, 288.15, 303.15]), "relative_humidity": np.array([0.5, 0.6, 0.8])}
DISTANCE = np.array([30.0, 200.0, 500.0])


def around(mirrored: float = 300.0) -> Situation:
    return Situation(0.9, mirrored, distance=DISTANCE, **AIR).flat((3,))


def on_fine_grid(spectral: np.ndarray) -> np.ndarray:
    known = spectral_transmittance(0.0, air_temperature=288.15, relative_humidity=0.5)[0]
    return np.array([np.interp(FINE, known, row) for row in spectral])


@pytest.mark.parametrize("kelvin", [220.0, 287.3, 351.0, 600.0])
def test_what_arrives_is_the_sum_over_wavelength(kelvin: float) -> None:
    tau = on_fine_grid(spectrum(around()))
    wanted = np.trapezoid(tau * RESPONSE * spectral_radiance(FINE, kelvin), FINE, axis=1)
    ours = sight(BAND, spectrum(around())).arriving(np.full(3, kelvin))
    np.testing.assert_allclose(ours, wanted, rtol=2e-4)


def test_the_airs_own_radiance_is_that_of_the_air_model() -> None:
    ours = sight(BAND, spectrum(around())).path_radiance(AIR["air_temperature"])
    np.testing.assert_allclose(ours, air_path(BAND, DISTANCE, **AIR).radiance, rtol=3e-4)


def test_source_temperature_is_the_inverse_of_arriving() -> None:
    air = sight(BAND, spectrum(around()))
    for kelvin in (200.0, 290.0, 297.7, 430.0, 900.0):
        back = air.source_temperature(air.arriving(np.full(3, kelvin)))
        np.testing.assert_allclose(back, kelvin, atol=0.01)


def test_no_radiation_and_too_much_have_no_temperature() -> None:
    air = sight(BAND, spectrum(around()))
    assert np.isnan(air.source_temperature(np.array([0.0, -1.0, 1e6]))).all()
    assert np.isnan(air.through(np.array([100.0, 2000.0, np.nan]))).all()


SKIES = [
    (t, h, z) for t, h in ((255.0, 0.4), (275.0, 0.7), (288.0, 0.6), (300.0, 0.6), (303.0, 0.9)) for z in (0, 45, 70)
]


@pytest.mark.parametrize(("kelvin", "humidity", "zenith"), SKIES)
def test_a_reflected_sky_passes_as_that_of_the_layered_model(kelvin: float, humidity: float, zenith: float) -> None:
    """Within 30 % of what it passes less than a black body; the stated standard uncertainty is a fifth."""
    grid = spectral_transmittance(0.0, air_temperature=kelvin, relative_humidity=humidity)[0]
    glow = spectral_sky_radiance(profile(kelvin, humidity), np.radians([zenith]))[0][0]
    sky = RESPONSE * np.interp(FINE, grid, glow)
    mirrored = float(band_temperature(BAND, np.trapezoid(sky, FINE)))
    black = RESPONSE * spectral_radiance(FINE, mirrored)
    for metres in (30.0, 300.0):
        scene = Situation(0.9, mirrored, kelvin, humidity, metres).flat((1,))
        tau = on_fine_grid(spectrum(scene))[0]
        wanted = (tau * sky).sum() / sky.sum() / ((tau * black).sum() / black.sum())
        found = sky_passage(BAND, spectrum(scene), scene)
        assert float(found.factor[0]) == pytest.approx(wanted, abs=0.3 * (1 - wanted) + 5e-4)
    assert SKY_SPECTRUM_SD == 0.2


def test_what_is_as_warm_as_the_air_is_black() -> None:
    found = sky_passage(BAND, spectrum(around(310.0)), around(310.0))
    assert (found.factor.tolist(), found.slope.tolist()) == ([1.0] * 3, [0.0] * 3)
    black = spectral_radiance(absorption().wavelength, 310.0)
    own = spectral_radiance(absorption().wavelength, AIR["air_temperature"][:, None])
    np.testing.assert_allclose(found.glow * own, np.broadcast_to(black, own.shape))


def test_the_spectrum_of_a_sky_is_as_warm_in_the_band_as_is_stated() -> None:
    kelvin, air = np.full(3, 245.0), AIR["air_temperature"]
    found = sky_passage(BAND, spectrum(around(245.0)), around(245.0))
    table = lookup(BAND)
    sent = [float(shares(BAND)[np.abs(NODES - t).argmin()] @ row) for t, row in zip(air, found.glow, strict=True)]
    np.testing.assert_allclose(sent, table.radiance(kelvin) / table.radiance(air), rtol=1e-9)
    assert (found.glow.max(axis=1) > 0.95).all()


def test_the_passage_changes_with_the_sky_as_its_slope_says() -> None:
    low, middle, high = (sky_passage(BAND, spectrum(around(t)), around(t)) for t in (239.0, 240.0, 241.0))
    np.testing.assert_allclose(middle.slope, (high.factor - low.factor) / 2, atol=2e-4)


def test_tables_hold_what_the_band_holds() -> None:
    assert sight(BAND, spectrum(around())).table is lookup(BAND)
