"""What spectra that nobody knows do to a reading, against sums over wavelengths with real ones."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from groundglow.model.air import spectral_transmittance
from groundglow.model.band import band_temperature, nominal_band
from groundglow.model.fresnel import fresnel_emissivity, optical_constants
from groundglow.model.planck import spectral_radiance
from groundglow.model.profile import profile
from groundglow.model.reading import CameraDoubt, Situation, Stated
from groundglow.model.reading.effects import effects
from groundglow.model.reading.spectra import CURVATURE_SD, SLOPE_MEAN, SLOPE_SD, WINDOW
from groundglow.model.sky import spectral_sky_radiance

BAND = nominal_band("8-14")
FINE = np.arange(BAND.edges[0], BAND.edges[1], 0.02e-6)
RESPONSE = np.interp(FINE, BAND.wavelength, BAND.response)
URBAN = Path(__file__).parents[3] / "tools" / "data" / "urban_emissivity.csv"
WEIGHT = RESPONSE * spectral_radiance(FINE, 300.0) / (RESPONSE * spectral_radiance(FINE, 300.0)).sum()
#: Surface K, air K, humidity, distance m.
SCENES = [(260.0, 263.0, 0.4, 30.0), (300.0, 283.0, 0.5, 100.0), (330.0, 288.0, 0.6, 50.0), (400.0, 300.0, 0.7, 20.0)]


def urban() -> np.ndarray:
    rows = np.loadtxt(URBAN, delimiter=",", skiprows=1)
    return np.array([np.interp(FINE, rows[:, 0] * 1e-6, column) for column in rows[:, 1:].T])


def clear(substances: tuple[str, ...] = ("glass", "water", "ice")) -> np.ndarray:
    found = []
    for substance in substances:
        known, index = optical_constants(substance)
        n = np.interp(FINE, known, index.real) + 1j * np.interp(FINE, known, index.imag)
        found.append(fresnel_emissivity(n, np.radians(30.0)))
    return np.array(found)


def ratios(spectra: np.ndarray, scene: tuple[float, float, float, float]) -> np.ndarray:
    """What each spectrum changes beside a grey surface of its mean, over the stated standard uncertainty."""
    kelvin, warm, moist, metres = scene
    grid, tau = spectral_transmittance(metres, air_temperature=warm, relative_humidity=moist)
    glow = np.interp(FINE, grid, spectral_sky_radiance(profile(warm, moist), [0.9])[0][0])
    mirrored = float(band_temperature(BAND, np.trapezoid(RESPONSE * glow, FINE)))
    seen = RESPONSE * np.interp(FINE, grid, tau)
    mean = spectra @ WEIGHT
    change = (spectra - mean[:, None]) * (spectral_radiance(FINE, kelvin) - glow)
    stated = Situation(mean, mirrored, warm, moist, metres).flat(mean.shape)
    shown = np.full(mean.size, kelvin)
    found = effects(BAND, shown, stated, CameraDoubt().flat(mean.shape))
    return np.asarray(change @ seen * 0.02e-6 / found.spectra_sd)


@pytest.mark.parametrize("scene", SCENES)
def test_the_doubt_is_of_the_size_of_real_spectra(scene: tuple[float, float, float, float]) -> None:
    """71 urban samples (Kotthaus et al. 2014), and glass, water and ice: root mean square of the ratios."""
    dull, smooth = (np.sqrt(np.mean(ratios(kind, scene) ** 2)) for kind in (urban(), clear()))
    assert 0.3 < dull < 1.3
    assert 0.3 < smooth < 1.7


def test_slope_and_curvature_are_those_of_real_spectra() -> None:
    """Least squares of what is lost, relative to its mean, of the urban samples and of glass, water and ice."""
    x = (FINE - WINDOW[0]) / WINDOW[1]
    table, root = np.vander(x, 3, increasing=True), np.sqrt(WEIGHT)[:, None]
    slopes, spreads = [], []
    for spectra in (urban(), clear()):
        lost = (1 - spectra).T / (1 - spectra @ WEIGHT)
        found = np.linalg.lstsq(table * root, lost * root, rcond=None)[0]
        slopes.append(found[1])
        spreads.append(np.sqrt((found[1:] ** 2).mean(axis=1)))
    assert spreads[0] == pytest.approx([0.60, 0.45], abs=0.05)
    assert spreads[1] == pytest.approx([0.6, 1.0], abs=0.15)
    assert [slopes[0].mean(), slopes[0].std()] == pytest.approx([-0.48, 0.37], abs=0.05)
    assert slopes[0].mean() < SLOPE_MEAN < slopes[1].mean()
    assert slopes[0].std() < SLOPE_SD < slopes[1].std() + 0.1
    assert spreads[0][1] < CURVATURE_SD < spreads[1][1]


def test_a_black_body_has_no_spectrum_to_doubt() -> None:
    around = Situation(1.0, 250.0, 283.15, 0.5, 50.0).flat((1,))
    camera = CameraDoubt(short_edge=Stated(0.0, 0.3e-6)).flat((1,))
    assert float(effects(BAND, np.array([300.0]), around, camera).spectra_sd[0]) == 0.0


def test_a_response_that_is_not_known_widens_it() -> None:
    around = Situation(0.9, 250.0, 283.15, 0.5, 50.0).flat((1,))
    known, unknown = (
        float(effects(BAND, np.array([300.0]), around, camera.flat((1,))).spectra_sd[0])
        for camera in (CameraDoubt(), CameraDoubt(long_edge=Stated(0.0, 0.5e-6)))
    )
    assert unknown > known > 0
