"""What the camera itself adds to the doubt of a reading: calibration, drift, fixed pattern, noise, response."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.frames.radiometry.calibration import DEFAULT_CALIBRATION_SD_K
from groundglow.model.band import BandTable
from groundglow.model.reading import CameraDoubt, Stated, camera_doubt
from groundglow.model.table import TABLE_RANGE
from groundglow.records.flight import CameraSpec
from groundglow.steps.measure.asking.knowns import Known
from groundglow.steps.measure.frame import DEFAULT_DRIFT, DEFAULT_NOISE, NOISE_TEMPERATURE

__all__ = [
    "DEFAULT_PATTERN",
    "Received",
    "Sensor",
    "calibration_errors",
    "errors_of",
    "noise_of",
    "received_of_black_body",
    "sensor_of",
]

Array = NDArray[np.float64]

#: What is left of a camera's fixed pattern when nobody said and it was not removed, K (common practice, no source).
DEFAULT_PATTERN = 0.3


@dataclass(frozen=True)
class Sensor:
    """Standard uncertainties of the camera, K of a black body: of one pixel's noise at 300 K, of one frame's level,
    of the pattern that is not removed. ``calibration`` is for readings typed in; a frame brings its own.
    """

    noise: Known
    drift: Known
    pattern: Known
    calibration: Known

    @property
    def knowns(self) -> tuple[Known, ...]:
        """All of them."""
        return self.calibration, self.drift, self.pattern, self.noise


def sensor_of(camera: CameraSpec, calibration_sd_k: float | None = None) -> Sensor:
    """The camera's figures, with wide defaults where it does not say.

    Examples
    --------
    >>> sensor = sensor_of(CameraSpec(netd_mk=50.0))
    >>> sensor.noise.standard_uncertainty, sensor.drift.origin
    (0.05, 'assumed')
    """
    noise = None if camera.netd_mk is None else camera.netd_mk / 1000.0
    return Sensor(
        _error("noise", noise, DEFAULT_NOISE),
        _error("drift", camera.drift_k, DEFAULT_DRIFT),
        _error("pattern", camera.pattern_k, DEFAULT_PATTERN),
        _error("calibration", calibration_sd_k, DEFAULT_CALIBRATION_SD_K),
    )


def _error(name: str, stated: float | None, default: float) -> Known:
    origin = "assumed" if stated is None else "camera"
    return Known(name, 0.0, default if stated is None else stated, "K", origin, origin)


@dataclass(frozen=True)
class Received:
    """What pixels received: band radiance, W m-2 sr-1, from which distance, m; shape (n,) each.

    ``errors`` maps names of the calibration's errors to the change of radiance for one standard uncertainty.
    """

    radiance: Array
    distance: Array
    errors: Mapping[str, Array]

    def only(self, where: NDArray[np.bool_]) -> Received:
        """Some of the pixels."""
        errors = {name: change[where] for name, change in self.errors.items()}
        return Received(self.radiance[where], self.distance[where], errors)

    def mean(self) -> Received:
        """One pixel with the mean of all."""
        errors = {name: np.atleast_1d(change.mean()) for name, change in self.errors.items()}
        return Received(np.atleast_1d(self.radiance.mean()), np.atleast_1d(self.distance.mean()), errors)


def received_of_black_body(table: BandTable, kelvin: float, distance: float, sensor: Sensor) -> Received:
    """What a camera received that showed this apparent temperature, K.

    Raises
    ------
    InputError
        When no table holds that temperature.
    """
    low, high = TABLE_RANGE
    if not low <= kelvin <= high:
        raise InputError(
            f"The camera cannot have shown {kelvin - 273.15:.0f} C: the model holds from {low - 273.15:.0f} to "
            f"{high - 273.15:.0f} C. Check the unit."
        )
    errors = {"calibration": np.array([float(table.slope(kelvin)) * sensor.calibration.standard_uncertainty])}
    return Received(np.array([float(table.radiance(kelvin))]), np.array([distance]), errors)


def calibration_errors(table: BandTable, received: Received) -> dict[str, Array]:
    """Signed error of the apparent temperature for one standard uncertainty of each source of the calibration, K."""
    slope = table.slope(table.temperature(received.radiance))
    return {name: np.asarray(change / slope) for name, change in received.errors.items()}


def errors_of(
    table: BandTable, received: Received, sensor: Sensor, *, independent: Array, more: float = 0.0
) -> CameraDoubt:
    """The camera's errors at what pixels received, for the model's readings.

    Parameters
    ----------
    table : BandTable
    received : Received
    sensor : Sensor
    independent : ndarray
        Standard uncertainty that each reading has for itself, K.
    more : float
        Further standard uncertainty to add to the calibration's, K.
    """
    squares = np.full(received.radiance.shape, more**2)
    for error in calibration_errors(table, received).values():
        squares = squares + np.square(error)
    return camera_doubt(
        table.band,
        noise=Stated(0.0, independent),
        calibration=Stated(0.0, np.sqrt(squares)),
        drift=Stated(0.0, sensor.drift.standard_uncertainty),
    )


def noise_of(table: BandTable, kelvin: Array, sensor: Sensor) -> Array:
    """Noise of one pixel at an apparent temperature, K: an uncooled detector's is the same radiance at all levels."""
    at_rating = float(table.slope(NOISE_TEMPERATURE)) * sensor.noise.standard_uncertainty
    return np.asarray(at_rating / table.slope(kelvin))
