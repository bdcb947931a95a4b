"""The base of all frame readers: one small class a format, the same guard around each of them."""

from __future__ import annotations

import warnings
from abc import ABC, abstractmethod
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray
from PIL import Image, UnidentifiedImageError

from groundglow.errors import FrameError
from groundglow.frames.exif import read_tags, stamp_from_tags
from groundglow.records.flight import PosesSpec
from groundglow.records.frame import Frame, ValueKind

__all__ = ["MAX_PIXELS", "Reader", "to_grey", "to_stored"]

#: Frames of more pixels are refused before they are decoded: a header can claim any size.
MAX_PIXELS = 64_000_000
#: Whole numbers above this are not exact in float32.
EXACT_FLOAT32 = 2**24


class Reader(ABC):
    """Reads one file format: values untouched, with the tags and the stamp that the file carries.

    A further format is a class like this one, named under the entry point group ``groundglow.readers``.

    Attributes
    ----------
    suffixes : tuple of str
        Lower-case file suffixes, with the dot.
    rank : int
        Of two files with one stem, the one with the lower rank is the frame, the other its companion.
    """

    suffixes: ClassVar[tuple[str, ...]] = ()
    rank: ClassVar[int] = 0

    @abstractmethod
    def shape(self, path: Path) -> tuple[int, ...]:
        """Shape of the pixels as the header claims it, without decoding them."""

    @abstractmethod
    def pixels(self, path: Path) -> NDArray[Any]:
        """The pixels, shape (rows, columns)."""

    def tags(self, path: Path) -> dict[str, Any]:
        """Metadata by its standard name; empty when there is none."""
        return read_tags(path)

    def content(self, path: Path) -> tuple[NDArray[Any], dict[str, Any]]:
        """Pixels and tags; a format that gets both from one decoding overrides this."""
        return self.pixels(path), self.tags(path)

    def read(self, path: Path) -> Frame:
        """The frame in one file.

        Raises
        ------
        FrameError
            When the file is empty, not what its suffix says, cut short, or claims an absurd size.
        """
        _check_file(path)
        try:
            with _quiet():
                _check_shape(path.name, self.shape(path))
                values, tags = self.content(path)
        except FrameError:
            raise
        except Exception as error:
            raise FrameError(f"{path.name}: cannot be read ({_short(error)}). Copy it again.") from error
        kind = ValueKind.PICTURE if values.dtype == np.uint8 else ValueKind.COUNTS
        return Frame(path.name, values, kind, stamp_from_tags(tags, PosesSpec()), tags)


def _check_file(path: Path) -> None:
    if not path.is_file():
        raise FrameError(f"{path.name}: there is no such file")
    if path.stat().st_size == 0:
        raise FrameError(f"{path.name}: the file is empty. Copy it again.")


def _check_shape(name: str, shape: tuple[int, ...]) -> None:
    size = np.prod(np.asarray(shape, dtype=np.float64))
    if size > MAX_PIXELS:
        found = " x ".join(str(n) for n in shape)
        raise FrameError(f"{name}: its header claims {found} values; allowed {MAX_PIXELS}. Not decoded.")
    if size <= 0:
        raise FrameError(f"{name}: holds no pixels")


def _short(error: BaseException) -> str:
    if isinstance(error, UnidentifiedImageError):
        return "it is not what its suffix says"
    text = str(error).strip().splitlines()
    return text[0][:160] if text else type(error).__name__


@contextmanager
def _quiet() -> Iterator[None]:
    """Decoders' warnings are no news to the user, but an oversized picture is an error."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        yield


def to_stored(name: str, values: NDArray[Any]) -> NDArray[Any]:
    """Pixels as uint8, uint16 or float32 without losing a stored number.

    Raises
    ------
    FrameError
        For types that hold no thermal values, or whole numbers too large to be kept exactly.

    Examples
    --------
    >>> to_stored("a.tif", np.array([[1, 2]], dtype=np.int32)).dtype
    dtype('float32')
    """
    if values.ndim != 2:
        raise FrameError(f"{name}: has the shape {values.shape}; expected rows x columns, one band")
    if values.dtype == bool:
        return values.astype(np.uint8)
    if values.dtype.kind not in "uif":
        raise FrameError(f"{name}: pixels are {values.dtype}; expected 16-bit counts or 32-bit floats")
    native = values.astype(values.dtype.newbyteorder("="), copy=False)
    if native.dtype in (np.uint8, np.uint16, np.float32):
        return native
    if native.dtype.kind in "ui" and max(int(native.max()), -int(native.min())) > EXACT_FLOAT32:
        raise FrameError(f"{name}: holds numbers above {EXACT_FLOAT32}, too large to be counts")
    return native.astype(np.float32)


def to_grey(name: str, values: NDArray[Any]) -> NDArray[Any]:
    """A colour picture as one band of grey (ITU-R BT.601 luma); one band is passed through.

    Raises
    ------
    FrameError
        For several bands of more than 8 bits: a thermal frame has one.
    """
    if values.ndim == 2:
        return values
    if values.ndim == 3 and values.shape[2] == 1:
        return values[:, :, 0]
    if values.dtype != np.uint8 or values.ndim != 3 or values.shape[2] not in (3, 4):
        raise FrameError(f"{name}: has the shape {values.shape}; expected rows x columns, one band")
    return np.asarray(Image.fromarray(values[:, :, :3]).convert("L"))
