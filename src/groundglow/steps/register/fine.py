"""Fine part of a flight's fixed pattern: what stays at a pixel while the scene moves under it.

Each frame less its own blur holds fine pattern, noise and scene detail. The mean over frames, weighted
against detail, leaves the pattern: a calm stretch of ground tells much, a treetop tells nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.steps.register.halves import Halves
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["Load", "estimate_fine_pattern", "filled", "spread_evenly"]

#: Mean square detail below which a frame counts as perfectly smooth.
LEAST_ACTIVITY = 1e-12
#: Reads a frame by name: values (rows, columns) float32, mask uint8 of the same shape with 0 where good.
Load = Callable[[str], tuple[NDArray[np.float32], NDArray[np.uint8]]]


def estimate_fine_pattern(
    names: Sequence[str], load: Load, settings: RegisterSettings | None = None
) -> tuple[NDArray[np.float32], float]:
    """Fine fixed pattern of a flight, and the standard deviation of its error; unit of the values.

    Parameters
    ----------
    names : sequence of str
        Frames in use, in order of time.
    load : callable
        ``load(name)`` gives the frame's values (rows, columns) float32 and its mask, 0 where good.
    settings : RegisterSettings, optional

    Returns
    -------
    pattern : ndarray float32, shape (rows, columns)
        Holds no detail coarser than ``settings.pattern_sigma_px``; its mean is about zero.
    standard_deviation : float
        From the difference of two estimates on alternate quarters of the flight; 0 for fewer than four frames,
        whose pattern is not estimated at all.

    Raises
    ------
    InputError
        When there is no frame, or frames differ in shape.

    Notes
    -----
    Frames are read one by one: memory does not grow with their number. Weight of a pixel: 1 / (a + n)^2 with a
    the mean square detail around it and n that of the calmest tenth of the frame.
    """
    settings = settings or RegisterSettings()
    chosen = spread_evenly(names, settings.pattern_frames)
    if not chosen:
        raise InputError("No frame to take a pattern from: the flight has 0 frames in use. Check the log.")
    values, mask = load(chosen[0])
    halves = Halves(values.shape, len(chosen))
    for number, name in enumerate(chosen):
        values, mask = load(name) if number else (values, mask)
        if values.shape != halves.shape:
            raise InputError(
                f"{name}: frames of one flight differ in shape: found {values.shape}, before {halves.shape}. "
                "Set the odd frames aside."
            )
        halves.add(number, *_detail(values, mask, settings.pattern_sigma_px))
    return halves.agreed()


def spread_evenly(items: Sequence[str], most: int) -> list[str]:
    """At most ``most`` of the items, evenly spread, in order.

    Examples
    --------
    >>> spread_evenly("abcdefg", 3)
    ['a', 'd', 'g']
    """
    if len(items) <= most:
        return list(items)
    return [items[i] for i in np.linspace(0, len(items) - 1, most).round().astype(int)]


def filled(values: NDArray[np.float32], usable: NDArray[np.bool_]) -> NDArray[np.float32]:
    """Values with unusable pixels replaced by the mean of usable ones around, or of the frame."""
    if usable.all():
        return values
    known = np.where(usable, values, np.float32(0.0))
    weight = cv2.blur(usable.astype(np.float32), (15, 15))
    middle = np.float32(known.sum(dtype=np.float64) / max(int(usable.sum()), 1))
    around = np.where(weight > 1e-3, cv2.blur(known, (15, 15)) / np.maximum(weight, 1e-3), middle)
    return np.where(usable, values, around).astype(np.float32)


def _detail(
    values: NDArray[np.float32], mask: NDArray[np.uint8], sigma: float
) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """A frame less its own blur, outliers clipped, and the weight of each pixel."""
    usable = (mask == 0) & np.isfinite(values)
    known = filled(values - np.float32(np.median(values[usable]) if usable.any() else 0), usable)
    detail = known - cv2.GaussianBlur(known, (0, 0), sigma)
    activity = cv2.GaussianBlur(detail * detail, (0, 0), sigma).astype(np.float64)
    calm = max(float(np.percentile(activity, 10)), LEAST_ACTIVITY)
    limit = 4.0 * np.sqrt(activity)
    weight = np.where(usable, 1.0 / (activity + calm) ** 2, 0.0)
    return np.clip(detail, -limit, limit).astype(np.float32), weight
