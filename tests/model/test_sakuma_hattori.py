"""Sakuma-Hattori equation: fitted to measured pairs, inverse, refusals."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.model.sakuma_hattori import SakumaHattori, fit_sakuma_hattori

TRUTH = SakumaHattori(9.5e-6, 150e-6, 42_000.0)
KELVIN = np.arange(253.15, 374.0, 10.0)


def test_parameters_are_recovered_from_exact_pairs():
    fit = fit_sakuma_hattori(KELVIN, TRUTH.signal(KELVIN))
    assert (fit.a, fit.b, fit.c) == pytest.approx((TRUTH.a, TRUTH.b, TRUTH.c), rel=1e-6)


def test_noisy_counts_are_fitted_within_their_noise():
    """Noise of 20 counts: the fitted curve stays within three standard uncertainties of the truth."""
    rng = np.random.default_rng(11)
    counts = TRUTH.signal(KELVIN) + rng.normal(0.0, 20.0, KELVIN.size)
    fit = fit_sakuma_hattori(KELVIN, counts, standard_uncertainty=20.0)
    error = fit.temperature(TRUTH.signal(KELVIN)) - KELVIN
    assert np.abs(error).max() < 3 * 20.0 / TRUTH.slope(KELVIN).min()


def test_stated_uncertainties_weigh_the_pairs():
    """A pair that is wrong but said to be doubtful pulls the curve less."""
    counts = TRUTH.signal(KELVIN)
    counts[-1] *= 1.05
    doubt = np.full(KELVIN.size, 5.0)
    alike = fit_sakuma_hattori(KELVIN, counts, standard_uncertainty=doubt)
    doubt[-1] = 5000.0
    aware = fit_sakuma_hattori(KELVIN, counts, standard_uncertainty=doubt)

    def worst(fit):
        return np.abs(fit.temperature(TRUTH.signal(KELVIN)) - KELVIN).max()

    assert worst(aware) < 0.01 * worst(alike)


def test_temperature_inverts_signal_and_nothing_is_nan():
    assert TRUTH.temperature(TRUTH.signal(KELVIN)) == pytest.approx(KELVIN, rel=1e-12)
    assert np.isnan(TRUTH.temperature([0.0, -5.0, np.nan])).all()


@pytest.mark.parametrize(
    ("kelvin", "signal", "told"),
    [
        ([280.0, 300.0], [1.0, 2.0], "three different temperatures"),
        ([280.0, 280.0, 300.0], [1.0, 1.0, 2.0], "three different temperatures"),
        ([280.0, 290.0, 300.0], [1.0, 2.0], "one length"),
        ([280.0, 290.0, 300.0], [1.0, -2.0, 3.0], "positive"),
        ([280.0, 290.0, 300.0], [1.0, np.nan, 3.0], "finite"),
        ([280.0, 290.0, 300.0], [3.0, 2.0, 1.0], "rise with temperature"),
    ],
)
def test_pairs_that_do_not_determine_the_curve_are_refused(kelvin, signal, told):
    with pytest.raises(InputError, match=told):
        fit_sakuma_hattori(kelvin, signal)
