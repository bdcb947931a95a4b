"""Departure of every pixel from its local background: how the eye finds what the step finds."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.steps.find.kernels import MAD

__all__ = ["SHARE", "local_departure"]

Picture = NDArray[np.float32]

#: Standard deviation of the window of the background, as a share of the frame's shorter side.
SHARE = 0.06
#: Values farther than this many spreads from a first background do not pull the second one.
CLIPPED = 2.0


def local_departure(value: Picture) -> Picture:
    """Value minus its local background, NaN where there is no value.

    Parameters
    ----------
    value : ndarray float32, shape (rows, columns)

    Returns
    -------
    ndarray float32, shape (rows, columns)

    Notes
    -----
    The background is a Gaussian mean, taken twice: the second time what stands out from the first is cut back to two
    robust spreads, so that a hot spot does not warm its own background.

    Examples
    --------
    >>> ground = np.random.default_rng(1).normal(290.0, 0.05, (256, 256)).astype(np.float32)
    >>> ground[30:33, 30:33] += 5.0
    >>> bool(abs(local_departure(ground)[31, 31] - 5.0) < 0.2), bool(abs(local_departure(ground)[5, 5]) < 0.2)
    (True, True)
    """
    known = np.isfinite(value)
    filled = np.where(known, value, np.float32(0.0)).astype(np.float32)
    weight = known.astype(np.float32)
    window = max(SHARE * min(value.shape), 2.0)
    first = _mean(filled, weight, window)
    apart = filled - first
    spread = MAD * float(np.median(np.abs(apart[known]))) if known.any() else 0.0
    kept = np.clip(apart, -CLIPPED * spread, CLIPPED * spread) * weight
    background = first + _mean(kept, weight, window)
    return np.where(known, filled - background, np.float32(np.nan)).astype(np.float32)


def _mean(value: Picture, weight: Picture, window: float) -> Picture:
    """Mean over a Gaussian window of the pixels that have a value."""
    both = [cv2.GaussianBlur(a, (0, 0), window, borderType=cv2.BORDER_REFLECT) for a in (value * weight, weight)]
    return np.asarray(both[0] / np.maximum(both[1], np.float32(1e-6)), dtype=np.float32)
