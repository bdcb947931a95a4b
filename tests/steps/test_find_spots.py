"""Spots in one frame: round things are found where and as they are; edges, corners, lines and slopes are not spots."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.steps.find_pictures import LEVEL, NOISE, Picture, disc, found, seen, spots, texture

from groundglow.records.field import Reason
from groundglow.records.finding import Candidate
from groundglow.steps.find import FindSettings
from groundglow.steps.find.region import equivalent_diameter
from groundglow.steps.find.spots import diameters
from groundglow.steps.find.strength import plain_contrast, strength

SHAPE = (128, 144)


def near(some: tuple[Candidate, ...], column: float, row: float) -> list[Candidate]:
    return [c for c in some if np.hypot(c.column - column, c.row - row) < 5]


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("diameter", [4.0, 7.0, 12.0, 24.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_disc_on_natural_ground_is_found_once_at_its_place_and_size(sign: int, diameter: float, seed: int) -> None:
    """Warm and cold, at any part of a pixel; the place to half a pixel, the size to a pixel or a seventh."""
    column, row = np.random.default_rng(seed).uniform(45, 75, 2)
    picture = texture(SHAPE, seed) + np.float32(sign * 3.0) * disc(SHAPE, column, row, diameter)
    there = near(found(picture, spots(3, 30)), column, row)
    assert len(there) == 1
    assert there[0].sign == sign
    assert np.hypot(there[0].column - column, there[0].row - row) < 0.5
    assert abs(equivalent_diameter(there[0].area_px) - diameter) < max(1.0, diameter / 7)


@pytest.mark.parametrize("diameter", [12.0, 24.0])
def test_the_rise_of_a_wide_disc_is_its_rise(diameter: float) -> None:
    """Its blurred border left out; what is wrong is within the stated doubt."""
    picture = texture(SHAPE, 4) + np.float32(3.0) * disc(SHAPE, 60.3, 70.8, diameter)
    (one,) = near(found(picture, spots(3, 30)), 60.3, 70.8)
    assert abs(one.rise - 3.0) < 1.96 * one.rise_sd
    assert one.rise_sd < 0.2
    assert abs(one.background - LEVEL) < 0.2


@pytest.mark.parametrize("diameter", [3.0, 5.0, 8.0])
def test_a_small_disc_reads_no_more_than_its_rise_and_no_less_than_blur_leaves(diameter: float) -> None:
    """A core that blur and sampling dilute reads low, never high beyond noise."""
    shown = disc(SHAPE, 60.3, 70.8, diameter)
    (one,) = near(found(texture(SHAPE, 5) + np.float32(4.0) * shown, spots(3, 30)), 60.3, 70.8)
    least = 4.0 * float(shown[shown > 0.5 * shown.max()].mean())
    assert least - 0.3 < one.rise < 4.0 + 0.3


@pytest.mark.parametrize("angle", [0.0, 11.0, 30.0, 45.0, 77.0])
def test_an_edge_is_no_spot(angle: float) -> None:
    across = np.deg2rad(angle)
    step = seen(SHAPE, lambda c, r: (c - 70) * np.cos(across) + (r - 62) * np.sin(across) > 0)
    assert not found(texture(SHAPE, 6) + 8 * step, spots(3, 16))


@pytest.mark.parametrize("angle", [0.0, 20.0, 45.0, 70.0])
@pytest.mark.parametrize("opening", [90.0, 120.0])
def test_a_corner_is_no_spot(angle: float, opening: float) -> None:
    """A quarter of the plane, or a third: wide surfaces that end in two edges."""
    middle, half = np.deg2rad(angle), np.deg2rad(opening / 2)

    def inside(c: np.ndarray, r: np.ndarray) -> np.ndarray:
        off = np.arctan2(r - 62, c - 70) - middle
        return np.abs(np.angle(np.exp(1j * off))) < half

    assert not found(texture(SHAPE, 7) + 8 * seen(SHAPE, inside), spots(3, 16))


@pytest.mark.parametrize("angle", [0.0, 15.0, 40.0, 90.0])
@pytest.mark.parametrize("width", [2.0, 4.0])
@pytest.mark.parametrize("ends", [False, True])
def test_a_line_and_its_end_are_no_spots(angle: float, width: float, ends: bool) -> None:
    """A wire, a kerb, a pipe: whether it runs through the frame or ends in it."""
    turn = np.deg2rad(angle)

    def inside(c: np.ndarray, r: np.ndarray) -> np.ndarray:
        along = (c - 70) * np.cos(turn) + (r - 62) * np.sin(turn)
        across = (r - 62) * np.cos(turn) - (c - 70) * np.sin(turn)
        return (np.abs(across) < width / 2) & ((along > 0) | (not ends))

    assert not found(texture(SHAPE, 8) + 6 * seen(SHAPE, inside), spots(3, 16))


@pytest.mark.parametrize("slope", [0.02, 0.2, 1.0])
def test_a_gradient_is_no_spot(slope: float) -> None:
    rows, columns = np.mgrid[: SHAPE[0], : SHAPE[1]]
    assert not found(texture(SHAPE, 9) + np.float32(slope) * (0.6 * rows + 0.8 * columns), spots(3, 16))


def test_ground_with_nothing_on_it_gives_nothing_at_the_strength_asked() -> None:
    """Eight frames of texture: a false one in a frame would bury the true ones of a flight."""
    assert sum(len(found(texture(SHAPE, seed), spots(3, 16))) for seed in range(20, 28)) <= 1


def test_two_discs_two_diameters_apart_stay_two() -> None:
    """Each is seen at its own place with its own size, not as one wide thing."""
    at = [(50.0, 60.0), (64.0, 60.0)]
    picture = texture(SHAPE, 10) + sum(np.float32(3.0) * disc(SHAPE, *p, 6.0) for p in at)
    some = found(picture, spots(4, 12))
    for column, row in at:
        strongest = max(near(some, column, row), key=lambda c: c.contrast_noise)
        assert np.hypot(strongest.column - column, strongest.row - row) < 0.5
        assert abs(equivalent_diameter(strongest.area_px) - 6.0) < 1.0


def test_a_spot_beside_an_edge_is_found() -> None:
    """A cell near the frame of its module, a clamp near its beam."""
    picture = texture(SHAPE, 11) + 8 * seen(SHAPE, lambda c, r: (c > 76) & (r < 1e9))
    there = near(found(picture + np.float32(4.0) * disc(SHAPE, 66, 60, 6.0), spots(4, 12, (1,))), 66, 60)
    assert len(there) == 1


def saturated(diameter: float = 9.0) -> tuple[Picture, np.ndarray]:
    """A disc too hot for the camera: no value in its core, its rim still read."""
    shown = disc(SHAPE, 60, 64, diameter)
    picture = texture(SHAPE, 12) + 12 * shown
    hole = shown > 0.7
    mask = np.where(hole, Reason.SATURATED, Reason.GOOD).astype(np.uint8)
    return np.where(hole, np.float32(np.nan), picture), mask


def test_what_saturates_is_found_as_warm_and_says_so() -> None:
    picture, mask = saturated()
    (one,) = near(found(picture, spots(4, 16), mask), 60, 64)
    assert one.sign == 1
    assert "saturated" in one.masked


def test_dead_pixels_do_not_make_a_spot() -> None:
    """A hole of bad pixels takes what lies around it."""
    picture, mask = texture(SHAPE, 13), np.zeros(SHAPE, np.uint8)
    for r, c in ((30, 40), (70, 90)):
        picture[r : r + 5, c : c + 5] = np.nan
        mask[r : r + 5, c : c + 5] = Reason.BAD_PIXEL
    assert not found(picture, spots(3, 12), mask)


def test_a_disc_of_another_size_or_sign_or_rise_than_was_asked_is_left_out() -> None:
    picture = texture(SHAPE, 14) + np.float32(3.0) * disc(SHAPE, 60, 64, 24.0)
    assert near(found(picture, spots(16, 30, (1,))), 60, 64)
    assert not near(found(picture, spots(3, 6, (1,))), 60, 64)
    assert not near(found(picture, spots(16, 30, (-1,))), 60, 64)
    assert not near(found(picture, replace(spots(16, 30, (1,)), least_rise=4.0)), 60, 64)


@settings(max_examples=30, deadline=None)
@given(low=st.floats(1.0, 40.0), ratio=st.floats(1.0, 30.0))
def test_sizes_tried_cover_what_was_asked_in_steps_no_wider_than_set(low: float, ratio: float) -> None:
    made, limits = diameters(spots(low, low * ratio), FindSettings()), FindSettings()
    assert min(made) >= limits.least_px
    assert min(made) <= max(low, limits.least_px) * (1 + 1e-9)
    assert max(made) >= low * ratio * (1 - 1e-9)
    assert all(1 < b / a <= limits.scale_step * (1 + 1e-6) for a, b in pairwise(made))


@settings(max_examples=30, deadline=None)
@given(a=st.floats(0, 100), b=st.floats(0, 100), more=st.floats(0, 20))
def test_strength_lies_between_its_two_measures_and_grows_with_both(a: float, b: float, more: float) -> None:
    assert min(a, b) - 1e-9 <= strength(a, b) <= max(a, b) + 1e-9
    assert strength(a + more, b) >= strength(a, b) - 1e-9
    assert strength(a, b + more) >= strength(a, b) - 1e-9


def test_plain_contrast_is_core_minus_ring_over_the_spread_of_the_ring() -> None:
    """Twelve noises of rise over flat noise; none of the other sign; noise is a floor under the spread."""
    flat = np.random.default_rng(15).normal(LEVEL, 0.5, SHAPE).astype(np.float32)
    hot = flat + np.float32(6.0) * (disc(SHAPE, 60, 64, 9.0) > 0.5)
    assert plain_contrast(hot, (60, 64), 9.0, sign=1, noise=NOISE) == pytest.approx(12.0, rel=0.15)
    assert plain_contrast(hot, (60, 64), 9.0, sign=-1, noise=NOISE) == 0.0
    assert plain_contrast(hot, (60, 64), 9.0, sign=1, noise=3.0) == pytest.approx(2.0, rel=0.15)
