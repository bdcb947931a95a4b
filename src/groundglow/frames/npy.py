"""NumPy array files; pickled objects are never loaded."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

import numpy as np
from numpy.lib import format as npy_format
from numpy.typing import NDArray

from groundglow.errors import FrameError
from groundglow.frames.base import Reader, to_stored

__all__ = ["NpyReader"]


class NpyReader(Reader):
    """Reads a two-dimensional ``.npy`` array."""

    suffixes: ClassVar[tuple[str, ...]] = (".npy",)
    rank: ClassVar[int] = 1

    def shape(self, path: Path) -> tuple[int, ...]:
        """The shape in the header, checked against the length of the file."""
        with path.open("rb") as file:
            version = npy_format.read_magic(file)
            read = npy_format.read_array_header_1_0 if version == (1, 0) else npy_format.read_array_header_2_0
            shape, _, dtype = read(file)
            start = file.tell()
        _check_length(path, start, shape, dtype)
        return shape

    def pixels(self, path: Path) -> NDArray[Any]:
        """The array as stored."""
        return to_stored(path.name, np.load(path, allow_pickle=False))

    def tags(self, path: Path) -> dict[str, Any]:
        """Nothing: the format has no metadata."""
        return {}


def _check_length(path: Path, start: int, shape: tuple[int, ...], dtype: np.dtype[Any]) -> None:
    if dtype.hasobject:
        raise FrameError(f"{path.name}: holds pickled objects, which are never loaded; save plain numbers")
    if len(shape) != 2:
        raise FrameError(f"{path.name}: has the shape {shape}; expected rows x columns, one band")
    expected = start + dtype.itemsize * shape[0] * shape[1]
    if path.stat().st_size < expected:
        raise FrameError(f"{path.name}: cut short: {path.stat().st_size} bytes of {expected}. Copy it again.")
