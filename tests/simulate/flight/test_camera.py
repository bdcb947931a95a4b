"""The invented camera: what its counts mean, its noise, its pattern, its blur."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.pointspread import PointSpread, point_spread_sigma
from groundglow.model.table import BandTable
from groundglow.simulate.flight.camera import CAMERA, SUPERSAMPLING, blurred, expose, make_calibration, make_pattern

SECOND_RADIATION_CONSTANT_UM_K = 14387.768775  # CODATA 2018 (exact by definition of the SI), um K


def temperature_of(counts: np.ndarray, calibration: tuple[float, float, float, float]) -> np.ndarray:
    """Black-body temperature by the equation that flight.toml states, solved by hand."""
    a, b, c, d = calibration
    return (SECOND_RADIATION_CONSTANT_UM_K / np.log(c / (counts - d) + 1.0) - b) / a


def test_counts_mean_what_flight_toml_says(table: BandTable) -> None:
    """Radiance of black bodies from -20 to 120 C, exposed and read back, within half a count and the fit."""
    calibration = make_calibration(table, CAMERA)
    kelvin = np.arange(253.15, 393.2, 5.0)
    counts = expose(table.radiance(kelvin).astype(np.float32), table, calibration, offset=0.0, noise=0.0)
    assert np.abs(temperature_of(counts.astype(float), calibration) - kelvin).max() < 0.03


def test_the_camera_errs_by_exactly_its_offset(table: BandTable) -> None:
    """An offset of 0.7 K is read as 0.7 K more at any temperature."""
    calibration = make_calibration(table, CAMERA)
    kelvin = np.array([263.15, 303.15, 353.15])
    radiance = table.radiance(kelvin).astype(np.float32)
    plain, off = (expose(radiance, table, calibration, offset=o, noise=0.0).astype(float) for o in (0.0, 0.7))
    change = temperature_of(off, calibration) - temperature_of(plain, calibration)
    assert change == pytest.approx(0.7, abs=0.035)


def test_fourteen_bits_end_at_their_ends(table: BandTable) -> None:
    """A furnace saturates instead of wrapping round."""
    counts = expose(
        table.radiance(np.array([900.0])).astype(np.float32),
        table,
        make_calibration(table, CAMERA),
        offset=0.0,
        noise=0.0,
    )
    assert counts[0] == 2**14 - 1


def test_the_fixed_pattern_has_its_stated_size_and_both_scales() -> None:
    """Zero mean, stated rms over several cameras, more in the large than in the fine."""
    patterns = [make_pattern(np.random.default_rng(k), CAMERA, rms=0.12) for k in range(6)]
    assert max(abs(float(p.mean())) for p in patterns) < 1e-3
    assert np.mean([p.std() for p in patterns]) == pytest.approx(0.12, rel=0.1)
    means = [p.reshape(16, 32, 20, 32).mean(axis=(1, 3)).std() for p in patterns]
    fine = [np.diff(p, axis=1).std() / np.sqrt(2) for p in patterns]
    assert np.mean(means) > 0.08
    assert np.mean(fine) > 0.03


def test_the_lens_blurs_as_much_as_the_model_says_of_such_a_lens() -> None:
    """A point's spread on the detector: diffraction at f/1 and 10 um sets the floor, the pixel adds its own."""
    rays = np.zeros((40 * SUPERSAMPLING, 40 * SUPERSAMPLING), np.float32)
    rays[40:42, 40:42] = 1.0
    seen = blurred(rays, 4)
    place = np.arange(seen.shape[1])
    share = seen.sum(axis=0) / seen.sum()
    sigma = np.sqrt((share * (place - (share * place).sum()) ** 2).sum())
    lens = point_spread_sigma(PointSpread(diffraction=10.0 / 12.0, aberration=0.26))[0]
    assert sigma == pytest.approx(lens, rel=0.2)
    assert seen.sum() == pytest.approx(1.0, rel=1e-4)
