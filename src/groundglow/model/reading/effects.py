"""What one standard uncertainty of each source does to a reading: first order, source by source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.model.air import air_path
from groundglow.model.reading.response import moved_band
from groundglow.model.reading.sight import Sight, sight, spectrum
from groundglow.model.reading.situation import NOMINAL_EDGE_SD, NOMINAL_TILT_SD, POSSIBLE, CameraDoubt, Situation
from groundglow.model.reading.stated import deviation
from groundglow.model.response import Band
from groundglow.model.weather import LIMITS

__all__ = ["CAMERA_ERRORS", "Effects", "apparent", "effects"]

Floats = NDArray[np.float64]
#: Errors of the apparent temperature.
CAMERA_ERRORS = ("noise", "calibration", "drift")
#: Steps by which the response is moved to see what that does.
RESPONSE_STEPS = {"short_edge": NOMINAL_EDGE_SD, "long_edge": NOMINAL_EDGE_SD, "tilt": NOMINAL_TILT_SD}
#: Smallest steps of the air's inputs: K, share, share of the distance.
AIR_STEPS = {"air_temperature": 0.5, "relative_humidity": 0.02, "distance": 0.02}
#: Step of the numeric slope of the measurement equation, K.
SLOPE_STEP = 0.5


@dataclass(frozen=True, eq=False)
class Effects:
    """Readings at their stated values, and derivatives by all sources; arrays over readings.

    Attributes
    ----------
    apparent : ndarray
        Apparent temperature without known errors, K.
    temperature : ndarray
        Surface temperature, K; NaN where there is no solution.
    reference : ndarray
        The same, or the reflected temperature where there is none.
    air : Sight
        Of the assumed band at the stated air.
    transmittance : ndarray, shape (3, readings)
        For the surface, what it reflects, and the air itself.
    transmittance_sd : ndarray
        Standard uncertainty of the air model.
    by_air : mapping of str to ndarray, shape (2, 3, readings)
        Change of ln transmittance by the input: factors of its change and of the square of it, rows as above.
    by_response : mapping of str to ndarray, shape (2, readings)
        Change of apparent temperature, K, likewise.
    contributions : mapping of str to ndarray
        Signed change of the surface temperature for one standard uncertainty, K.
    """

    apparent: Floats
    temperature: Floats
    reference: Floats
    air: Sight
    transmittance: Floats
    transmittance_sd: Floats
    by_air: Mapping[str, Floats]
    by_response: Mapping[str, Floats]
    contributions: Mapping[str, Floats]

    @property
    def standard_uncertainty(self) -> Floats:
        """Combined, K."""
        return np.asarray(np.sqrt(sum(np.square(part) for part in self.contributions.values())))

    def part(self, where: slice | NDArray[np.intp]) -> Effects:
        """Some of the readings."""
        return Effects(
            self.apparent[where],
            self.temperature[where],
            self.reference[where],
            Sight(self.air.table, self.air.transmittance[where]),
            self.transmittance[:, where],
            self.transmittance_sd[where],
            {name: change[..., where] for name, change in self.by_air.items()},
            {name: change[..., where] for name, change in self.by_response.items()},
            {name: change[where] for name, change in self.contributions.items()},
        )


def _values(situation: Situation) -> tuple[Floats, Floats, Floats]:
    """Emissivity, reflected and air temperature as stated."""
    names = ("emissivity", "reflected_temperature", "air_temperature")
    share, mirrored, air = (situation.of(name).arrays[0] for name in names)
    return share, mirrored, air


def apparent(air: Sight, kelvin: Floats, situation: Situation) -> Floats:
    """Apparent temperature, K, of surfaces of these temperatures at the stated values."""
    return np.asarray(air.table.temperature(air.at_sensor(kelvin, *_values(situation))))


def _solved(air: Sight, radiance: Floats, situation: Situation) -> Floats:
    share, mirrored, around = _values(situation)
    own = radiance - air.path_radiance(around) - (1 - share) * air.arriving(mirrored)
    return air.source_temperature(own / share)


def _moved_air(situation: Situation, name: str) -> tuple[Floats, Floats]:
    """An input of the air one step down and up, within what is possible."""
    value, spread = situation.of(name).arrays
    step = np.maximum(spread, AIR_STEPS[name] * (value if name == "distance" else 1.0))
    limit = LIMITS[name]
    return np.clip(value - step, limit.low, limit.high), np.clip(value + step, limit.low, limit.high)


def _parabola(steps: tuple[Floats, Floats], changes: tuple[Floats, Floats]) -> Floats:
    """Factors of x and x^2 through zero and two points at -steps[0] and steps[1]; a line where a step is nil."""
    down, up = steps
    both = np.where((down > 0) & (up > 0), down * up * (down + up), np.inf)
    line = np.where(up > 0, changes[1] / np.where(up > 0, up, 1), -changes[0] / np.where(down > 0, down, np.inf))
    slope = np.where(np.isinf(both), line, (changes[1] * down**2 - changes[0] * up**2) / both)
    return np.stack([slope, (changes[1] * down + changes[0] * up) / both])


def _air_effect(band: Band, situation: Situation, name: str, kelvin: Floats, air: Sight) -> tuple[Floats, Floats]:
    """Of an input of the air: parabolas of ln transmittance of the three sources, slope of radiance at the sensor."""
    share, mirrored, around = _values(situation)
    logs, seen = [], []
    ends = _moved_air(situation, name)
    for end in ends:
        moved = sight(band, spectrum(situation, **{name: end}))
        logs.append(np.log([moved.through(k) / air.through(k) for k in (kelvin, mirrored, around)]))
        seen.append(moved.at_sensor(kelvin, share, mirrored, end if name == "air_temperature" else around))
    middle = air.at_sensor(kelvin, share, mirrored, around)
    value = situation.of(name).arrays[0]
    steps = value - ends[0], ends[1] - value
    return _parabola(steps, (logs[0], logs[1])), _parabola(steps, (seen[0] - middle, seen[1] - middle))[0]


def _response_effect(band: Band, spectral: Floats, situation: Situation, name: str, kelvin: Floats) -> Floats:
    """Parabola of the apparent temperature by a shift or tilt of the response, K."""
    step = RESPONSE_STEPS[name]
    low, middle, high = (
        apparent(sight(moved_band(band, **{name: s}), spectral), kelvin, situation) for s in (-step, 0.0, step)
    )
    steps = np.full_like(middle, step), np.full_like(middle, step)
    return _parabola(steps, (low - middle, high - middle))


def _slope(air: Sight, kelvin: Floats, situation: Situation) -> Floats:
    """Change of radiance at the sensor with surface temperature, W m-2 sr-1 K-1."""
    low, high = (air.arriving(kelvin + step) for step in (-SLOPE_STEP, SLOPE_STEP))
    return np.asarray(_values(situation)[0] * (high - low) / (2 * SLOPE_STEP))


def _surface_parts(air: Sight, kelvin: Floats, situation: Situation) -> dict[str, Floats]:
    """Change of radiance by one standard uncertainty of emissivity and of reflected temperature."""
    share, mirrored, _ = _values(situation)
    spread = {name: deviation(situation.of(name), POSSIBLE[name]) for name in ("emissivity", "reflected_temperature")}
    step = np.array(SLOPE_STEP)
    by_mirrored = (1 - share) * (air.arriving(mirrored + step) - air.arriving(mirrored - step)) / (2 * step)
    return {
        "emissivity": (air.arriving(kelvin) - air.arriving(mirrored)) * spread["emissivity"],
        "reflected temperature": by_mirrored * spread["reflected_temperature"],
    }


def _air_model(air: Sight, kelvin: Floats, situation: Situation, spread: Floats) -> Floats:
    """Change of radiance when all transmittances are one standard uncertainty higher."""
    share, mirrored, around = _values(situation)
    glow, back, own = (air.table.radiance(source) for source in (kelvin, mirrored, around))
    return np.asarray((share * glow + (1 - share) * back - own) * spread)


def effects(band: Band, apparent_temperature: Floats, situation: Situation, camera: CameraDoubt) -> Effects:
    """Solve flat readings at their stated values, and find what each source does to them."""
    seen = apparent_temperature - sum(camera.of(name).arrays[0] for name in CAMERA_ERRORS)
    spectral = spectrum(situation)
    air = sight(band, spectral)
    kelvin = _solved(air, np.asarray(air.table.radiance(seen)), situation)
    mirrored, around = _values(situation)[1:]
    reference = np.where(np.isfinite(kelvin), kelvin, mirrored)
    reference = np.where(np.isfinite(_slope(air, reference, situation)), reference, mirrored)
    through = np.array([air.through(source) for source in (reference, mirrored, around)])
    spread = _air_model_sd(band, situation)
    by_air, parts = {}, _surface_parts(air, reference, situation)
    for name in AIR_STEPS:
        by_air[name], change = _air_effect(band, situation, name, reference, air)
        parts[name.replace("_", " ")] = change * deviation(situation.of(name), POSSIBLE[name])
    parts["transmittance"] = _air_model(air, reference, situation, spread)
    by_response = {name: _response_effect(band, spectral, situation, name, reference) for name in RESPONSE_STEPS}
    slope = air.table.slope(seen)
    for name, change in by_response.items():
        parts[f"response, {name.replace('_', ' ')}"] = change[0] * slope * deviation(camera.of(name))
    for name in CAMERA_ERRORS:
        parts[name] = slope * deviation(camera.of(name))
    gain = 1 / _slope(air, reference, situation)
    known = np.where(np.isfinite(kelvin), 1.0, np.nan)
    signed = {name: -gain * change * known for name, change in parts.items()}
    return Effects(seen, kelvin, reference, air, through, spread, by_air, by_response, signed)


def _air_model_sd(band: Band, situation: Situation) -> Floats:
    """Standard uncertainty of the transmittance that the air model states for itself."""
    distance, kelvin, humidity = (
        situation.of(name).arrays[0] for name in ("distance", "air_temperature", "relative_humidity")
    )
    return air_path(
        band,
        distance,
        air_temperature=kelvin,
        relative_humidity=humidity,
        pressure=situation.pressure,
        visibility=situation.visibility,
    ).transmittance_sd
