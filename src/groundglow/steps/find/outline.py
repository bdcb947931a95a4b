"""From a mask of pixels to a polygon of its border with few corners."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["MOST_CORNERS", "outline"]

MOST_CORNERS = 40

Polygon = tuple[tuple[float, float], ...]


def outline(mask: NDArray[np.bool_], left: int = 0, top: int = 0, scale: float = 1.0) -> Polygon:
    """Border of the largest part of a mask as (column, row) corners, at most 40.

    The polygon runs along the outer edges of the pixels, so that one pixel has an area of one. A mask of
    a reduced picture is brought back by ``scale`` (full pixels a reduced pixel) and the full-resolution
    place of its first pixel.

    Examples
    --------
    >>> outline(np.ones((2, 3), dtype=bool), left=10, top=20)
    ((9.5, 19.5), (9.5, 21.5), (12.5, 21.5), (12.5, 19.5))
    """
    doubled = np.pad(mask, 1).astype(np.uint8).repeat(2, axis=0).repeat(2, axis=1)
    lines, _ = cv2.findContours(doubled, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    corner = _few(max(lines, key=cv2.contourArea)).reshape(-1, 2)
    pixel, half = np.divmod(corner, 2)  # each pixel is two by two: its halves give its two edges
    at = (pixel - 1 + half) * scale - 0.5 + (left, top)
    return tuple((float(c), float(r)) for c, r in np.round(at, 2))


def _few(line: NDArray[np.int32]) -> NDArray[np.int32]:
    """The fewest corners that stay within the least distance that leaves no more than 40."""
    distance = 0.5
    while True:
        corners = cv2.approxPolyDP(line, distance, True)
        if len(corners) <= MOST_CORNERS:
            return np.asarray(corners, dtype=np.int32)
        distance *= 1.25
