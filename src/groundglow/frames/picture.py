"""8-bit pictures (JPEG, BMP, WebP): places, times and tracks, never a temperature."""

from __future__ import annotations

from pathlib import Path
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from groundglow.frames.base import Reader

__all__ = ["PictureReader"]


class PictureReader(Reader):
    """Reads any 8-bit picture as grey."""

    suffixes: ClassVar[tuple[str, ...]] = (".jpg", ".jpeg", ".bmp", ".webp")
    rank: ClassVar[int] = 3

    def shape(self, path: Path) -> tuple[int, ...]:
        """Rows and columns."""
        with Image.open(path) as picture:
            return picture.height, picture.width

    def pixels(self, path: Path) -> NDArray[Any]:
        """Grey levels, uint8 (ITU-R BT.601 luma of a colour picture)."""
        with Image.open(path) as picture:
            return np.asarray(picture.convert("L"))
