"""Temperatures of pixels, the mean of a region with its doubt and interval, and the difference of two regions."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.model.band import BandTable
from groundglow.model.doubt import Doubt, combined, difference, interval
from groundglow.model.reading import TemperatureReading, reading_with_interval
from groundglow.steps.measure.asking.knowns import Made
from groundglow.steps.measure.asking.scene import Scene, situation
from groundglow.steps.measure.asking.sensor import Received, Sensor, calibration_errors, errors_of, noise_of

__all__ = ["Value", "as_delivered", "each_pixel", "minus", "one_reading", "region_value"]

Array = NDArray[np.float64]


#: Source of which surface a region shows: its own alone.
OWN_EMISSIVITY = "emissivity: "


@dataclass(frozen=True)
class Value:
    """One temperature or rise, K: doubt in parts, 95 % interval, whether the interval is of first order.

    Where first order does not hold the interval comes from trials and is not symmetric; its ends may be infinite.
    """

    kelvin: float
    doubt: Doubt
    low: float
    high: float
    first_order: bool = True

    @property
    def standard_uncertainty(self) -> float:
        """Of first order, K."""
        return float(combined(self.doubt))

    @property
    def half_width(self) -> float:
        """Half of the interval's width, K."""
        return 0.5 * (self.high - self.low)


def of_first_order(kelvin: float, doubt: Doubt) -> Value:
    """A value with the interval that its doubt gives."""
    low, high = interval(kelvin, doubt)
    return Value(kelvin, doubt, float(low), float(high))


def one_reading(scene: Scene, received: Received, sensor: Sensor, *, independent: float, optics: float = 0.0) -> Value:
    """One reading of the model, with the sources of doubt under their own names.

    Parameters
    ----------
    scene : Scene
    received : Received
        Of one pixel.
    sensor : Sensor
    independent : float
        What belongs to this reading alone, as an error of the apparent temperature, K.
    optics : float
        Signed error of the apparent temperature for one standard uncertainty of the lens's blur, K.
    """
    table = scene.table
    camera = errors_of(table, received, sensor, independent=np.array([independent]), more=optics)
    kelvin = table.temperature(received.radiance)
    found = reading_with_interval(table.band, kelvin, situation(scene), camera)
    errors = calibration_errors(table, received)
    if optics:
        errors["lens blur"] = np.array([optics])
    return _value(found, errors, scene)


def _value(found: TemperatureReading, errors: dict[str, Array], scene: Scene) -> Value:
    """Calibration split into its sources, emissivity named by its surface, distance shared by the frame only."""
    flight = {name: np.asarray(v).reshape(-1)[0] for name, v in found.doubt.flight.items()}
    frame = {name: np.asarray(v).reshape(-1)[0] for name, v in found.doubt.frame.items()}
    whole = float(flight.pop("calibration"))
    total = float(np.sqrt(sum(float(e[0]) ** 2 for e in errors.values())))
    flight |= {name: np.asarray(whole * float(e[0]) / total) for name, e in errors.items() if total > 0}
    flight |= _by_material(scene.made, float(flight.pop("emissivity")))
    flight[f"spectrum: {scene.made.name}"] = flight.pop("spectra")
    frame["distance"] = flight.pop("distance")
    own = float(flight.pop(OWN_EMISSIVITY, np.asarray(0.0)))
    independent = np.hypot(np.asarray(found.doubt.independent).reshape(-1)[0], own)
    doubt = Doubt(np.asarray(independent), frame, flight)
    kelvin, low, high = (float(np.ravel(v)[0]) for v in (found.temperature, found.low, found.high))
    return Value(kelvin, doubt, low, high, bool(np.ravel(found.first_order)[0]))


def _by_material(made: Made, whole: float) -> dict[str, Array]:
    """The emissivity's contribution, K, split by what shares it."""
    total = float(np.sqrt(sum(e * e for e in made.shared.values())))
    return {f"emissivity: {name}": np.asarray(whole * error / total) for name, error in made.shared.items() if total}


def region_value(scene: Scene, received: Received, kelvin: Array, sensor: Sensor) -> Value:
    """Mean surface temperature of pixels whose temperatures are known, with the doubt of one reading at their mean.

    Noise shrinks with their number. The fixed pattern is neither independent from pixel to pixel nor shared by the
    frame: it is added whole, so that it neither shrinks in a mean nor cancels in a rise.
    """
    middle = received.mean()
    noise = float(noise_of(scene.table, scene.table.temperature(middle.radiance), sensor)[0])
    independent = float(np.hypot(noise / np.sqrt(len(kelvin)), sensor.pattern.standard_uncertainty))
    found = one_reading(scene, middle, sensor, independent=independent)
    shift = float(kelvin.mean()) - found.kelvin
    return replace(found, kelvin=found.kelvin + shift, low=found.low + shift, high=found.high + shift)


def each_pixel(scene: Scene, received: Received, sensor: Sensor) -> tuple[Array, Array]:
    """Ends of the 95 % interval of each pixel by itself, K."""
    kelvin = scene.table.temperature(received.radiance)
    independent = np.hypot(noise_of(scene.table, kelvin, sensor), sensor.pattern.standard_uncertainty)
    camera = errors_of(scene.table, received, sensor, independent=independent)
    found = reading_with_interval(scene.table.band, kelvin, situation(scene), camera)
    return np.asarray(found.low), np.asarray(found.high)


def as_delivered(table: BandTable, received: Received, sensor: Sensor) -> tuple[Array, Value]:
    """Temperatures that somebody corrected already, in a way that is lost: pixels, and their mean with its doubt."""
    kelvin = np.asarray(table.temperature(received.radiance))
    errors = {name: np.asarray(e.mean()) for name, e in calibration_errors(table, received).items()}
    noise = sensor.noise.standard_uncertainty / np.sqrt(len(kelvin))
    independent = np.asarray(np.hypot(noise, sensor.pattern.standard_uncertainty))
    doubt = Doubt(independent, {"drift": np.asarray(sensor.drift.standard_uncertainty)}, errors)
    return kelvin, of_first_order(float(kelvin.mean()), doubt)


def minus(a: Value, b: Value) -> Value:
    """The rise of one reading over another of the same frame: what both share cancels as far as both feel it."""
    found = of_first_order(a.kelvin - b.kelvin, difference(a.doubt, b.doubt))
    return replace(found, first_order=a.first_order and b.first_order)
