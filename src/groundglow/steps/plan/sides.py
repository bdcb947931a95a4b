"""How warm the thing and what it must stand out from are through the hours, and how each source of doubt moves both."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import hyperu

from groundglow.model.ground import (
    Ground,
    Heat,
    Plane,
    SurfaceSeries,
    Weather,
    completed,
    forecast,
    ground,
    open_ground,
)
from groundglow.model.sun import Place
from groundglow.steps.plan.pairs import OPEN_GROUND, Pair

__all__ = ["FORECAST", "MEASURED", "Change", "Setting", "Sides", "WeatherDoubt", "over_pipe", "sides_of"]

Array = NDArray[np.float64]
#: Moves of the thing and of what is around it for one standard uncertainty of a source, K.
Change = tuple[Array, Array]

_FULL_SUN: Final = 1000.0  # W/m2
#: Sources of the ground model that act on both sides at once.
_SKY: Final = ("sunshine", "longwave of the sky", "air temperature")
_AIR_SD, _SUN_SD = 0.5, 0.05  # K, share: as the ground model takes them
#: Share of the ground model's own error that is left between two states of one construction (our choice).
_LEFT: Final = 0.3
_HEAT_DEPTH: Final = 0.01  # m, where the current's heat is set free in a clamp


@dataclass(frozen=True)
class WeatherDoubt:
    """Standard uncertainties of a forecast: air K, wind as a share, cloud 0..1."""

    air: float
    wind: float
    cloud: float


#: A day ahead (common practice, no source).
FORECAST: Final = WeatherDoubt(1.5, 0.3, 0.15)
#: Weather that was measured: the ground model's own part is enough.
MEASURED: Final = WeatherDoubt(0.0, 0.0, 0.0)


@dataclass(frozen=True)
class Setting:
    """Where, under which weather, how the surface stands, and at which share of the full load."""

    weather: Weather
    place: Place
    plane: Plane = field(default_factory=Plane)
    load: float = 1.0
    doubt: WeatherDoubt = FORECAST


@dataclass(frozen=True)
class Sides:
    """Arrays over ``time`` (UTC s), K. ``changes`` by source; ``own`` moves of both by the ground model's own
    errors; ``own_level`` of the background by itself; ``weather`` completed.
    """

    time: Array
    target: Array
    background: Array
    changes: Mapping[str, Change]
    own: tuple[tuple[float, float], ...]
    own_level: float
    weather: Weather
    surroundings: Ground


def over_pipe(heat: float, depth: float, conductivity: float, exchange: Array) -> Array:
    """Rise of the surface over the middle of a buried line of heat, K.

    Parameters
    ----------
    heat : float
        Of a metre of the line, W/m, steady.
    depth : float
        Of its axis, m.
    conductivity : float
        Of the soil, W m-1 K-1.
    exchange : ndarray
        Of the surface with its surroundings, W m-2 K-1.

    Notes
    -----
    q / (pi k) exp(x) E1(x) with x = h d / k: the exact solution of steady conduction under a surface that gives heat
    off in proportion to its rise (cosine transform of the line source); for x >> 1 q / (pi h d).

    Examples
    --------
    >>> over_pipe(60.0, 0.8, 0.9, np.array([12.0])).round(2)
    array([1.83])
    """
    x = np.asarray(exchange) * depth / conductivity
    return np.asarray(heat / (np.pi * conductivity) * hyperu(1.0, 1.0, x))


def sides_of(of: Pair, setting: Setting) -> Sides:
    """Temperatures of a pair through the weather, with what moves them.

    Raises
    ------
    InputError
        For weather shorter than a day or without air temperature.
    """
    around = _ground(of.background, setting)
    under = _run(around, setting, _heat(of, "background_heat_w_m2", setting.load))
    if of.warmth == "body":
        body = _run(_ground(of.body, setting), setting, _heat(of, "heat_w_m2", setting.load))
        warm, changes = body.temperature, _of_two(of, body, under) | _of_heat(of, setting, body, under)
        left = _LEFT if of.alike else 1.0
        own: tuple[tuple[float, float], ...] = (left * _own(body), 0.0), (0.0, left * _own(under))
    else:
        warm, changes = _warm(of, _Air.of(under)), _of_one(of, under)
        own = ((_follows(of) * _own(under), _own(under)),)
    base = Sides(under.time, warm, under.temperature, changes, own, _own(under), under.weather, around)
    return replace(base, changes={**changes, **_of_forecast(of, setting, base)})


def _own(series: SurfaceSeries) -> float:
    return float(np.max(series.doubt.independent))


def _follows(of: Pair) -> float:
    """Share of a change of the background that the thing makes with it."""
    return {"living": 0.0, "mixed": 1.0 - of.number("share")}.get(of.warmth, 1.0)


def _ground(name: str, setting: Setting) -> Ground:
    return open_ground(completed(setting.weather, setting.place)) if name == OPEN_GROUND else ground(name)


def _run(of: Ground, setting: Setting, heat: float) -> SurfaceSeries:
    inside = Heat(heat, _HEAT_DEPTH) if heat else None
    return forecast(of, setting.weather, setting.place, plane=setting.plane, heat=inside)


def _heat(of: Pair, name: str, load: float) -> float:
    return of.number(name) * float(load ** of.number("load_exponent", 2.0))


@dataclass(frozen=True)
class _Air:
    """What a thing that the ground model is not asked for feels."""

    air: Array
    under: Array
    sun: Array
    wind: Array

    @classmethod
    def of(cls, series: SurfaceSeries) -> _Air:
        w = series.weather
        return cls(w["air_temperature"], series.temperature, w["global_horizontal"], w["wind_speed"])


def _warm(of: Pair, feels: _Air, **changed: float) -> Array:
    """Temperature of the thing, K, with some figures changed."""

    def figure(name: str) -> float:
        return changed.get(name, of.number(name))

    if of.warmth == "living":
        warm = feels.air + figure("share") * (figure("core_c") - feels.air)
        return np.asarray(warm + figure("sun_k") * np.maximum(feels.sun, 0.0) / _FULL_SUN)
    if of.warmth == "mixed":
        return np.asarray(feels.under + figure("share") * (figure("source_c") - feels.under))
    exchange = 5.7 + 3.8 * np.maximum(feels.wind, 0.0)  # McAdams for a flat plate; some radiation is in it
    soil = figure("depth_m"), figure("conductivity_w_m_k")
    return np.asarray(feels.under + over_pipe(figure("heat_w_m"), *soil, exchange))


def _of_one(of: Pair, under: SurfaceSeries) -> dict[str, Change]:
    """Sources of the background's forecast with what they do to the thing, and the thing's own figures."""
    feels = _Air.of(under)
    warm = _warm(of, feels)
    found: dict[str, Change] = {}
    for name, move in under.doubt.flight.items():
        air = feels.air + (_AIR_SD if name == "air temperature" else 0.0)
        sun = feels.sun * (1.0 + (_SUN_SD if name == "sunshine" else 0.0))
        found[name] = (_warm(of, replace(feels, air=air, sun=sun, under=feels.under + move)) - warm, np.asarray(move))
    for name in of.figures:
        if of.doubt(name) and (more := of.number(name) + of.doubt(name)):
            found[f"{name} of the target"] = (_warm(of, feels, **{name: more}) - warm, np.zeros(warm.shape))
    return found


def _of_two(of: Pair, body: SurfaceSeries, under: SurfaceSeries) -> dict[str, Change]:
    """Sources of two forecasts: the weather's are common; those of a construction only where both are of one."""
    zero: Array = np.zeros(under.temperature.shape)
    found: dict[str, Change] = {}
    for name, move in under.doubt.flight.items():
        other = np.asarray(body.doubt.flight[name], dtype=float)
        if name in _SKY or (of.alike and name != "thermal inertia"):
            found[name] = (other, np.asarray(move, dtype=float))
        else:
            found |= {
                f"{name} (target)": (other, zero),
                f"{name} (surroundings)": (zero, np.asarray(move, dtype=float)),
            }
    return found


