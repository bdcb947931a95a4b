"""A frame in small, for a contact sheet."""

from __future__ import annotations

import io

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from groundglow.errors import FrameError

__all__ = ["thumbnail"]

#: Percentiles between which grey runs from dark to light.
ENDS = (1.0, 99.0)


def thumbnail(values: NDArray[np.generic], side: int) -> bytes:
    """A grey PNG whose longer side has ``side`` pixels: light is more signal.

    Raises
    ------
    FrameError
        When no value is a number.

    Examples
    --------
    >>> thumbnail(np.arange(64.0).reshape(8, 8), 4)[:4]
    b'\\x89PNG'
    """
    whole = np.asarray(values, dtype=np.float32)
    known = whole[np.isfinite(whole)]
    if not known.size:
        raise FrameError("no value is a number: nothing to show")
    low, high = np.percentile(known, ENDS)
    grey = np.clip((np.nan_to_num(whole, nan=low) - low) / max(high - low, 1e-6), 0.0, 1.0)
    scale = side / max(whole.shape)
    size = tuple(max(1, round(n * scale)) for n in whole.shape[::-1])
    small = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    stream = io.BytesIO()
    Image.fromarray((small * 255).astype(np.uint8)).save(stream, "PNG")
    return stream.getvalue()
