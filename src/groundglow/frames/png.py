"""PNG frames: 16-bit grey counts; 8-bit and colour ones are pictures."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from groundglow.frames.base import Reader, to_stored
from groundglow.frames.exif import tags_of

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
        return self.content(path)[0]

    def content(self, path: Path) -> tuple[NDArray[Any], dict[str, Any]]:
        """Pixels and Exif: asking for either decodes the whole file."""
        with Image.open(path, formats=["PNG"]) as picture:
            return _values(path.name, picture), tags_of(picture.getexif())


def _values(name: str, picture: Image.Image) -> NDArray[Any]:
    if picture.mode.startswith("I"):
        return np.asarray(picture).astype(np.uint16)
    return to_stored(name, np.asarray(picture.convert("L")))
