"""Values around each pixel: the compiled loops against a plain NumPy twin, and the sorting within them."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from groundglow.steps.find.kernels import DIRECTIONS, _sorting_steps, ring_offsets, ring_statistics

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
