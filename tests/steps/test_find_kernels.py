"""Values around each pixel: the compiled loops against a plain NumPy twin, and the sorting within them."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from groundglow.steps.find.kernels import (
    DIRECTIONS,
    LEAST_ALIKE,
    _sorting_steps,
    like_spread,
    ring_offsets,
    ring_statistics,
)

Picture = NDArray[np.float32]


def twin(image: Picture, offsets: NDArray[np.int64], least: int) -> tuple[Picture, Picture, Picture]:
    """Shifted copies of the picture upon each other, NaN beyond its border; then NumPy's own statistics."""
    reach = int(np.abs(offsets).max())
    rows, columns = image.shape
    wide = np.pad(image.astype(np.float64), reach, constant_values=np.nan)
    around = np.stack([wide[reach + r : reach + r + rows, reach + c : reach + c + columns] for r, c in offsets])
    count = np.isfinite(around).sum(axis=0)
    around[0] = np.where(count == 0, image, around[0])  # no value around: the place itself is the middle
    ordered = np.sort(around, axis=0)  # NaN last
    low, mid = ordered[0], np.nanmedian(around, axis=0)
    high = np.nanmax(around, axis=0)
    enough = count >= least
    return np.where(enough, high, np.inf), np.where(enough, low, -np.inf), mid


def check(image: Picture, radius: float, least: int) -> None:
    offsets = ring_offsets(radius)
    for ours, theirs in zip(ring_statistics(image, offsets, least), twin(image, offsets, least), strict=True):
        np.testing.assert_allclose(ours, theirs, rtol=1e-6, atol=1e-6)


@pytest.mark.parametrize("radius", [1.0, 3.0, 4.25, 7.5, 13.0, 19.4, 25.5])
@pytest.mark.parametrize("least", [1, 7, DIRECTIONS])
def test_ring_statistics_are_those_of_numpy_within_and_along_the_border(radius: float, least: int) -> None:
    """At 25.5 px the rings of a 45 x 60 picture all leave it somewhere."""
    rng = np.random.default_rng(int(10 * radius) + least)
    check(rng.normal(290, 3, (45, 60)).astype(np.float32), radius, least)


@settings(max_examples=60, deadline=None)
@given(
    rows=st.integers(1, 24),
    columns=st.integers(1, 24),
    radius=st.floats(0.0, 16.0),
    least=st.integers(1, DIRECTIONS),
    seed=st.integers(0, 2**32 - 1),
)
def test_ring_statistics_are_those_of_numpy_for_any_picture_and_radius(
    rows: int, columns: int, radius: float, least: int, seed: int
) -> None:
    """Pictures smaller than the ring, and equal values, included."""
    rng = np.random.default_rng(seed)
    check(rng.integers(-3, 4, (rows, columns)).astype(np.float32), radius, least)


def test_nothing_can_stand_out_where_too_few_directions_lie_in_the_frame() -> None:
    image = np.zeros((30, 30), np.float32)
    high, low, _ = ring_statistics(image, ring_offsets(5.0), DIRECTIONS)
    inner = np.s_[5:-5, 5:-5]
    assert np.all(high[inner] == 0)
    assert np.all(low[inner] == 0)
    high[inner], low[inner] = np.inf, -np.inf
    assert np.all(np.isposinf(high))
    assert np.all(np.isneginf(low))


@pytest.mark.parametrize("radius", [2.0, 5.0, 12.25])
def test_a_ring_is_twelve_places_thirty_degrees_apart(radius: float) -> None:
    offsets = ring_offsets(radius)
    np.testing.assert_allclose(np.hypot(*offsets.T), radius, atol=0.75)
    turn = np.diff(np.unwrap(np.arctan2(offsets[:, 0], offsets[:, 1])))
    assert offsets.shape == (12, 2)
    np.testing.assert_allclose(turn, np.pi / 6, atol=2 * np.sqrt(0.5) / radius)


@pytest.mark.parametrize("count", range(2, 17))
def test_the_sorting_steps_sort_any_values(count: int) -> None:
    """By the zero-one principle (D. E. Knuth, The Art of Computer Programming, vol. 3, 5.3.4, theorem Z):

    a network of comparisons that sorts all sequences of zeros and ones sorts all sequences.
    """
    values = np.array(list(product((0, 1), repeat=count)), dtype=np.int8)
    for one, other in _sorting_steps(count):
        assert 0 <= one < other < count
        low, high = np.minimum(values[:, one], values[:, other]), np.maximum(values[:, one], values[:, other])
        values[:, one], values[:, other] = low, high
    assert np.all(np.diff(values, axis=1) >= 0)


def spread_twin(
    departure: Picture, level: Picture, place: tuple[int, int], reach: int, step: int, share: float
) -> float:
    """The window as a list of pixels, sorted by how far their level is from the place's own."""
    i, j = place
    at = range(-(reach // step) * step, reach + 1, step)
    near = [(i + r, j + c) for r in at for c in at if (r, c) != (0, 0)]
    near = [(r, c) for r, c in near if 0 <= r < departure.shape[0] and 0 <= c < departure.shape[1]]
    near.sort(key=lambda p: abs(float(level[p]) - float(level[i, j])))
    some = np.array([departure[p] for p in near[: max(int(share * len(near)), LEAST_ALIKE)]])
    return float(1.4826 * np.median(np.abs(some - np.median(some))))


@settings(max_examples=60, deadline=None)
@given(
    rows=st.integers(5, 30),
    columns=st.integers(5, 30),
    reach=st.integers(2, 20),
    step=st.integers(1, 4),
    share=st.floats(0.05, 1.0),
    seed=st.integers(0, 2**32 - 1),
)
def test_spread_of_like_places_is_that_of_a_plain_list(
    rows: int, columns: int, reach: int, step: int, share: float, seed: int
) -> None:
    """Near the border, too; levels differ all, so that no order among equals matters."""
    rng = np.random.default_rng(seed)
    departure = rng.normal(0, 1, (rows, columns)).astype(np.float32)
    level = rng.permutation(rows * columns).reshape(rows, columns).astype(np.float32) ** np.float32(1.1)
    place = int(rng.integers(rows)), int(rng.integers(columns))
    near = [n for k, n in zip(place, (rows, columns), strict=True) for n in (k // step, (n - 1 - k) // step)]
    held = [min(n, reach // step) for n in near]
    found = float(like_spread(departure, level, np.array([place]), reach, step, share)[0])
    if (held[0] + held[1] + 1) * (held[2] + held[3] + 1) - 1 < LEAST_ALIKE:
        assert np.isinf(found)
    else:
        assert found == pytest.approx(spread_twin(departure, level, place, reach, step, share), rel=1e-5)


def test_spread_of_like_places_is_not_raised_by_rougher_ground_of_another_level() -> None:
    """Half of the window at 300 K is ten times rougher than the even half at 310 K."""
    rng = np.random.default_rng(4)
    rough = np.arange(61)[None, :] < 28
    departure = (rng.normal(0, 0.1, (61, 61)) * np.where(rough, 10.0, 1.0)).astype(np.float32)
    level = np.where(rough, 300.0, 310.0).astype(np.float32) + rng.normal(0, 0.2, (61, 61)).astype(np.float32)
    found = like_spread(departure, level, np.array([[30, 30]]), 24, 1, 0.25)[0]
    assert found == pytest.approx(0.1, rel=0.15)
