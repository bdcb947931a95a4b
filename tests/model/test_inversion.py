"""The fused kernel against its NumPy twin, which solves the equation step by step with the exact inverse."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.band import band_slope, band_temperature, ideal_band, lookup
from groundglow.model.inversion import BLOCK, INPUTS, invert
from groundglow.model.table import read_only

TABLE = lookup(ideal_band(8e-6, 14e-6))


def twin(radiance, emissivity, reflected, transmittance, path, window_transmittance, window):
    """NumPy reference: the measurement equation undone layer by layer, then differentiated."""
    before_window = (radiance - window) / window_transmittance
    leaving = (before_window - path) / transmittance
    surface = (leaving - (1 - emissivity) * reflected) / emissivity
    inside = (surface > TABLE.to_temperature.low) & (surface < TABLE.to_temperature.high)
    kelvin = band_temperature(TABLE.band, np.where(inside, surface, np.nan))
    by_surface = 1 / band_slope(TABLE.band, kelvin)
    return np.array(
        [
            kelvin,
            by_surface / (emissivity * transmittance * window_transmittance),
            by_surface * (reflected - surface) / emissivity,
            -by_surface * (1 - emissivity) / emissivity,
            -by_surface * leaving / (emissivity * transmittance),
            -by_surface / (emissivity * transmittance),
        ]
    )


def _inputs(rng, count, per_pixel):
    spans = {
        "radiance": (20.0, 120.0),
        "emissivity": (0.3, 1.0),
        "reflected_radiance": (5.0, 60.0),
        "transmittance": (0.5, 1.0),
        "path_radiance": (0.0, 8.0),
        "window_transmittance": (0.7, 1.0),
        "window_radiance": (0.0, 5.0),
    }
    return [rng.uniform(*spans[name], count if name in per_pixel else 1) for name in INPUTS]


def _run(inputs, count, kind=np.float64, rows=6):
    out = np.full((rows, count), -1.0, dtype=kind)
    cubic = TABLE.to_temperature
    packed = (cubic.coefficients.astype(kind).reshape(-1), cubic.first, cubic.shift, cubic.low, cubic.high)
    wrong = invert(packed, tuple(read_only(np.asarray(a, dtype=kind)) for a in inputs), out)
    return wrong, out


@pytest.mark.parametrize("per_pixel", [INPUTS, INPUTS[:2], INPUTS[:1], (), INPUTS[1:5]])
@pytest.mark.parametrize("count", [1, BLOCK - 1, BLOCK, 2 * BLOCK + 37])
def test_kernel_agrees_with_its_twin(count, per_pixel):
    """Inputs for each pixel or for all, whole blocks and remainders."""
    inputs = _inputs(np.random.default_rng(count), count, per_pixel)
    wrong, out = _run(inputs, count)
    expected = np.array([np.broadcast_to(row, count) for row in twin(*inputs)])
    assert wrong is False
    assert (np.isnan(out) == np.isnan(expected)).all()
    assert out[0] == pytest.approx(expected[0], abs=1e-5, nan_ok=True)
    assert out[1:] == pytest.approx(expected[1:], rel=3e-5, nan_ok=True)


def test_thirty_two_bits_stay_within_half_a_millikelvin():
    """The same inputs rounded to 32 bits in both: emissivity down to 0.3, transmittance to 0.5."""
    inputs = [a.astype(np.float32) for a in _inputs(np.random.default_rng(9), 5000, INPUTS)]
    _, out = _run(inputs, 5000, np.float32)
    expected = twin(*(a.astype(np.float64) for a in inputs))
    both = np.isfinite(out[0]) & np.isfinite(expected[0])
    assert both.mean() > 0.5
    assert (np.isnan(out[0]) != np.isnan(expected[0])).sum() <= 2
    warm = both & (expected[0] > 230)
    assert out[0][warm] == pytest.approx(expected[0][warm], abs=5e-4)
    assert out[1:, warm] == pytest.approx(expected[1:, warm], rel=1e-3, abs=1e-5)


def test_temperature_alone_is_the_same_temperature():
    inputs = _inputs(np.random.default_rng(5), 700, INPUTS)
    alone, whole = _run(inputs, 700, rows=1)[1], _run(inputs, 700)[1]
    assert np.array_equal(alone[0], whole[0], equal_nan=True)


@pytest.mark.parametrize(("value", "wrong"), [(1.2, True), (-0.1, True), (np.nan, False), (0.0, False), (1.0, False)])
@pytest.mark.parametrize("place", [0, 299])
def test_a_wrong_emissivity_is_noticed_anywhere_and_an_unknown_one_is_none(place, value, wrong):
    inputs = _inputs(np.random.default_rng(5), 300, INPUTS)
    inputs[1][place] = value
    noticed, out = _run(inputs, 300)
    assert noticed is wrong
    if value != 1.0 and not wrong:
        assert np.isnan(out[:, place]).all()


def test_one_bad_pixel_spoils_no_other():
    inputs = _inputs(np.random.default_rng(5), 600, INPUTS)
    clean = _run(inputs, 600)[1]
    inputs[0][300] = np.nan
    spoiled = _run(inputs, 600)[1]
    rest = np.arange(600) != 300
    assert np.array_equal(clean[:, rest], spoiled[:, rest], equal_nan=True)
    assert np.isnan(spoiled[:, 300]).all()
