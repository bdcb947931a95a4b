"""Readings with honest intervals: from apparent temperature to surface temperature, doubt and 95 % interval.

`reading_with_interval` is the one function that takes all inputs with their standard uncertainties.
"""

from groundglow.model.reading.read import (
    TemperatureReading,
    apparent_temperature,
    reading_budget,
    reading_with_interval,
    sky_factor,
)
from groundglow.model.reading.response import moved_band
from groundglow.model.reading.situation import (
    NOMINAL_EDGE_SD,
    NOMINAL_TILT_SD,
    CameraDoubt,
    Situation,
    camera_doubt,
)
from groundglow.model.reading.stated import Limits, Stated, quantile

__all__ = [
    "NOMINAL_EDGE_SD",
    "NOMINAL_TILT_SD",
    "CameraDoubt",
    "Limits",
    "Situation",
    "Stated",
    "TemperatureReading",
    "apparent_temperature",
    "camera_doubt",
    "moved_band",
    "quantile",
    "reading_budget",
    "reading_with_interval",
    "sky_factor",
]
