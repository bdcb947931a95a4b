"""What drives a surface through the hours: weather as arrays over time, and what to put where nobody measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.model.longwave import sky_longwave_flux
from groundglow.model.planck import STEFAN_BOLTZMANN
from groundglow.model.sun import Irradiance, Place, clear_sky, split_global, sun_position, sun_times

__all__ = [
    "COLUMNS",
    "Weather",
    "between",
    "cloud_from_sun",
    "completed",
    "from_extremes",
    "resampled",
    "skin_temperature",
]

Array = NDArray[np.float64]
_DAY = 86400.0

#: Names of the series of a `Weather`, in SI.
COLUMNS = (
    "air_temperature",
    "relative_humidity",
    "pressure",
    "wind_speed",
    "global_horizontal",
    "direct_normal",
    "diffuse",
    "longwave_down",
    "cloud_fraction",
    "shortwave_up",
    "longwave_up",
)

_WIND_DEFAULT = 2.0  # m/s, a light breeze; its doubt is as large (common practice, no source)
_HUMIDITY_DEFAULT = 0.5
_CLOUD_DEFAULT = 0.5
_SUN_LOW = np.radians(80.0)  # beyond it the clear sky is too uncertain to tell cloud
_SMOOTH = 3600.0  # s, over which cloud is averaged
#: How a filled series is told: factor, unit, decimals; fluxes in W/m2 otherwise.
_READ = {
    "pressure": (0.01, "hPa", 0),
    "relative_humidity": (100.0, "%", 0),
    "wind_speed": (1.0, "m/s", 1),
    "cloud_fraction": (1.0, "of the sky", 2),
}


@dataclass(frozen=True)
class Weather:
    """Weather through some hours: series over ``time`` (UTC seconds, ascending), NaN where unknown.

    ``series`` maps names of `COLUMNS` to arrays: ``air_temperature`` K, ``relative_humidity`` 0..1, ``pressure``
    Pa, ``wind_speed`` m/s, solar ``global_horizontal``, ``direct_normal``, ``diffuse`` and reflected
    ``shortwave_up``, thermal ``longwave_down`` and ``longwave_up`` W/m2, ``cloud_fraction`` 0..1. ``wind_height``
    and ``air_height`` (m) say where the sensors stand; WMO-No. 8 asks for 10 m and 2 m. ``assumed`` names the
    series that were filled in; ``notes`` says how.
    """

    time: Array
    series: dict[str, Array]
    wind_height: float = 10.0
    air_height: float = 2.0
    assumed: frozenset[str] = frozenset()
    notes: tuple[str, ...] = field(default=())

    def __post_init__(self) -> None:
        """Refuse unknown names, wrong lengths and times out of order."""
        for name, values in self.series.items():
            if name not in COLUMNS:
                raise InputError(f"Weather has no series {name!r}; there are {', '.join(COLUMNS)}.")
            if np.shape(values) != self.time.shape:
                raise InputError(f"{name} has shape {np.shape(values)}, the time {self.time.shape}; make them equal.")
        if self.time.ndim != 1 or self.time.size < 2 or not np.all(np.diff(self.time) > 0):
            raise InputError("Weather needs at least two times in ascending order. Sort the rows, remove doubles.")

    def known(self, name: str) -> bool:
        """Whether a series has at least one number."""
        return name in self.series and bool(np.isfinite(self.series[name]).any())

    def __getitem__(self, name: str) -> Array:
        """The series of this name; NaN everywhere when there is none."""
        return self.series.get(name, np.full(self.time.shape, np.nan))


def cloud_from_sun(time: Array, place: Place, global_horizontal: Array) -> Array:
    """Cloud as the share of the clear sky's sunshine that is missing, 0..1.

    Told while the sun is more than 10 degrees high, averaged over an hour, and carried through the night by a
    straight line (round the clock at the ends of the series).

    Parameters
    ----------
    time : ndarray, shape (N,)
        UTC seconds.
    place : Place
    global_horizontal : ndarray, shape (N,)
        W/m2, NaN where unknown.

    Returns
    -------
    ndarray, shape (N,)
        NaN everywhere when the sun is never high enough.

    References
    ----------
    Crawford & Duchon 1999, J. Appl. Meteorol. 38:474, equation 19 (from memory).

    Examples
    --------
    >>> time = 1718928000.0 + 3600.0 * np.arange(24)
    >>> place = Place(40.0, -105.0, 1600.0)
    >>> bool(np.allclose(cloud_from_sun(time, place, clear_sky(time, place).global_horizontal), 0))
    True
    """
    bright = clear_sky(time, place).global_horizontal
    told = (sun_position(time, place).apparent_zenith < _SUN_LOW) & np.isfinite(global_horizontal)
    if not told.any():
        return np.full(time.shape, np.nan)
    missing = np.clip(1 - global_horizontal[told] / bright[told], 0.0, 1.0)
    period = max(_DAY, np.ceil((time[-1] - time[0]) / _DAY) * _DAY)
    return _smoothed(time, np.interp(time, time[told], missing, period=period))


def skin_temperature(longwave_up: Array, longwave_down: Array, *, emissivity: float = 0.97) -> Array:
    """Surface temperature K from a pair of infrared radiometers, one looking down and one up.

    What goes up is the surface's own radiation and the reflected part of what comes down.

    Parameters
    ----------
    longwave_up, longwave_down : ndarray
        W/m2.
    emissivity : float
        Of the surface over all thermal wavelengths, 0 < emissivity <= 1.

    Returns
    -------
    ndarray
        K; NaN where the surface would emit nothing.

    References
    ----------
    Stefan and Boltzmann's law with Kirchhoff's.

    Examples
    --------
    >>> float(skin_temperature(np.array([459.300328]), np.array([459.300328])).round(6)[0])
    300.0
    """
    own = (np.asarray(longwave_up) - (1 - emissivity) * np.asarray(longwave_down)) / emissivity
    return np.asarray((np.where(own > 0, own, np.nan) / STEFAN_BOLTZMANN) ** 0.25)


def _smoothed(time: Array, values: Array) -> Array:
    """Mean over an hour round each time."""
    low = np.searchsorted(time, time - 0.5 * _SMOOTH, side="left")
    high = np.searchsorted(time, time + 0.5 * _SMOOTH, side="right")
    total = np.concatenate([[0.0], np.cumsum(values)])
    return np.asarray((total[high] - total[low]) / (high - low))


#: Series as people call them.
_SAID: Mapping[str, str] = {
    "global_horizontal": "sunshine on level ground", "direct_normal": "direct sunshine", "diffuse": "light of the sky",
    "longwave_down": "infrared of the sky", "air_temperature": "air temperature", "wind_speed": "wind",
    "relative_humidity": "humidity", "cloud_fraction": "cloud",
}  # fmt: skip


def _bridged(weather: Weather, name: str, default: Array) -> tuple[Array, str | None]:
    """The series with its gaps bridged, and a note when anything was put in."""
    values = weather[name]
    known = np.isfinite(values)
    if known.all():
        return values, None
    if not known.any():
        return default, f"{_SAID.get(name, name)} was not given: {_words(name, default)} taken"
    filled = np.interp(weather.time, weather.time[known], values[known])
    return filled, f"{_SAID.get(name, name)}: {int((~known).sum())} of {known.size} values missing, interpolated"


def _words(name: str, default: Array) -> str:
    """What was put in, in the unit that people read."""
    factor, unit, digits = _READ.get(name, (1.0, "W/m2", 0))
    low, high = (f"{factor * float(v):.{digits}f}" for v in (default.min(), default.max()))
    unit = f" {unit}".rstrip()
    return f"{low}{unit}" if low == high else f"a model between {low} and {high}{unit}"


def completed(weather: Weather, place: Place) -> Weather:
    """The weather with every series that a surface needs, each filling named in its notes.

    Air temperature has to be given. Gaps are bridged by straight lines. Unknown pressure is that of the height;
    wind 2 m/s; humidity 50 %; solar irradiance that of the clear sky, dimmed by the cloud fraction
    (1 - 0.75 N^3.4); cloud from the sun when it was measured, else half; the direct part after Erbs; the
    longwave of the sky from temperature, humidity and cloud.

    Parameters
    ----------
    weather : Weather
    place : Place

    Raises
    ------
    InputError
        Without air temperature.

    References
    ----------
    Kasten & Czeplak 1980, Sol. Energy 24:177 (sun under cloud, from memory); others at their functions.

    Examples
    --------
    >>> night = Weather(np.array([0.0, 3600.0]), {"air_temperature": np.array([280.0, 279.0])})
    >>> full = completed(night, Place(50.0, 10.0))
    >>> sorted(full.assumed)[:3]
    ['cloud_fraction', 'diffuse', 'direct_normal']
    """
    if not weather.known("air_temperature"):
        raise InputError("The weather has no air temperature: give air_temperature, or its daily extremes.")
    for name in ("air_temperature", "pressure", "relative_humidity", "wind_speed"):
        weather = _with(weather, name, _constant(weather, name, place))
    weather = _with(weather, "cloud_fraction", _cloud(weather, place))
    weather = _solar(weather, place)
    t, h, n = (weather[name] for name in ("air_temperature", "relative_humidity", "cloud_fraction"))
    return _with(weather, "longwave_down", sky_longwave_flux(t, h, cloud_fraction=np.clip(n, 0, 1)))


def _with(weather: Weather, name: str, default: Array) -> Weather:
    values, note = _bridged(weather, name, default)
    notes = weather.notes if note is None else (*weather.notes, note)
    assumed = weather.assumed if weather.known(name) else weather.assumed | {name}
    return replace(weather, series=weather.series | {name: values}, notes=notes, assumed=assumed)


def _constant(weather: Weather, name: str, place: Place) -> Array:
    figures = {"pressure": place.pressure, "wind_speed": _WIND_DEFAULT, "relative_humidity": _HUMIDITY_DEFAULT}
    return np.full(weather.time.shape, figures.get(name, np.nan))


def _cloud(weather: Weather, place: Place) -> Array:
    told = cloud_from_sun(weather.time, place, weather["global_horizontal"])
    return np.where(np.isfinite(told), told, _CLOUD_DEFAULT)


def _solar(weather: Weather, place: Place) -> Weather:
    dimmed = 1 - 0.75 * np.clip(weather["cloud_fraction"], 0, 1) ** 3.4
    clear = clear_sky(weather.time, place)
    weather = _with(weather, "global_horizontal", clear.global_horizontal * dimmed)
    level = np.maximum(weather["global_horizontal"], 0.0)
    weather = replace(weather, series=weather.series | {"global_horizontal": level})
    parts = _parts(weather, place)
    for name in ("direct_normal", "diffuse"):
        weather = _with(weather, name, getattr(parts, name))
    return weather


def _parts(weather: Weather, place: Place) -> Irradiance:
    """Direct and diffuse by Erbs, or what one of them leaves of the global when the other was measured."""
    level = weather["global_horizontal"]
    if not weather.known("direct_normal"):
        return split_global(weather.time, place, level)
    cosine = np.maximum(np.cos(sun_position(weather.time, place).zenith), 0.0)
    direct = np.maximum(np.nan_to_num(weather["direct_normal"]), 0.0)
    return Irradiance(level, direct, np.maximum(level - direct * cosine, 0.0))


def resampled(weather: Weather, step: float) -> Weather:
    """The weather at even steps of time, linear in between.

    Parameters
    ----------
    weather : Weather
    step : float
        s.

    References
    ----------
    Linear interpolation.

    Examples
    --------
    >>> two = Weather(np.array([0.0, 3600.0]), {"air_temperature": np.array([280.0, 286.0])})
    >>> resampled(two, 1200.0)["air_temperature"].round(6).tolist()
    [280.0, 282.0, 284.0, 286.0]
    """
    count = int((weather.time[-1] - weather.time[0]) / step + 1e-9)
    time = weather.time[0] + step * np.arange(count + 1)
    series = {name: np.interp(time, weather.time, values) for name, values in weather.series.items()}
    return replace(weather, time=time, series=series)


def between(weather: Weather, start: float, end: float) -> Weather:
    """The part of the weather from one time to another, both included.

    Parameters
    ----------
    weather : Weather
    start, end : float
        UTC seconds.

    Raises
    ------
    InputError
        When fewer than two times lie between.

    References
    ----------
    Selection.

    Examples
    --------
    >>> day = Weather(3600.0 * np.arange(25), {})
    >>> between(day, 3600.0, 7200.0).time.tolist()
    [3600.0, 7200.0]
    """
    inside = (weather.time >= start) & (weather.time <= end)
    series = {name: values[inside] for name, values in weather.series.items()}
    if inside.sum() < 2:
        raise InputError(
            f"The weather runs from {weather.time[0]:.0f} to {weather.time[-1]:.0f} s UTC and has fewer "
            f"than two rows between {start:.0f} and {end:.0f}. Choose a time that it covers."
        )
    return replace(weather, time=weather.time[inside], series=series)


def from_extremes(day: float, place: Place, *, lowest: float, highest: float, step: float = 600.0) -> Weather:
    """A day's air temperature from its two extremes: lowest at sunrise, highest two hours after noon.

    Half a cosine between the two. All else is left to `completed`.

    Parameters
    ----------
    day : float
        Any second of the UTC day, counted from the local midnight that is nearest to it by longitude.
    place : Place
    lowest, highest : float
        K.
    step : float
        s.

    Raises
    ------
    InputError
        When the lowest is above the highest.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> weather = from_extremes(1718928000.0, Place(40.0, -105.0), lowest=285.0, highest=300.0)
    >>> [round(float(f(weather["air_temperature"])), 2) for f in (np.min, np.max)]
    [285.0, 300.0]
    """
    if lowest > highest:
        raise InputError(f"The lowest air temperature ({lowest} K) is above the highest ({highest} K): swap them.")
    start = np.floor(day / _DAY) * _DAY - place.lon_deg * 240.0
    time = start + step * np.arange(int(_DAY / step) + 1)
    rise, noon, _ = sun_times([start + 0.5 * _DAY], place)
    coldest = float(rise[0]) if np.isfinite(rise[0]) else float(noon[0]) - 0.25 * _DAY
    warming = float(noon[0]) + 7200.0 - coldest
    since = np.mod(time - coldest, _DAY)
    cooling = (since - warming) / (_DAY - warming)
    phase = np.where(since < warming, since / warming - 1.0, cooling)
    middle, half = 0.5 * (lowest + highest), 0.5 * (highest - lowest)
    air = middle + half * np.cos(np.pi * phase)
    note = "air temperature drawn between the day's extremes: lowest at sunrise, highest two hours after noon"
    return Weather(time, {"air_temperature": air}, notes=(note,))
