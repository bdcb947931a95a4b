"""PNG frames: 16-bit grey counts; 8-bit and colour ones are pictures."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from groundglow.frames.base import Reader, to_stored

__all__ = ["PngReader"]


class PngReader(Reader):
    """Reads a PNG: 16-bit grey as stored, everything else as an 8-bit picture."""

    suffixes: ClassVar[tuple[str, ...]] = (".png",)
    rank: ClassVar[int] = 2

    def shape(self, path: Path) -> tuple[int, ...]:
        """Rows and columns."""
        with Image.open(path, formats=["PNG"]) as picture:
            return picture.height, picture.width

    def pixels(self, path: Path) -> NDArray[Any]:
        """The pixels, uint16 or uint8."""
        with Image.open(path, formats=["PNG"]) as picture:
            if picture.mode.startswith("I"):
                return np.asarray(picture).astype(np.uint16)
            return to_stored(path.name, np.asarray(picture.convert("L")))
