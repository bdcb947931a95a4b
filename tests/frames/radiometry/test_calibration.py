"""Counts and radiance are inverse to each other; the doubt of coefficients is propagated with its signs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundglow.errors import InputError
from groundglow.frames.radiometry import counts_to_radiance, radiance_to_counts
from groundglow.frames.radiometry.calibration import calibration_sources
from groundglow.model.band import lookup, nominal_band
from groundglow.records.flight import CalibrationSpec

TABLE = lookup(nominal_band("7.5-13.5"))
SAKUMA = CalibrationSpec(form="sakuma_hattori", coefficients=(9.6, 150.0, 5e5, 2000.0))
LINEAR_K = CalibrationSpec(form="linear", unit="K", coefficients=(20.0, 0.04))
LINEAR_C = CalibrationSpec(form="linear", unit="C", coefficients=(-253.15, 0.04))
LINEAR_L = CalibrationSpec(form="linear", quantity="radiance", unit="W m-2 sr-1", coefficients=(2.0, 0.008))
ALL = (SAKUMA, LINEAR_K, LINEAR_C, LINEAR_L)


@pytest.mark.parametrize("calibration", ALL, ids=lambda c: f"{c.form}-{c.unit}")
@given(st.floats(240, 380))
def test_counts_and_radiance_are_inverse(calibration: CalibrationSpec, kelvin: float) -> None:
    """There and back within a tenth of a millikelvin of black-body temperature."""
    radiance = TABLE.radiance(kelvin)
    back = counts_to_radiance(radiance_to_counts(radiance, calibration, TABLE), calibration, TABLE)
    assert float(TABLE.temperature(back)) == pytest.approx(kelvin, abs=1e-4)


def test_celsius_and_kelvin_name_the_same_calibration() -> None:
    """20 - 273.15 in Celsius is 20 in kelvin."""
    counts = np.array([5000.0, 8000.0])
    by_celsius = counts_to_radiance(counts, LINEAR_C, TABLE)
    np.testing.assert_allclose(by_celsius, counts_to_radiance(counts, LINEAR_K, TABLE), rtol=1e-12)


def test_sakuma_hattori_follows_its_published_form() -> None:
    """counts = C / (exp(c2 / (A T + B)) - 1) + D, worked by hand with c2 = 14387.768775 um K (CODATA 2018)."""
    kelvin = 300.0
    counts = 5e5 / (np.exp(14387.768775 / (9.6 * kelvin + 150.0)) - 1) + 2000.0
    assert float(radiance_to_counts(TABLE.radiance(kelvin), SAKUMA, TABLE)) == pytest.approx(counts, rel=1e-7)


def test_counts_below_the_offset_have_no_temperature() -> None:
    """A signal below zero is NaN, not a number from a logarithm of something else."""
    assert np.isnan(counts_to_radiance([0.0, 1999.0], SAKUMA, TABLE)).all()


@pytest.mark.parametrize("coefficients", [(), (1.0,), (1.0, 2.0, 3.0)])
def test_a_calibration_without_its_coefficients_is_refused(coefficients: tuple[float, ...]) -> None:
    """The message shows the forms."""
    spec = CalibrationSpec(form="linear", coefficients=coefficients)
    with pytest.raises(InputError, match='"linear" with 2 or "sakuma_hattori" with 4'):
        counts_to_radiance(5000, spec, TABLE)


def sources(calibration: CalibrationSpec, counts: np.ndarray) -> dict[str, np.ndarray]:
    kelvin = TABLE.temperature(counts_to_radiance(counts, calibration, TABLE))
    return calibration_sources(counts, kelvin, TABLE.slope(kelvin), calibration)


def with_covariance(calibration: CalibrationSpec, covariance: np.ndarray) -> CalibrationSpec:
    rows = tuple(tuple(float(v) for v in row) for row in covariance)
    return calibration.model_copy(update={"covariance": rows})


@pytest.mark.parametrize("calibration", ALL, ids=lambda c: f"{c.form}-{c.unit}")
def test_sources_reproduce_the_covariance_by_numerical_derivatives(calibration: CalibrationSpec) -> None:
    """The sum over sources is J C J^T for every pair of pixels: signs and correlations included."""
    counts = np.array([5200.0, 6500.0, 8100.0])
    coefficients = np.array(calibration.coefficients)
    sd = 1e-4 * np.where(coefficients == 0, 1.0, np.abs(coefficients))
    correlation = 0.6 ** np.abs(np.subtract.outer(np.arange(sd.size), np.arange(sd.size)))
    covariance = correlation * np.outer(sd, sd)
    jacobian = np.empty((counts.size, sd.size))
    for k in range(sd.size):
        step = np.zeros_like(coefficients)
        step[k] = sd[k]
        up, down = (
            calibration.model_copy(update={"coefficients": tuple(float(v) for v in coefficients + sign * step)})
            for sign in (1, -1)
        )
        change = counts_to_radiance(counts, up, TABLE) - counts_to_radiance(counts, down, TABLE)
        jacobian[:, k] = change / (2 * sd[k])
    found = np.stack(list(sources(with_covariance(calibration, covariance), counts).values()))
    np.testing.assert_allclose(found.T @ found, jacobian @ covariance @ jacobian.T, rtol=2e-4)


def test_a_doubt_in_kelvin_is_one_source_of_the_bands_slope() -> None:
    """2 K of calibration are 2 K of black-body temperature at every level."""
    counts = np.array([5200.0, 8100.0])
    found = sources(SAKUMA.model_copy(update={"standard_uncertainty_k": 2.0}), counts)
    radiance = counts_to_radiance(counts, SAKUMA, TABLE)
    shifted = TABLE.temperature(radiance + 1e-3 * found["calibration"]) - TABLE.temperature(radiance)
    np.testing.assert_allclose(shifted, 2e-3, rtol=1e-4)


def test_what_is_no_covariance_is_refused() -> None:
    """A correlation above one cannot be."""
    with pytest.raises(InputError, match="no covariance"):
        sources(with_covariance(LINEAR_K, np.array([[1.0, 3.0], [3.0, 1.0]])), np.array([6000.0]))


def test_a_coefficient_without_doubt_adds_none() -> None:
    """An exact coefficient is allowed beside an uncertain one."""
    found = sources(with_covariance(LINEAR_K, np.diag([4.0, 0.0])), np.array([6000.0, 7000.0]))
    assert list(found) == ["calibration 1"]
    kelvin = np.array([260.0, 300.0])
    np.testing.assert_allclose(np.abs(found["calibration 1"]), 2.0 * TABLE.slope(kelvin), rtol=1e-9)
