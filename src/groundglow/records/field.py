"""A raster of values with its doubt and its mask: what a measuring step hands on."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.model.doubt import Doubt

__all__ = ["REASON_TEXT", "Field", "Reason"]


class Reason(IntEnum):
    """Why a pixel has no value, or one that is not supported. Zero is a good pixel."""

    GOOD = 0
    BAD_PIXEL = 1
    SATURATED = 2
    OUT_OF_RANGE = 3
    NO_SOLUTION = 4
    GRAZING = 5
    BLURRED = 6


REASON_TEXT = {
    Reason.GOOD: "good",
    Reason.BAD_PIXEL: "not a number, or a pixel known to be bad",
    Reason.SATURATED: "saturated: the camera's count range ends here",
    Reason.OUT_OF_RANGE: "outside the calibrated range",
    Reason.NO_SOLUTION: "less radiance than air and reflection alone give",
    Reason.GRAZING: "seen at a grazing angle",
    Reason.BLURRED: "blurred",
}


@dataclass(frozen=True)
class Field:
    """Values of one frame (or map) with three-part doubt and a mask, all of one shape.

    Parameters
    ----------
    value : ndarray float32, shape (rows, columns)
        In ``unit``; NaN where the mask says there is no value.
    doubt : Doubt
        Standard uncertainty and signed sensitivities, same unit, broadcastable to the same shape.
    mask : ndarray uint8, shape (rows, columns)
        A `Reason` per pixel; 0 is good.
    quantity : str
        CF standard name where there is one, such as ``surface_temperature``; ``levelled_counts`` when
        there is no calibration.
    unit : str
        ``K`` or ``counts``.
    """

    value: NDArray[np.float32]
    doubt: Doubt
    mask: NDArray[np.uint8]
    quantity: str
    unit: str

    def __post_init__(self) -> None:
        """Refuse parts of different shapes."""
        if not self.value.shape == self.mask.shape == np.shape(self.doubt.independent):
            raise InputError(
                f"Field parts differ in shape: value {self.value.shape}, mask {self.mask.shape}, "
                f"doubt {np.shape(self.doubt.independent)}. Give all three the shape of the frame."
            )

    @property
    def relative(self) -> bool:
        """True when the values are counts: no temperature can be stated."""
        return self.unit != "K"
