"""A picture without holes to search in: pixels without a value get one that neither hides nor makes a find."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.records.field import Field, Reason

__all__ = ["filled"]

#: Pixels that lost their value because it was extreme: the departure is real, its size is not known.
EXTREME = (Reason.SATURATED, Reason.OUT_OF_RANGE)


def filled(field: Field) -> NDArray[np.float32]:
    """Values of a field with its holes closed, same unit.

    A hole that saturation or the calibrated range made takes the extreme of its border: the warmest where
    its border is warmer than what lies further out, else the coldest. Any other hole takes the mean of
    what lies around it. A field without any value comes back as zeros.
    """
    values = np.array(field.value, dtype=np.float32)
    known = np.isfinite(values)
    if known.all():
        return values
    if not known.any():
        return np.zeros_like(values)
    smooth = _spread(values, known)
    extreme = ~known & np.isin(field.mask, EXTREME)
    values[~known] = smooth[~known]
    return _raised(values, extreme, known) if extreme.any() else values


def _spread(values: NDArray[np.float32], known: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Means of known neighbours, from windows that widen until each pixel has one."""
    out = np.where(known, values, np.float32(0)).astype(np.float32)
    todo = ~known
    total, weight = out.copy(), known.astype(np.float32)
    size = 5
    while todo.any():
        count = cv2.blur(weight, (size, size), borderType=cv2.BORDER_REPLICATE)
        near = cv2.blur(total, (size, size), borderType=cv2.BORDER_REPLICATE)
        fresh = todo & (count > 1e-6)
        out[fresh] = near[fresh] / count[fresh]
        todo &= ~fresh
        size = 2 * size + 1
    return out


def _raised(values: NDArray[np.float32], extreme: NDArray[np.bool_], known: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Each extreme hole at the extreme of its border."""
    count, labels, boxes, _ = cv2.connectedComponentsWithStats(extreme.astype(np.uint8), connectivity=8)
    for k in range(1, count):
        left, top, width, height = (int(n) for n in boxes[k, :4])
        near = np.s_[max(top - 6, 0) : top + height + 6, max(left - 6, 0) : left + width + 6]
        hole = labels[near] == k
        values[near][hole] = _border_extreme(values[near], hole, known[near])
    return values


def _border_extreme(values: NDArray[np.float32], hole: NDArray[np.bool_], known: NDArray[np.bool_]) -> np.float32:
    close = cv2.dilate(hole.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool) & known
    far = known & ~close
    if not close.any() or not far.any():
        return np.float32(values[hole].mean())
    warm = np.median(values[close]) >= np.median(values[far])
    return np.float32(values[close].max() if warm else values[close].min())
