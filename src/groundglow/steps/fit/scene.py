"""Through the hours of one day: how warm the target and what is around it are, what they mirror, which air is between.

Surface temperatures come from the ground model where place and date are known. Where they are not, one hour stands
for all: the surroundings are as warm as the air, and that is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.model.doubt import combined
from groundglow.model.ground import Weather, forecast, from_extremes, ground
from groundglow.model.humidity import saturation_vapour_pressure
from groundglow.model.sun import Place
from groundglow.records.fit import Ask, Sky, Target, Warmth

__all__ = ["HOURS", "SUN_WITHOUT_PLACE", "Scene", "scene_of"]

Array = NDArray[np.float64]

#: Hours of the local solar day.
HOURS = np.arange(24)
#: Sunshine on a level surface that is taken when no place or date is known, W/m2 (a bright day; our choice).
SUN_WITHOUT_PLACE = 800.0
#: Sunshine at which a target's stated rise holds, W/m2.
FULL_SUN = 1000.0
# Taken as surroundings where nobody said what they are, and the mark of a doubt that has a sign.
_STANDS_FOR_ALL = "grass"
_SOURCE = "doubt: "


@dataclass(frozen=True)
class Scene:
    """Arrays over hours: temperatures K, humidity 0..1, sunshine W/m2.

    ``rise`` is target less surroundings, ``rise_sd`` the doubt of it from the ground model; ``hours`` are those of the
    local solar day, empty where one stands for all. ``pressure`` Pa. ``kept`` holds
    what is worked out of it once.
    """

    hours: NDArray[np.int_]
    air: Array
    relative_humidity: Array
    background: Array
    target: Array
    rise_sd: Array
    sun: Array
    pressure: float
    background_emissivity: float
    notes: tuple[str, ...] = field(default=())
    kept: dict[Any, Any] = field(default_factory=dict, compare=False, repr=False)

    @property
    def rise(self) -> Array:
        """Target less surroundings, K."""
        return self.target - self.background

    @property
    def known(self) -> bool:
        """Whether hours of the day can be told apart."""
        return self.hours.size > 0

    def hidden(self, target: Target) -> NDArray[np.bool_]:
        """Hours at which the target is not looked for, by its own rule: the sun is up."""
        return (self.sun > 0) if target.only_at == "night" else np.zeros(self.size, dtype=bool)

    @property
    def size(self) -> int:
        """Number of hours worked out."""
        return self.air.size


class _Key(NamedTuple):
    """What a scene hangs on."""

    warmth: Warmth
    background: str
    emissivity: float
    sky: Sky
    place: tuple[float, float, float] | None
    day: float | None


def scene_of(ask: Ask) -> Scene:
    """The scene of a question.

    Raises
    ------
    InputError
        When the target's warmth follows from the ground model, and place or date are not known.
    """
    known = ask.lon_deg is not None and ask.lat_deg is not None and ask.day is not None
    place = (ask.lat_deg or 0.0, ask.lon_deg or 0.0, ask.ground_height) if known else None
    of = ask.target
    return _scene(_Key(of.warmth, of.background, of.emissivity, ask.sky, place, ask.day if known else None))


@lru_cache(maxsize=64)
def _scene(key: _Key) -> Scene:
    if key.place is None or key.day is None:
        return _one_hour(key)
    lat, lon, height = key.place
    where = Place(lat, lon, height)
    under = _through(key.background or _STANDS_FOR_ALL, key.sky, where, key.day)
    target, rise_sd = _target(key, under, where)
    notes = ["surface temperatures by the ground model, each hour of the local solar day"]
    if not key.background:
        notes.append(f"what surrounds the target is not said: {_STANDS_FOR_ALL} is taken")
    return Scene(
        HOURS, under["air_temperature"], under["relative_humidity"], under["surface"], target, rise_sd,
        under["global_horizontal"], where.pressure, _emissivity(key), tuple(notes),
    )  # fmt: skip


def _emissivity(key: _Key) -> float:
    """Of the surroundings: like the target where nobody said what they are."""
    return ground(key.background).emissivity if key.background else key.emissivity


def _one_hour(key: _Key) -> Scene:
    air = 0.5 * (key.sky.lowest + key.sky.highest)
    warmth = key.warmth
    if warmth.body is not None:
        raise InputError(
            "This target's warmth follows from the weather of a place and a day: say lon_deg, lat_deg and date "
            "(--place and --date), or give a rise of your own."
        )
    sun = SUN_WITHOUT_PLACE if warmth.follows == "sun" else 0.0
    target = _warm(key, np.array([air]), np.array([air]), np.array([sun]))
    doubt = _warm_sd(warmth, np.array([air]), np.array([sun]))
    notes = ["place or date unknown: the surroundings are taken as warm as the air, no hours of the day are told"]
    if sun:
        notes.append(f"sunshine of {sun:.0f} W/m2 is taken")
    one = np.ones(1)
    return Scene(
        np.zeros(0, dtype=int), air * one, key.sky.relative_humidity * one, air * one, target, doubt, sun * one,
        101325.0, _emissivity(key), tuple(notes),
    )  # fmt: skip


def _warm(key: _Key, air: Array, under: Array, sun: Array) -> Array:
    """Temperature of a target that the ground model is not asked for, K."""
    warmth = key.warmth
    if warmth.temperature is not None:
        return np.full(air.shape, warmth.temperature)
    if warmth.core is not None:
        return np.asarray(air + warmth.share * (warmth.core - air) + warmth.sun * sun / FULL_SUN)
    share = {"sun": sun / FULL_SUN, "load": np.full(air.shape, key.sky.load_fraction**2)}
    return np.asarray(under + (warmth.rise or 0.0) * share.get(warmth.follows, np.ones(air.shape)))


def _warm_sd(warmth: Warmth, air: Array, sun: Array) -> Array:
    """Standard uncertainty of the outside of a warm body, K; 0 for a stated temperature."""
    if warmth.core is None:
        return np.zeros(air.shape)
    parts = (warmth.share * warmth.core_sd, (warmth.core - air) * warmth.share_sd, sun / FULL_SUN * warmth.sun_sd)
    return np.asarray(np.sqrt(sum(np.square(part) for part in parts)))


def _target(key: _Key, under: Mapping[str, Array], place: Place) -> tuple[Array, Array]:
    """Temperature of the target, and the doubt of its rise, through the hours."""
    if key.warmth.body is None or key.day is None:
        warm = _warm(key, under["air_temperature"], under["surface"], under["global_horizontal"])
        if key.warmth.rise is not None:
            return warm, np.zeros(24)
        return warm, np.hypot(
            under["doubt"], _warm_sd(key.warmth, under["air_temperature"], under["global_horizontal"])
        )
    body = _through(key.warmth.body, key.sky, place, key.day)
    # Both bodies meet the same weather and share the model's own error: only what acts on them differently is left.
    named = [n for n in body if n.startswith(_SOURCE) and n in under]
    apart = np.sqrt(sum((body[n] - under[n]) ** 2 for n in named) + np.zeros(24))
    return body["surface"], apart


@lru_cache(maxsize=64)
def _through(name: str, sky: Sky, place: Place, day: float) -> Mapping[str, Array]:
    """Weather, surface and signed doubts of a body of the ground model at each hour of the day."""
    found = forecast(ground(name), _weather(sky, place, day), place)
    series = {n: found.weather[n] for n in ("air_temperature", "relative_humidity", "global_horizontal")}
    series |= {"surface": found.temperature, "doubt": np.asarray(combined(found.doubt))}
    series |= {_SOURCE + n: np.asarray(v) for n, v in found.doubt.flight.items()}
    at = found.time[0] + 3600.0 * HOURS
    return {n: np.interp(at, found.time, v) for n, v in series.items()}


def _weather(sky: Sky, place: Place, day: float) -> Weather:
    """The day between its extremes; the air holds the same vapour all day."""
    drawn = from_extremes(day, place, lowest=sky.lowest, highest=sky.highest)
    air = drawn["air_temperature"]
    vapour = sky.relative_humidity * float(saturation_vapour_pressure(0.5 * (sky.lowest + sky.highest)))
    series = {
        "air_temperature": air,
        "relative_humidity": np.clip(vapour / saturation_vapour_pressure(air), 0.02, 1.0),
        "wind_speed": np.full(air.shape, sky.wind_speed),
        "cloud_fraction": np.full(air.shape, sky.cloud_fraction),
    }
    return Weather(drawn.time, series)
