"""NumPy files of every version of the format; never a pickle."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest
from numpy.lib import format as npy_format

from groundglow.errors import FrameError
from groundglow.frames.npy import NpyReader


@pytest.mark.parametrize("version", [(1, 0), (2, 0)])
@pytest.mark.parametrize("order", ["C", "F"])
def test_versions_and_orders_of_the_format(tmp_path: Path, version: tuple[int, int], order: str) -> None:
    """An array stored by columns is the same frame."""
    values = np.asarray(np.arange(12, dtype=np.uint16).reshape(3, 4), order=order)  # type: ignore[call-overload]
    with (tmp_path / "a.npy").open("wb") as file:
        npy_format.write_array(file, values, version=version)
    frame = NpyReader().read(tmp_path / "a.npy")
    np.testing.assert_array_equal(frame.values, np.arange(12).reshape(3, 4))


def test_a_pickle_in_disguise_is_not_loaded(tmp_path: Path) -> None:
    """A file from elsewhere must not run code."""
    marker = tmp_path / "ran"
    (tmp_path / "a.npy").write_bytes(pickle.dumps(marker))
    with pytest.raises(FrameError):
        NpyReader().read(tmp_path / "a.npy")
    np.save(tmp_path / "b.npy", np.array([[{"a": 1}]], dtype=object), allow_pickle=True)
    with pytest.raises(FrameError, match="never loaded"):
        NpyReader().read(tmp_path / "b.npy")
