"""How much of a small target's rise a reading shows."""

import numpy as np
import pytest
from scipy.special import erf

from groundglow.errors import RangeError
from groundglow.model.pointspread import NOMINAL_WAVELENGTH, PointSpread, encircled_energy, transfer
from groundglow.model.targetsize import Reading, blurred_target, smallest_size, target_response

LENS = PointSpread(diffraction=10 * 1.25 / 12)


def at_middle(picture, place):
    """Value at the middle of a smooth even picture: the four samples around it, and its curvature."""
    n = len(place) // 2
    near, far = picture[n, n], picture[n, n + 1]
    return near - (far - near) / 4.0 * 0.5  # even in x and y: f(h/2,h/2) and f(3h/2,h/2)


def test_disc_behind_a_perfect_lens_shows_the_encircled_energy():
    """Rayleigh 1881: the middle of a disc's picture is the energy within its radius of a point's."""
    spread = PointSpread(diffraction=1.0, pixel=0.0)
    for diameter in (3.0, 6.0, 12.0):
        picture, place = blurred_target(diameter, diameter, spread)
        energy = encircled_energy(diameter / 2 * 10e-6, 1.0, wavelength=10e-6)  # 10 um pixels
        assert at_middle(picture, place) == pytest.approx(energy, abs=2e-3)


def gaussian_square(side, sigma, offsets):
    """A square blurred by a Gaussian and averaged over the pixel, in closed form along one axis."""

    def ramp(x):
        z = x / (sigma * np.sqrt(2))
        return x / 2 * erf(z) + sigma / np.sqrt(2 * np.pi) * np.exp(-(z**2))

    def along(x):
        a, b = side / 2 - x, side / 2 + x
        return ramp(a + 0.5) - ramp(a - 0.5) + ramp(b + 0.5) - ramp(b - 0.5)

    return along(offsets)[:, None] * along(offsets)[None, :]


