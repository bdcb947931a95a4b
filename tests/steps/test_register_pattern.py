"""Fixed pattern: what stays at a pixel is found, what belongs to the scene is not."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from tests.steps.test_register_scene import SHAPE, make_flight, make_pattern, two_lines

from groundglow.errors import InputError
from groundglow.steps.register import RegisterSettings, estimate_fine_pattern
from groundglow.steps.register.fine import filled, spread_evenly
from groundglow.steps.register.halves import Halves


def _fine(image: np.ndarray, sigma: float) -> np.ndarray:
    return image - cv2.GaussianBlur(image, (0, 0), sigma)


def test_the_fine_pattern_of_a_flight_comes_out_and_its_error_is_what_is_said() -> None:
    flight = make_flight(two_lines())
    found, error = estimate_fine_pattern(flight.names, flight.load)
    truth = _fine(flight.pattern, RegisterSettings().pattern_sigma_px)
    off = float(np.std(found - truth))
    assert off < 0.55 * truth.std()
    assert 0.5 < error / off < 2.0


def test_a_flight_without_pattern_is_given_hardly_any() -> None:
    flight = make_flight(two_lines(), pattern=False)
    found, _ = estimate_fine_pattern(flight.names, flight.load)
    assert found.std() < 0.3


def test_three_frames_are_too_few_to_tell_a_pattern_from_the_scene() -> None:
    flight = make_flight(two_lines(2)[:3])
    found, error = estimate_fine_pattern(flight.names, flight.load)
    assert not found.any()
    assert error == 0.0


def test_masked_pixels_do_not_reach_the_pattern() -> None:
    flight = make_flight(two_lines())

    def load(name: str) -> tuple[np.ndarray, np.ndarray]:
        values, mask = flight.load(name)
        values, mask = values.copy(), mask.copy()
        values[50, 60], mask[50, 60] = np.nan, 1
        values[80:83, 90:93], mask[80:83, 90:93] = 1e6, 2
        return values, mask

    found, _ = estimate_fine_pattern(flight.names, load)
    clean, _ = estimate_fine_pattern(flight.names, flight.load)
    assert np.isfinite(found).all()
    far = np.ones(SHAPE, bool)
    far[35:100, 45:110] = False
    np.testing.assert_allclose(found[far], clean[far], atol=0.05)
    assert np.abs(found).max() < 3 * np.abs(clean).max()


def test_frames_are_read_one_by_one_and_only_as_many_as_set() -> None:
    flight, read = make_flight(two_lines()), []

    def load(name: str) -> tuple[np.ndarray, np.ndarray]:
        read.append(name)
        return flight.load(name)

    estimate_fine_pattern(flight.names, load, RegisterSettings(pattern_frames=7))
    assert len(read) == 7
    assert read == sorted(read)


def test_no_frames_and_odd_frames_are_refused_with_what_to_do() -> None:
    with pytest.raises(InputError, match="Check the log"):
        estimate_fine_pattern([], lambda _: (np.zeros(SHAPE, np.float32), np.zeros(SHAPE, np.uint8)))
    sizes = iter([(20, 30), (20, 31), (20, 30), (20, 30)])

    def load(_: str) -> tuple[np.ndarray, np.ndarray]:
        size = next(sizes)
        return np.ones(size, np.float32), np.zeros(size, np.uint8)

    with pytest.raises(InputError, match=r"b: frames of one flight differ in shape"):
        estimate_fine_pattern(["a", "b", "c", "d"], load)


def test_frames_without_any_detail_give_no_pattern_and_no_warning() -> None:
    flat = (np.full(SHAPE, 7.0, np.float32), np.zeros(SHAPE, np.uint8))
    found, error = estimate_fine_pattern(list("abcde"), lambda _: flat)
    assert not found.any()
    assert error == 0.0


def test_gaps_are_filled_from_around_and_a_frame_of_gaps_with_zero() -> None:
    values = np.full((40, 40), 5.0, np.float32)
    usable = np.ones((40, 40), bool)
    usable[10:12, 10:12] = False
    values[~usable] = np.nan
    np.testing.assert_allclose(filled(values, usable), 5.0, atol=1e-5)
    assert not filled(values, np.zeros((40, 40), bool)).any()


def test_frames_are_spread_over_the_whole_flight() -> None:
    chosen = spread_evenly([str(i) for i in range(1000)], 5)
    assert chosen[0] == "0"
    assert chosen[-1] == "999"
    assert len(chosen) == 5


def test_what_differs_between_halves_is_not_called_stable() -> None:
    rng = np.random.default_rng(5)
    halves = Halves(SHAPE, 40)
    for number in range(40):
        halves.add(number, rng.normal(0, 1, SHAPE), np.ones(SHAPE))
    mean, _ = halves.agreed()
    assert mean.std() < 0.2 / np.sqrt(40)


def test_halves_keep_a_stable_image_and_state_the_error_of_their_mean() -> None:
    rng = np.random.default_rng(6)
    truth = make_pattern(rng)
    halves = Halves(SHAPE, 40)
    for number in range(40):
        halves.add(number, truth + rng.normal(0, 2.0, SHAPE), np.ones(SHAPE))
    mean, error = halves.agreed()
    expected = 2.0 / np.sqrt(40)
    assert abs(np.std(mean - truth) / expected - 1) < 0.1
    assert abs(error / expected - 1) < 0.1
