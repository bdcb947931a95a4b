"""TIFF and GeoTIFF frames: 16-bit counts or 32-bit floats; 8-bit ones are pictures."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from groundglow.errors import FrameError
from groundglow.frames.base import Reader, to_grey, to_stored

__all__ = ["TiffReader"]

GDAL_NODATA = 42113

# The library reports a broken file both by an error, which we turn into a reason, and on its logger.
logging.getLogger("tifffile").addHandler(logging.NullHandler())


class TiffReader(Reader):
    """Reads the first page of a TIFF: strips or tiles, one band."""

    suffixes: ClassVar[tuple[str, ...]] = (".tif", ".tiff")
    rank: ClassVar[int] = 0

    def shape(self, path: Path) -> tuple[int, ...]:
        """Rows, columns and bands of the first page."""
        with tifffile.TiffFile(path) as file:
            if not len(file.pages):
                raise FrameError(f"{path.name}: holds no picture: cut short or broken. Copy it again.")
            page = file.pages[0]
            _check_alone(path.name, file)
            _check_length(path, page)
            return tuple(page.shape)

    def pixels(self, path: Path) -> NDArray[Any]:
        """The first page's pixels."""
        try:
            values = tifffile.imread(path, key=0)
        except (ValueError, ImportError, NotImplementedError) as error:
            if isinstance(error, ValueError) and "imagecodecs" not in str(error):
                raise
            values = _by_pillow(path)
        return to_stored(path.name, to_grey(path.name, np.asarray(values)))

    def tags(self, path: Path) -> dict[str, Any]:
        """Exif, and the value that stands for "no data" in a GeoTIFF."""
        with tifffile.TiffFile(path) as file:
            nodata = file.pages[0].tags.get(GDAL_NODATA)
        extra = {} if nodata is None else {"nodata": float(str(nodata.value).strip("\x00 "))}
        return super().tags(path) | extra


def _check_alone(name: str, file: Any) -> None:
    first = file.pages[0]
    alike = sum(1 for page in file.pages[1:] if page.shape == first.shape)
    if alike:
        raise FrameError(f"{name}: holds {alike + 1} frames; give one file a frame")


def _check_length(path: Path, page: Any) -> None:
    ends = [start + count for start, count in zip(page.dataoffsets, page.databytecounts, strict=False)]
    size = path.stat().st_size
    if not ends or max(ends) > size:
        raise FrameError(f"{path.name}: cut short: {size} bytes of {max(ends, default=0)}. Copy it again.")


def _by_pillow(path: Path) -> NDArray[Any]:
    """For compressions that need a codec library beside tifffile."""
    try:
        with Image.open(path) as picture:
            return np.asarray(picture)
    except UnidentifiedImageError as error:
        raise FrameError(
            f"{path.name}: its compression cannot be read; save it uncompressed or with deflate"
        ) from error
