"""The guard around every reader: types, bands and sizes that are no frame are refused, all others kept exactly."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from groundglow.errors import FrameError
from groundglow.frames.base import MAX_PIXELS, Reader, to_grey, to_stored
from groundglow.records.frame import ValueKind


class Fixed(Reader):
    """A reader whose file says what the test wants."""

    def __init__(self, values: NDArray[Any], claimed: tuple[int, ...] | None = None) -> None:
        self.values, self.claimed = values, claimed or values.shape

    def shape(self, path: Path) -> tuple[int, ...]:
        return self.claimed

    def pixels(self, path: Path) -> NDArray[Any]:
        if self.values.dtype == object:
            raise RecursionError("decoder fell over\nwith details")
        return self.values


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A file that is there."""
    found = tmp_path / "a.bin"
    found.write_bytes(b"x")
    return found


def test_whatever_a_decoder_raises_becomes_a_reason_of_one_line(path: Path) -> None:
    """A flight goes on after any fault of any library."""
    with pytest.raises(FrameError, match=r"^a\.bin: cannot be read \(decoder fell over\)\. Copy it again\.$"):
        Fixed(np.array([[None]], dtype=object)).read(path)


def test_size_is_checked_before_decoding(path: Path) -> None:
    """Sizes whose product does not fit 64 bits as well."""
    for claimed in ((MAX_PIXELS, 2), (2**40, 2**40)):
        with pytest.raises(FrameError, match="claims"):
            Fixed(np.array([[None]], dtype=object), claimed).read(path)
    for empty in ((0, 5), (-1, 5)):
        with pytest.raises(FrameError, match="no pixels"):
            Fixed(np.ones((1, 1), np.uint16), empty).read(path)


def test_eight_bits_are_a_picture_and_sixteen_are_not(path: Path) -> None:
    """The kind follows from what the file can hold."""
    assert Fixed(np.ones((2, 2), np.uint8)).read(path).kind is ValueKind.PICTURE
    assert Fixed(np.ones((2, 2), np.uint16)).read(path).kind is ValueKind.COUNTS


@pytest.mark.parametrize("dtype", [">u2", "<u2", ">f4", "i2", "f2", "f8", "i4", "u4", "?"])
def test_every_stored_number_is_kept(dtype: str) -> None:
    """Byte order and width change, the numbers do not."""
    values = np.array([[0, 1], [1, 0]], dtype=dtype)
    kept = to_stored("a", values)
    assert kept.dtype in (np.uint8, np.uint16, np.float32)
    assert kept.dtype.isnative
    np.testing.assert_array_equal(kept, values)


@pytest.mark.parametrize(
    "values", [np.array([[2**24 + 1]]), np.array([[-(2**25)]]), np.array([["a"]]), np.zeros((2, 2, 2))]
)
def test_what_cannot_be_kept_exactly_is_refused(values: NDArray[Any]) -> None:
    """Large whole numbers, texts, several bands."""
    with pytest.raises(FrameError):
        to_stored("a.tif", values)


def test_colours_become_grey_by_the_broadcasters_weights() -> None:
    """ITU-R BT.601: 0.299 red, 0.587 green, 0.114 blue; an alpha band is left out."""
    primaries = np.array([[[255, 0, 0, 9], [0, 255, 0, 9], [0, 0, 255, 9], [255, 255, 255, 9]]], np.uint8)
    np.testing.assert_allclose(to_grey("a", primaries), [[76.2, 149.7, 29.1, 255]], atol=1)
    assert to_grey("a", np.ones((2, 3, 1), np.uint16)).shape == (2, 3)
    for bands in (np.ones((2, 3, 3), np.uint16), np.ones((2, 3, 5), np.uint8)):
        with pytest.raises(FrameError, match="one band"):
            to_grey("a", bands)