@pytest.mark.parametrize("side", [1.0, 3.0, 7.5])
def test_square_under_a_gaussian_agrees_with_the_error_function(side):
    sigma = 0.8
    picture, place = blurred_target(side, side, PointSpread(aberration=sigma), shape="rectangle")
    middle = slice(len(place) // 2 - 40, len(place) // 2 + 40)
    exact = gaussian_square(side, sigma, place[middle])
    # The Gaussian is wide enough to leave no sampling error; what is left is the canvas's rounding.
    assert picture[middle, middle] == pytest.approx(exact, abs=1e-6)


def test_peak_reading_averages_over_where_the_target_lies():
    """Against 4000 random places of the closed form's peak pixel."""
    sigma, side = 0.8, 3.0
    rng = np.random.default_rng(5)
    offset = rng.uniform(-0.5, 0.5, (4000, 2))
    one = [gaussian_square(side, sigma, np.array([o[0]]))[0, 0] for o in offset]
    other = [gaussian_square(side, sigma, np.array([o[1]]))[0, 0] for o in offset]
    peaks = np.sqrt(np.array(one) * np.array(other))
    found = target_response(side, side, PointSpread(aberration=sigma), shape="rectangle")
    assert found.share == pytest.approx(peaks.mean(), abs=1.5e-3)
    assert found.sd == pytest.approx(peaks.std(), abs=1.5e-3)


def test_ten_by_ten_reads_nearly_true_whatever_the_lens_and_three_by_three_does_not():
    """Common practice, no source: 10 x 10 pixels for a reading without correction, 3 x 3 at the very least."""
    lenses = [PointSpread(d, a) for d, a in ((0.83, 0.0), (1.04, 0.5), (0.74, 0.35), (1.17, 1.25))]
    ten, three = ([target_response(n, n, s, shape="rectangle").share for s in lenses] for n in (10, 3))
    assert min(ten) > 0.94
    assert max(ten) - min(ten) < 0.03
    assert max(three) < 0.90
    assert max(three) - min(three) > 0.3


@pytest.mark.parametrize(("low", "high", "effective"), [(8.0, 14.0, 10.6), (7.5, 13.5, 10.15)])
def test_a_band_reads_as_its_effective_wavelength(low, high, effective):
    """Weighted by the slope of Planck's law at 300 K, which is what a small rise feels."""
    wavelength = np.linspace(low, high, 25)
    x = 14387.769 / (wavelength * 300.0)
    weight = wavelength**-6.0 * np.exp(x) / np.expm1(x) ** 2
    weight /= weight.sum()
    assert (weight * wavelength).sum() == pytest.approx(effective, abs=0.01)
    assert pytest.approx(effective * 1e-6, rel=0.03) == NOMINAL_WAVELENGTH
    for side in (2.0, 3.0, 10.0):
        share = [target_response(side, side, PointSpread(w * 1.25 / 12), shape="rectangle").share for w in wavelength]
        single = target_response(side, side, PointSpread(effective * 1.25 / 12), shape="rectangle").share
        assert (weight * share).sum() == pytest.approx(single, abs=2e-3)


def test_a_core_reads_less_than_the_peak_and_a_ring_takes_some_more():
    peak = target_response(6, 6, LENS).share
    core = target_response(6, 6, LENS, reading=Reading(core=0.5)).share
    whole = target_response(6, 6, LENS, reading=Reading(core=1.0)).share
    ringed = target_response(6, 6, LENS, reading=Reading(core=1.0, ring=(4.0, 6.0))).share
    assert peak > core > whole > ringed > 0.5


def test_core_without_a_pixel_centre_is_the_peak_pixel():
    spread = LENS
    tiny = target_response(0.8, 0.8, spread, reading=Reading(core=0.01))
    assert tiny.share == pytest.approx(target_response(0.8, 0.8, spread).share, rel=0.01)


def test_a_long_thin_target_loses_by_its_width():
    thin = target_response(30.0, 1.5, LENS, shape="rectangle").share
    small = target_response(1.5, 1.5, LENS, shape="rectangle").share
    wide = target_response(30.0, 30.0, LENS, shape="rectangle").share
    assert small < thin < wide
    turned = target_response(1.5, 30.0, LENS, shape="rectangle").share
    assert turned == pytest.approx(thin)


def test_energy_is_kept_and_the_veil_takes_its_share():
    for veil in (0.0, 0.1):
        picture, place = blurred_target(5.0, 5.0, PointSpread(1.0, 0.5, veil=veil))
        assert picture.sum() * (place[1] - place[0]) ** 2 == pytest.approx((1 - veil) * np.pi * 25 / 4, rel=1e-9)


def test_result_does_not_hang_on_the_canvas():
    """12.8 px lies at the edge of the small canvas, 12.81 on the next larger, coarser one."""
    below, above = (target_response(d, d, LENS, reading=Reading(core=0.5)) for d in (12.79, 12.81))
    assert above.share == pytest.approx(below.share, abs=1e-3)


def test_smallest_size_shows_the_share_asked_for():
    side = smallest_size(0.93, LENS)
    assert target_response(side, side, LENS, shape="rectangle").share == pytest.approx(0.93, abs=2e-3)
    assert smallest_size(0.99, PointSpread(veil=0.05)) == np.inf


def test_blur_moves_but_never_adds_energy_to_the_peak():
    assert abs(transfer(LENS, 0.2, 0.1)) <= 1
    assert target_response(40, 40, LENS).share <= 1


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: target_response(0.0, 1.0, LENS), "size"),
        (lambda: target_response(500.0, 500.0, LENS), "size"),
        (lambda: smallest_size(1.0, LENS), "share"),
        (lambda: Reading(core=1.5), "core"),
        (lambda: Reading(ring=(5.0, 4.0)), "ring"),
    ],
)
def test_targets_and_readings_that_cannot_be_are_refused(call, name):
    with pytest.raises(RangeError, match=f"{name} out of range"):
        call()
