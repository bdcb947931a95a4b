"""One frame looked at: its range, saturation, sharpness, and whether it can be used at all."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FrameError
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Frame, Stamp

__all__ = ["Look", "look"]

#: A frame with a larger share of unusable values is set aside (common practice, no source).
MOST_UNUSABLE = 0.25


@dataclass(frozen=True)
class Look:
    """What was seen of one frame; ``reason`` is empty unless it has to be set aside."""

    name: str
    shape: tuple[int, int]
    stamp: Stamp
    stats: dict[str, float]
    reason: str


def look(frame: Frame, spec: FlightSpec) -> Look:
    """Statistics of one frame in the unit it was recorded in.

    Parameters
    ----------
    frame : Frame
        As read; values of shape (rows, columns).
    spec : FlightSpec
        The camera's saturation counts are used when given.

    Returns
    -------
    Look
        ``stats`` holds least, greatest, median, spread (1st to 99th percentile), saturated_share,
        unusable_share and sharpness.

    Raises
    ------
    FrameError
        When more than a quarter of the values are unusable, or all are alike.
    """
    values = np.asarray(frame.values, dtype=np.float32)
    usable = np.isfinite(values)
    if usable.mean() < 1 - MOST_UNUSABLE:
        raise FrameError(f"{100 * (1 - usable.mean()):.0f} % of the values are not numbers")
    least, low, median, high, greatest = np.percentile(values[usable], [0, 1, 50, 99, 100])
    if least == greatest:
        raise FrameError(f"all values are {least:g}: the shutter was closed or the file is empty")
    stats = {
        "least": float(least),
        "greatest": float(greatest),
        "median": float(median),
        "spread": float(high - low),
        "unusable_share": float(1 - usable.mean()),
        "saturated_share": _saturated_share(values, spec),
        "sharpness": _sharpness(np.where(usable, values, median)),
    }
    return Look(frame.name, (values.shape[0], values.shape[1]), frame.stamp, stats, "")


def _saturated_share(values: NDArray[np.float32], spec: FlightSpec) -> float:
    if spec.camera.saturation_counts is None:
        return 0.0
    low, high = spec.camera.saturation_counts
    return float(np.mean((values <= low) | (values >= high)))


def _sharpness(values: NDArray[np.float32]) -> float:
    """Ratio of fine to coarse detail, without a unit: falls when a frame is blurred."""
    soft = cv2.GaussianBlur(values, (0, 0), 1.5)
    fine, coarse = values - soft, soft - cv2.GaussianBlur(values, (0, 0), 6.0)
    return float(np.std(fine) / max(float(np.std(coarse)), 1e-9))
