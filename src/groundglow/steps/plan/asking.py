"""One question about the hour, as written, and its answer: contrast through a day, windows, crossovers, levels."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Final

import numpy as np

from groundglow.errors import InputError
from groundglow.model.ground import Plane, Weather, between, from_extremes
from groundglow.model.humidity import saturation_vapour_pressure
from groundglow.model.sun import Place
from groundglow.records.quantity import Kind, quantity
from groundglow.steps.plan.levels import Levels, levels_at
from groundglow.steps.plan.pairs import Pair, pair, with_rules, with_task_rules
from groundglow.steps.plan.sides import FORECAST, MEASURED, Setting
from groundglow.steps.plan.when import Crossover, Day, Eye, crossovers, expect
from groundglow.steps.plan.windows import TWILIGHT, Windows, windows_of

__all__ = ["CAUTION", "WindowAnswer", "WindowAsk", "window_answer", "window_ask"]

CAUTION: Final = "A forecast of a model, not a verdict: local aviation rules and the pilot decide whether to fly."
_DAY: Final = 86400.0
_ASSUMED: Final[Mapping[str, tuple[Kind, str]]] = {
    "air_lowest": ("temperature", "10 C"), "air_highest": ("temperature", "20 C"), "humidity": ("share", "60 %"),
    "wind": ("speed", "3 m/s"), "cloud": ("share", "20 %"),
}  # fmt: skip
_ALLOWED: Final = {"hour": (0.0, 24.0), "utc_offset": (-12.0, 14.0), "tilt": (0.0, 90.0), "azimuth": (-360.0, 360.0)}
_POSITIVE: Final[Mapping[str, Kind]] = {"distance": "length", "netd": "difference", "flight": "duration"}


@dataclass(frozen=True)
class WindowAsk:
    """When can it be seen: a pair, where, under which weather, with which camera, for how long (s).

    ``offset`` s is local time less UTC; ``hour`` of local time levels are asked for, None: the best window's;
    ``own_levels`` rises K by name; ``assumed`` says what nobody gave.
    """

    pair: Pair
    setting: Setting
    eye: Eye
    flight: float
    offset: float
    hour: float | None = None
    own_levels: Mapping[str, float] = field(default_factory=dict)
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True)
class WindowAnswer:
    """The answer: ``levels`` at the asked hour or at the best one."""

    ask: WindowAsk
    day: Day
    windows: Windows
    crossovers: tuple[Crossover, ...]
    levels: Levels
    cautions: tuple[str, ...]


def window_answer(ask: WindowAsk) -> WindowAnswer:
    """Answer a question about the hour."""
    day = expect(ask.pair, ask.setting, ask.eye)
    windows = windows_of(day, flight=ask.flight)
    said = tuple(c for c in (CAUTION, ask.pair.caution) if c)
    return WindowAnswer(
        ask, day, windows, crossovers(day), levels_at(day, _moment(ask, day, windows), ask.own_levels), said
    )


def _moment(ask: WindowAsk, day: Day, windows: Windows) -> float:
    """When levels are wanted: the asked hour, the middle of the best flight, or where the contrast is surest."""
    if ask.hour is not None:
        since = (ask.hour * 3600.0 - ask.offset - float(day.time[0])) % _DAY
        return float(day.time[0]) + since
    if windows.windows:
        return float(day.time[0]) + (windows.windows[0].best + 0.5 * ask.flight - float(day.time[0])) % _DAY
    return float(day.time[int(np.argmax(day.contrast_to_noise))])


def window_ask(
    raw: Mapping[str, Any],
    *,
    weather: Weather | None = None,
    place: Place | None = None,
    own: Mapping[str, Pair] | None = None,
    rules: Path | None = None,
) -> WindowAsk:
    """A question from what a person wrote.

    Parameters
    ----------
    raw : mapping
        ``pair``; ``place`` (latitude, longitude) and ``date``; ``air_lowest``, ``air_highest``, ``humidity``,
        ``wind``, ``cloud``, ``load``, ``ground_height``, ``distance``, ``tilt``, ``azimuth``, ``netd``, ``flight``,
        ``hour``, ``utc_offset``, ``no_night``, ``rules`` and ``levels`` (by name); quantities with their unit.
    weather, place : optional
        Of a weather file; its own doubt is taken as that of a measurement when it holds measured sunshine.
    own : mapping of str to Pair, optional
        Pairs of one's own.
    rules : Path, optional
        A folder of rules of one's own.

    Raises
    ------
    InputError
        For what is missing or cannot be read.
    """
    where = _place(raw, place)
    _within(raw)
    of = with_task_rules(pair(str(raw["pair"]), own), rules)
    limits = {name: _number(f"rule {name}", v) for name, v in dict(raw.get("rules") or {}).items()}
    of = with_rules(of, limits, "your own")
    if raw.get("no_night"):
        of = with_rules(
            of, {"least_sun_deg": TWILIGHT}, "no flight at night: from the beginning to the end of civil twilight"
        )
    assumed = tuple(
        f"{n.replace('_', ' ')} {v[1]}" for n, v in _ASSUMED.items() if raw.get(n) is None and weather is None
    )
    sky = _weather(raw, where, weather)
    measured = weather is not None and weather.known("global_horizontal")
    plane = Plane(
        math.radians(_number("tilt", raw.get("tilt") or 0.0)),
        math.radians(_number("azimuth", raw.get("azimuth") or 180.0)),
    )
    load = quantity(raw.get("load") or "100 %", "share", "load")
    eye = Eye(distance=quantity(raw.get("distance") or "60 m", "length", "distance"))
    if raw.get("netd"):
        eye = replace(eye, noise=quantity(raw["netd"], "difference", "netd"))
    return WindowAsk(
        of, Setting(sky, where, plane, load, MEASURED if measured else FORECAST), eye,
        quantity(raw.get("flight") or "30 min", "duration", "flight"), _offset(raw, where),
        None if raw.get("hour") is None else _number("hour", raw["hour"]),
        {n: quantity(v, "difference", f"level {n}") for n, v in dict(raw.get("levels") or {}).items()}, assumed,
    )  # fmt: skip


def _within(raw: Mapping[str, Any]) -> None:
    """Angles and hours that mean something."""
    for name, (low, high) in _ALLOWED.items():
        if raw.get(name) is not None and not low <= _number(name, raw[name]) <= high:
            raise InputError(f"{name} is {raw[name]}; allowed {low:g} to {high:g}.")
    for name, kind in _POSITIVE.items():
        if raw.get(name) and not quantity(raw[name], kind, name) > 0:
            raise InputError(f"{name} is {raw[name]}; allowed above 0.")


def _number(name: str, value: Any) -> float:
    try:
        return float(value)
    except (TypeError, ValueError):
        raise InputError(f"{name}: {value!r} is no number.") from None


def _place(raw: Mapping[str, Any], stated: Place | None) -> Place:
    given: Sequence[float] | None = raw.get("place")
    if given is None and stated is None:
        raise InputError(
            "The place is not known: say --place LAT,LON, or give lon_deg and lat_deg in the brief's site."
        )
    height = quantity(raw["ground_height"], "length", "ground_height") if raw.get("ground_height") else None
    if given is None and stated is not None:
        return stated if height is None else replace(stated, height=height)
    lat, lon = given or (0.0, 0.0)
    return Place(float(lat), float(lon), height if height is not None else stated.height if stated else 0.0)


def _offset(raw: Mapping[str, Any], place: Place) -> float:
    """Local time less UTC, s: as said, else whole hours by longitude."""
    if raw.get("utc_offset") is not None:
        return 3600.0 * _number("utc_offset", raw["utc_offset"])
    return 3600.0 * round(place.lon_deg / 15.0)


def _noon(raw: Mapping[str, Any]) -> float:
    if not raw.get("date"):
        raise InputError("The day is not known: say --date YYYY-MM-DD, or date in the brief's question.")
    try:
        day = date.fromisoformat(str(raw["date"]))
    except ValueError:
        raise InputError(f"date {raw['date']!r} is no day; write it as 2026-06-21.") from None
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC).timestamp()


def _weather(raw: Mapping[str, Any], place: Place, given: Weather | None) -> Weather:
    """The given weather, of the asked day; or a day drawn between its extremes, its vapour the same all day."""
    if given is not None:
        if not raw.get("date"):
            return given
        noon = _noon(raw) - place.lon_deg * 240.0
        return between(given, noon - 0.5 * _DAY, noon + 0.5 * _DAY)
    lowest, highest, moist, wind, cloud = (
        quantity(raw.get(n) if raw.get(n) is not None else v[1], v[0], n) for n, v in _ASSUMED.items()
    )
    drawn = from_extremes(_noon(raw), place, lowest=lowest, highest=highest)
    air = drawn["air_temperature"]
    vapour = moist * saturation_vapour_pressure(0.5 * (lowest + highest))
    same = np.ones(air.shape)
    series = {
        "air_temperature": air, "wind_speed": wind * same, "cloud_fraction": cloud * same,
        "relative_humidity": np.clip(vapour / saturation_vapour_pressure(air), 0.02, 1.0),
    }  # fmt: skip
    return Weather(drawn.time, series, notes=drawn.notes)
