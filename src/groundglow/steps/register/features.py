"""Features of one frame: places that can be found again in another, by their surroundings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.steps.register.fine import filled

__all__ = ["Features", "describe", "local_contrast"]

#: Half width of the window of local mean and spread, px.
WINDOW = 24
#: Grey levels that one local standard deviation takes up.
CONTRAST = 40.0
#: Frames at least this large are searched at half size: detail finer than 2 px is mostly noise.
LARGE_PX = 400
#: Least contrast of a feature in the detector's own unit; far below the usual, thermal scenes are smooth.
DETECTOR_CONTRAST = 0.02


@dataclass(frozen=True)
class Features:
    """Places (n, 2) column and row, px float32, and their descriptors (n, 128) float16 of unit length."""

    places: NDArray[np.float32]
    descriptors: NDArray[np.float16]


def local_contrast(values: NDArray[np.float32], noise: float) -> NDArray[np.uint8]:
    """Departure of each pixel from the mean around it, over the spread around it, as grey levels.

    Parameters
    ----------
    values : ndarray float32, shape (rows, columns)
        Without gaps.
    noise : float
        Standard deviation of the pixel noise, same unit; where the scene is calmer than twice this the
        contrast stays low, so that noise yields no features.

    Returns
    -------
    ndarray uint8, shape (rows, columns)
        128 is the local mean.

    Examples
    --------
    >>> local_contrast(np.full((60, 60), 7.0, dtype=np.float32), 0.1).max()
    np.uint8(128)
    """
    size = (2 * WINDOW + 1, 2 * WINDOW + 1)
    departure = values - cv2.blur(values, size)
    variance = cv2.blur(departure * departure, size) + np.float32((2.0 * noise) ** 2 + 1e-30)
    return np.asarray(np.clip(departure / np.sqrt(variance) * CONTRAST + 128.0, 0, 255), dtype=np.uint8)


def describe(values: NDArray[np.float32], usable: NDArray[np.bool_], most: int) -> Features:
    """The strongest features of a frame whose fixed pattern has been removed.

    Parameters
    ----------
    values : ndarray float32, shape (rows, columns)
    usable : ndarray of bool, same shape
    most : int
        Features to keep.

    Returns
    -------
    Features
        None at all for a frame without detail.

    Notes
    -----
    Scale-invariant features with the square root of their histograms as descriptors. The detector doubles the
    picture first; it must do so about pixel centres, or every place is off by half a pixel of the frame, which
    shows as soon as two passes are flown in opposite directions.

    References
    ----------
    Lowe, Distinctive image features from scale-invariant keypoints, IJCV 60 (2004); Arandjelovic and
    Zisserman, Three things everyone should know to improve object retrieval, CVPR 2012 (the square root).
    """
    known = filled(values - np.float32(np.median(values[usable]) if usable.any() else 0.0), usable)
    picture = local_contrast(known, pixel_noise(known))
    scale = 0.5 if min(values.shape) >= LARGE_PX else 1.0
    allowed = _allowed(usable)
    if scale != 1.0:
        picture = cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
        allowed = cv2.resize(allowed, picture.shape[::-1], interpolation=cv2.INTER_NEAREST)
    detector: Any = cv2.SIFT.create(nfeatures=most, contrastThreshold=DETECTOR_CONTRAST, enable_precise_upscale=True)
    keypoints, found = detector.detectAndCompute(picture, allowed)
    if not keypoints:
        return Features(np.zeros((0, 2), np.float32), np.zeros((0, 128), np.float16))
    places = (np.array([k.pt for k in keypoints], dtype=np.float32) + 0.5) / scale - 0.5
    return Features(places.astype(np.float32), _rooted(found))


def pixel_noise(values: NDArray[np.float32]) -> float:
    """Standard deviation of the noise, from the steps between neighbours in the calmer half of the frame."""
    steps = np.abs(np.diff(values, axis=1))
    return float(np.percentile(steps, 25) / (0.3186 * np.sqrt(2.0)))


def _allowed(usable: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """Where features may lie: off unusable pixels and what touches them."""
    return np.asarray(cv2.erode(usable.astype(np.uint8), np.ones((5, 5), np.uint8), borderValue=1) * 255)


def _rooted(histograms: NDArray[np.float32]) -> NDArray[np.float16]:
    total = np.maximum(histograms.sum(axis=1, keepdims=True), 1e-6)
    return np.asarray(np.sqrt(histograms / total), dtype=np.float16)
