"""The correction for target size gives true rises back, and its doubt holds the error."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from groundglow.errors import RangeError
from groundglow.model.pointspread import PointSpread
from groundglow.model.targetcorrection import apparent_diameter, response_table, target_correction
from groundglow.model.targetsize import Reading, target_response

LENS = PointSpread(diffraction=10 * 1.25 / 12, aberration=0.4)


def test_table_agrees_with_the_direct_way_between_its_rows():
    table = response_table(LENS)
    for diameter in (0.9, 2.3, 4.4, 7.7, 13.3, 31.0):
        share, sd = table.response(diameter)
        direct = target_response(diameter, diameter, LENS)
        assert share == pytest.approx(direct.share, abs=3e-3)
        assert sd == pytest.approx(direct.sd, abs=3e-3)


def test_loss_of_large_targets_falls_with_their_size():
    table = response_table(LENS)
    loss = 1 - table.response([50.0, 100.0, 1e6])[0]
    assert loss[0] == pytest.approx(2 * loss[1])
    assert loss[2] < 1e-6
    assert loss[1] == pytest.approx(1 - target_response(100.0, 100.0, LENS).share, abs=1.5e-3)


def test_true_diameter_undoes_the_apparent_one():
    table = response_table(LENS)
    for diameter in (2.5, 4.0, 9.0, 20.0):
        assert table.true_diameter(apparent_diameter(diameter, LENS)) == pytest.approx(diameter, rel=0.03)
    assert table.true_diameter(80.0) == 80.0
    assert table.true_diameter(0.1) == pytest.approx(0.4)


def pixels_of_a_disc(diameter, sigma, rng, fine=16):
    """A hot disc on 21 x 21 pixels, apart from the code under test: drawn finely, blurred in space, averaged."""
    place = (np.arange(21 * fine) + 0.5) / fine - 10.5
    column, row = rng.uniform(-0.5, 0.5, 2)
    drawn = (np.hypot(place[None, :] - column, place[:, None] - row) <= diameter / 2).astype(float)
    blurred = gaussian_filter(drawn, sigma * fine)
    return blurred.reshape(21, fine, 21, fine).mean(axis=(1, 3))


@pytest.mark.parametrize("diameter", [3.0, 3.5, 4.0, 5.0, 8.0])
def test_rise_of_simulated_discs_comes_back_within_the_stated_doubt(diameter):
    sigma = 0.7
    rng = np.random.default_rng(round(diameter * 10))
    error, sd, size = np.empty((3, 40))
    for k in range(40):
        picture = pixels_of_a_disc(diameter, sigma, rng)
        size[k] = 2 * np.sqrt(np.count_nonzero(picture > 0.5 * picture.max()) / np.pi)
        found = target_correction(size[k], 0.35, PointSpread(aberration=sigma))
        error[k], sd[k] = picture.max() * found.factor - 1.0, picture.max() * found.independent_sd
    assert abs(error.mean()) < 0.04  # uncorrected: 0.29 of the rise at 3 px
    assert np.count_nonzero(np.abs(error) < 1.96 * sd + 0.002) >= 35  # 0.002: the table's own error
    assert size.std() < 0.25


def test_factor_and_doubt_grow_as_the_target_shrinks():
    found = target_correction([15.0, 10.0, 6.0, 4.0, 3.0], 0.4, LENS)
    assert (np.diff(found.factor) > 0).all()
    assert (np.diff(found.independent_sd) > 0).all()
    assert found.factor[0] < 1.04


def test_a_target_no_larger_than_a_point_says_that_its_factor_is_open():
    found = target_correction(1.7, 0.4, LENS)
    assert found.independent_sd + abs(found.optics) > found.factor


def test_a_blurrier_lens_than_thought_means_a_larger_factor():
    known, unknown = (target_correction(5.0, 0.0, LENS, blur_uncertainty=u) for u in (0.0, 0.25))
    assert known.optics == 0
    assert unknown.optics > 0.01
    assert unknown.factor == known.factor


def test_mean_over_a_core_is_corrected_by_its_own_factor():
    reading = Reading(core=0.5)
    found = target_correction(apparent_diameter(6.0, LENS), 0.3, LENS, reading=reading)
    assert found.factor * target_response(6.0, 6.0, LENS, reading=reading).share == pytest.approx(1, abs=5e-3)


def test_apparent_size_of_zero_is_refused():
    with pytest.raises(RangeError, match="apparent"):
        target_correction([3.0, 0.0], 0.5, LENS)
