"""What each input does to the radiance of a reading, at a fixed surface temperature."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.model.air import air_path
from groundglow.model.reading.response import moved_band
from groundglow.model.reading.sight import Sight, SkyPassage, near, shares, sight, spectrum
from groundglow.model.reading.situation import NOMINAL_EDGE_SD, NOMINAL_TILT_SD, POSSIBLE, Situation
from groundglow.model.reading.stated import deviation
from groundglow.model.response import Band
from groundglow.model.table import TABLE_RANGE
from groundglow.model.weather import LIMITS

__all__ = [
    "AIR_STEPS",
    "RESPONSE_STEPS",
    "At",
    "air_effect",
    "apparent",
    "model_effect",
    "model_ratios",
    "model_sd",
    "response_effect",
    "slope",
    "surface_effects",
]

Floats = NDArray[np.float64]
#: Steps by which the response is moved to see what that does.
RESPONSE_STEPS = {"short_edge": NOMINAL_EDGE_SD, "long_edge": NOMINAL_EDGE_SD, "tilt": NOMINAL_TILT_SD}
#: Smallest steps of the air's inputs: K, share, share of the distance.
AIR_STEPS = {"air_temperature": 0.5, "relative_humidity": 0.02, "distance": 0.02}
#: Step of numeric slopes over temperature, K.
SLOPE_STEP = 0.5
#: Step of the surface's temperature for how the effect of the response grows, K; least that must be seen of it, K.
GROWTH_STEP, LEAST_SHOWN = 5.0, 1e-3
#: Temperature whose band mean the air model's doubt is stated for, K.
MODEL_SOURCE = 300.0


@dataclass(frozen=True, eq=False)
class At:
    """Readings at their stated values: band, situation (flat), spectral and band transmittance of the air, the sky."""

    band: Band
    situation: Situation
    spectral: Floats
    air: Sight
    sky: SkyPassage

    @property
    def values(self) -> tuple[Floats, Floats, Floats]:
        """Emissivity, reflected and air temperature."""
        names = ("emissivity", "reflected_temperature", "air_temperature")
        share, mirrored, around = (self.situation.of(name).arrays[0] for name in names)
        return share, mirrored, around


def apparent(air: Sight, kelvin: Floats, values: tuple[Floats, Floats, Floats]) -> Floats:
    """Apparent temperature, K, of surfaces of these temperatures, given emissivity, reflected and air temperature."""
    return np.asarray(air.table.temperature(air.at_sensor(kelvin, *values)))


def slope(at: At, kelvin: Floats) -> Floats:
    """Change of radiance at the sensor with surface temperature, W m-2 sr-1 K-1."""
    low, high = (at.air.arriving(kelvin + step) for step in (-SLOPE_STEP, SLOPE_STEP))
    return np.asarray(at.values[0] * (high - low) / (2 * SLOPE_STEP))


def _parabola(steps: tuple[Floats, Floats], changes: tuple[Floats, Floats]) -> Floats:
    """Factors of x and x^2 through zero and two points at -steps[0] and steps[1]; a line where a step is nil."""
    down, up = steps
    both = np.where((down > 0) & (up > 0), down * up * (down + up), np.inf)
    line = np.where(up > 0, changes[1] / np.where(up > 0, up, 1), -changes[0] / np.where(down > 0, down, np.inf))
    first = np.where(np.isinf(both), line, (changes[1] * down**2 - changes[0] * up**2) / both)
    return np.stack([first, (changes[1] * down + changes[0] * up) / both])


def air_effect(at: At, name: str, kelvin: Floats) -> tuple[Floats, Floats]:
    """Of an input of the air: parabolas of ln transmittance of the three sources, slope of radiance at the sensor."""
    share, mirrored, around = at.values
    logs, seen = [], []
    ends = _moved_air(at.situation, name)
    for end in ends:
        moved = sight(at.band, spectrum(at.situation, **{name: end}), at.air.mirrored)
        logs.append(np.log([moved.through(k) / at.air.through(k) for k in (kelvin, mirrored, around)]))
        seen.append(moved.at_sensor(kelvin, share, mirrored, end if name == "air_temperature" else around))
    middle = at.air.at_sensor(kelvin, share, mirrored, around)
    value = at.situation.of(name).arrays[0]
    steps = value - ends[0], ends[1] - value
    return _parabola(steps, (logs[0], logs[1])), _parabola(steps, (seen[0] - middle, seen[1] - middle))[0]


def _moved_air(situation: Situation, name: str) -> tuple[Floats, Floats]:
    """An input of the air one step down and up, within what is possible."""
    value, spread = situation.of(name).arrays
    step = np.maximum(spread, AIR_STEPS[name] * (value if name == "distance" else 1.0))
    limit = LIMITS[name]
    return np.clip(value - step, limit.low, limit.high), np.clip(value + step, limit.low, limit.high)


def response_effect(at: At, name: str, kelvin: Floats) -> Floats:
    """Parabola of the apparent temperature by a shift or tilt of the response, K, and how its first factor grows.

    A hotter surface suffers more from a response that is not the assumed one: the third row is the change of the
    first factor with the apparent temperature.
    """
    step = RESPONSE_STEPS[name]
    sights = [_seen_by(at, moved_band(at.band, **{name: by})) for by in (-step, 0.0, step)]
    low, middle, high = (apparent(seen, kelvin, at.values) for seen in sights)
    steps = np.full_like(middle, step), np.full_like(middle, step)
    ends = [np.clip(kelvin + by, *TABLE_RANGE) for by in (-GROWTH_STEP, GROWTH_STEP)]
    cold, hot = ([apparent(seen, end, at.values) for seen in sights] for end in ends)
    rise, shown = (hot[2] - hot[0]) - (cold[2] - cold[0]), hot[1] - cold[1]
    growth = np.where(shown > LEAST_SHOWN, rise / (2 * step * np.maximum(shown, LEAST_SHOWN)), 0.0)
    return np.concatenate([_parabola(steps, (low - middle, high - middle)), np.nan_to_num(growth)[None]])


def _seen_by(at: At, band: Band) -> Sight:
    """The same scene by another response, which sees another part of the spectrum of what is reflected."""
    mirrored, around = at.values[1:]
    black = sight(band, at.spectral)
    parts = [
        (shares(b)[near(around)] * at.sky.glow * at.spectral).sum(axis=1) * table.radiance(around)
        for b, table in ((band, black.table), (at.band, at.air.table))
    ]
    back = at.air.mirrored * at.air.arriving(mirrored) * parts[0] / np.where(parts[1] > 0, parts[1], np.inf)
    return Sight(black.table, black.transmittance, back / black.arriving(mirrored))


def surface_effects(at: At, kelvin: Floats) -> dict[str, Floats]:
    """Change of radiance by one standard uncertainty of what belongs to the surface and its reflection."""
    share, mirrored, _ = at.values
    spread = {
        name: deviation(at.situation.of(name), POSSIBLE[name]) for name in ("emissivity", "reflected_temperature")
    }
    back, step = at.air.mirrored * at.air.arriving(mirrored), np.array(SLOPE_STEP)
    by_mirrored = at.air.mirrored * (at.air.arriving(mirrored + step) - at.air.arriving(mirrored - step)) / (2 * step)
    by_mirrored += at.sky.slope * at.air.arriving(mirrored)
    return {
        "emissivity": (at.air.arriving(kelvin) - back) * spread["emissivity"],
        "reflected temperature": (1 - share) * by_mirrored * spread["reflected_temperature"],
    }


def model_ratios(at: At, kelvin: Floats) -> Floats:
    """Change of the three transmittances with the band mean at 300 K when all depths err in proportion."""
    depth = -np.log(np.maximum(at.spectral, 1e-300))
    change = sight(at.band, depth * at.spectral)
    sources = (kelvin, *at.values[1:])
    middle = change.through(np.full(kelvin.shape, MODEL_SOURCE))
    ratio = np.array([change.through(source) for source in sources]) / np.where(middle > 0, middle, np.inf)
    return np.where(middle > 0, ratio, 1.0)


def model_effect(at: At, kelvin: Floats, ratios: Floats) -> Floats:
    """Change of radiance with the air model's band mean of transmittance, W m-2 sr-1."""
    share, mirrored, around = at.values
    glow, back, own = (at.air.table.radiance(source) for source in (kelvin, mirrored, around))
    return np.asarray(share * glow * ratios[0] + (1 - share) * at.air.mirrored * back * ratios[1] - own * ratios[2])


def model_sd(band: Band, situation: Situation) -> Floats:
    """Standard uncertainty of the transmittance that the air model states for itself."""
    names = ("distance", "air_temperature", "relative_humidity")
    distance, kelvin, humidity = (situation.of(name).arrays[0] for name in names)
    return air_path(
        band,
        distance,
        air_temperature=kelvin,
        relative_humidity=humidity,
        pressure=situation.pressure,
        visibility=situation.visibility,
    ).transmittance_sd