def _of_heat(of: Pair, setting: Setting, body: SurfaceSeries, under: SurfaceSeries) -> dict[str, Change]:
    """What the doubt of heat inside does: rises are taken in proportion to the heat."""
    heat, sound = (_heat(of, n, setting.load) for n in ("heat_w_m2", "background_heat_w_m2"))
    if heat <= sound:
        return {}
    slope = (body.temperature - under.temperature) / (heat - sound)
    share = setting.load ** of.number("load_exponent", 2.0)
    exponent = abs(np.log(max(setting.load, 0.01))) * of.doubt("load_exponent")
    zero = np.zeros(slope.shape)
    return {
        "heat of the target": (slope * of.doubt("heat_w_m2") * share, zero),
        "heat of the surroundings": (zero, slope * of.doubt("background_heat_w_m2") * share),
        "exponent of the load": (slope * heat * exponent, slope * sound * exponent),
    }


def _of_forecast(of: Pair, setting: Setting, base: Sides) -> dict[str, Change]:
    """What a forecast that errs in air, wind or cloud does: everything is run again."""
    found: dict[str, Change] = {}
    for name, weather in _other_weather(setting).items():
        other = replace(setting, weather=weather, doubt=MEASURED)
        under = _run(base.surroundings, other, _heat(of, "background_heat_w_m2", setting.load))
        if of.warmth == "body":
            warm = _run(_ground(of.body, other), other, _heat(of, "heat_w_m2", setting.load)).temperature
        else:
            warm = _warm(of, _Air.of(under))
        found[name] = (warm - base.target, under.temperature - base.background)
    return found


def _other_weather(setting: Setting) -> dict[str, Weather]:
    w, doubt = setting.weather, setting.doubt
    changed: dict[str, dict[str, Array]] = {}
    if doubt.air:
        changed["air of the forecast"] = {"air_temperature": w["air_temperature"] + doubt.air}
    if doubt.wind and w.known("wind_speed"):
        changed["wind of the forecast"] = {"wind_speed": w["wind_speed"] * (1.0 + doubt.wind)}
    if doubt.cloud and w.known("cloud_fraction"):
        cloud = w["cloud_fraction"]
        side = np.where(cloud > 0.5, -doubt.cloud, doubt.cloud)  # towards the side where there is room
        changed["cloud of the forecast"] = {"cloud_fraction": np.clip(cloud + side, 0.0, 1.0)}
    return {name: replace(w, series=w.series | series) for name, series in changed.items()}
