"""Surface temperature through the hours: conduction below, sun, sky and air above, with its doubt."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.model.doubt import Doubt
from groundglow.model.facing import sky_share
from groundglow.model.ground.body import Ground
from groundglow.model.ground.conduction import Grid, Layer, grid, march
from groundglow.model.ground.forcing import Weather, completed, resampled
from groundglow.model.humidity import saturation_vapour_pressure
from groundglow.model.planck import black_body_exitance
from groundglow.model.sun import Irradiance, Place, plane_irradiance, sun_position, sunlit

__all__ = ["Heat", "Plane", "SurfaceSeries", "forecast"]

Array = NDArray[np.float64]
_DAY = 86400.0
_MELTING = 273.15  # K
_CLOSED = 0.02  # K between the ends of a repeated day
_REPEATS = 60
_LONGEST_STEP, _SHORTEST_STEP = 600.0, 60.0
_AIR_SD = 0.5  # K
_SOLAR_SD, _ASSUMED_SOLAR_SD = 0.03, 0.10  # shares
_LONGWAVE_SD, _MODELLED_SD, _BLIND_SD = 5.0, 15.0, 30.0  # W/m2


@dataclass(frozen=True)
class Plane:
    """How the surface stands: tilt and azimuth rad (0 level, facing up), and the horizon that hides the sun."""

    tilt: float = 0.0
    azimuth: float = 0.0
    horizon_azimuth: tuple[float, ...] = ()
    horizon_elevation: tuple[float, ...] = ()


@dataclass(frozen=True)
class Heat:
    """Heat set free inside the body, such as by a current: W/m2 at a depth m under the surface."""

    power: float
    depth: float = 0.0


@dataclass(frozen=True)
class SurfaceSeries:
    """Surface temperature K over ``time`` (UTC seconds) with its doubt; ``weather`` as completed, ``notes``."""

    time: Array
    temperature: Array
    doubt: Doubt
    weather: Weather
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Case:
    """All that one run needs."""

    ground: Ground
    weather: Weather
    place: Place
    plane: Plane = field(default_factory=Plane)
    heat: Heat | None = None


def forecast(
    of: Ground, weather: Weather, place: Place, *, plane: Plane | None = None, heat: Heat | None = None
) -> SurfaceSeries:
    """Surface temperature through the weather, K, hour by hour with its doubt.

    The first day is repeated until its ends meet within 0.02 K (a state that owes nothing to the first guess: the
    day's mean air temperature, the same at all depths), then the whole series runs once. A single day is thus
    taken to be like the day before it.

    Parameters
    ----------
    of : Ground
    weather : Weather
        At least a day; unknown series are filled by `groundglow.model.ground.forcing.completed`.
    place : Place
    plane : Plane, optional
        Level and unshaded by default.
    heat : Heat, optional
        Heat set free inside.

    Returns
    -------
    SurfaceSeries
        At the weather's own spacing, between one and ten minutes.

    Raises
    ------
    InputError
        When the weather is shorter than a day, or lacks air temperature.

    Notes
    -----
    The doubt has signed sensitivities for thermal inertia, exchange with the air, sunshine, albedo, longwave,
    evaporation and air temperature, by running each again a little changed, and the model's own part. Freezing
    soil, rain, fog on the ground and what people do are not in it.

    References
    ----------
    See `groundglow.model.ground.conduction`, `turbulence`; `groundglow.model.longwave` and `sun`.

    Examples
    --------
    >>> from groundglow.model.ground import from_extremes, ground
    >>> place = Place(48.0, 11.0, 500.0)
    >>> weather = from_extremes(1718928000.0, place, lowest=285.0, highest=298.0)
    >>> day = forecast(ground("asphalt on gravel"), weather, place)
    >>> bool(day.temperature.max() > weather["air_temperature"].max() + 10)
    True
    """
    full = _even(completed(weather, place))
    case = _Case(of, full, place, plane or Plane(), heat)
    surface, state = _surface(case)
    sources = {name: _surface(changed, state)[0] - surface for name, changed in _varied(case).items()}
    doubt = Doubt(np.full(surface.shape, of.model_sd), flight=sources)
    return SurfaceSeries(full.time, surface, doubt, full, full.notes)


def _even(weather: Weather) -> Weather:
    """At even steps that divide the day; 24 hourly rows become a day by coming back to the first."""
    covered, widest = float(weather.time[-1] - weather.time[0]), float(np.max(np.diff(weather.time)))
    if covered < _DAY - 1.5 * widest or covered < 0.75 * _DAY:
        raise InputError(f"The weather covers {covered / 3600:.1f} hours; the ground needs a day or more to settle.")
    spacing = float(np.clip(np.median(np.diff(weather.time)), _SHORTEST_STEP, _LONGEST_STEP))
    step = _DAY / np.ceil(_DAY / spacing)
    return resampled(_closed(weather) if covered < _DAY - 1.5 * step else weather, step)


def _closed(weather: Weather) -> Weather:
    series = {name: np.append(values, values[0]) for name, values in weather.series.items()}
    return replace(weather, time=np.append(weather.time, weather.time[0] + _DAY), series=series)


def _rows(case: _Case) -> Array:
    """What drives the surface at each time, in the order that `march` reads."""
    weather, air = case.weather, case.weather["air_temperature"]
    share = float(sky_share(case.plane.tilt))
    thermal = share * weather["longwave_down"] + (1 - share) * black_body_exitance(air)
    saturation = saturation_vapour_pressure(air)
    body = case.ground
    return np.column_stack(
        [
            (1 - body.albedo) * _sunshine(case) + body.emissivity * thermal,
            np.full(air.shape, body.emissivity),
            air,
            weather["wind_speed"],
            weather["relative_humidity"] * saturation,
            saturation,
            weather["pressure"],
        ]
    )


def _sunshine(case: _Case) -> Array:
    weather, plane = case.weather, case.plane
    if plane.tilt == 0 and not plane.horizon_azimuth:
        return weather["global_horizontal"]
    sun = sun_position(weather.time, case.place)
    solar = Irradiance(weather["global_horizontal"], weather["direct_normal"], weather["diffuse"])
    lit = True if not plane.horizon_azimuth else sunlit(sun, plane.horizon_azimuth, plane.horizon_elevation)
    return plane_irradiance(solar, sun, tilt=plane.tilt, azimuth=plane.azimuth, lit=lit)


def _law(case: _Case) -> Array:
    heights = {"wind_height": case.weather.wind_height, "air_height": case.weather.air_height}
    return replace(case.ground.exchange, **heights).law()


@dataclass(frozen=True)
class _Drive:
    """A case turned into the numbers that `march` takes; one row a time."""

    nodes: Grid
    rows: Array
    bottom: Array
    inside: Array
    step: float
    law: Array
    ceiling: float

    def run(self, state: Array, times: NDArray[np.intp]) -> Array:
        """Node temperatures at the rows of these numbers, from a state at the first."""
        n = self.nodes
        given = self.bottom[times], self.inside[times], self.step, self.rows[times], self.law, self.ceiling
        return np.asarray(march(state, n.capacity, n.conductance, *given))

    @property
    def day(self) -> int:
        """Steps in a day."""
        return round(_DAY / self.step)


def _drive(case: _Case) -> _Drive:
    nodes, rows, body = grid(case.ground.layers), _rows(case), case.ground
    bottom, inside = np.zeros((len(rows), 2)), np.zeros((len(rows), nodes.depth.size))
    if body.under is not None:
        bottom[:, 0] = body.under.conductance
        bottom[:, 1] = rows[:, 2] if body.under.temperature is None else body.under.temperature
    if case.heat is not None:
        inside[:, int(np.argmin(np.abs(nodes.depth - case.heat.depth)))] = case.heat.power
    step = float(case.weather.time[1] - case.weather.time[0])
    return _Drive(nodes, rows, bottom, inside, step, _law(case), _MELTING if body.melts else np.inf)


def _surface(case: _Case, state: Array | None = None) -> tuple[Array, Array]:
    """Surface temperature over the series, and the settled state at its start."""
    drive = _drive(case)
    air = drive.rows[: drive.day, 2].mean()
    start = np.full(drive.nodes.depth.size, air) if state is None else state
    level = case.ground.under is None and case.heat is None and not case.ground.melts
    settled = _settled(drive, start, level=level)
    return drive.run(settled, np.arange(len(drive.rows)))[:, 0], settled


def _settled(drive: _Drive, state: Array, *, level: bool) -> Array:
    """Node temperatures at the start, after repeating the first day until it closes on itself."""
    times = np.append(np.arange(drive.day), 0)
    for repeat in range(_REPEATS):
        through = drive.run(state, times)
        state = through[-1]
        if np.abs(through[-1] - through[0]).max() < _CLOSED:
            break
        if level and repeat < _REPEATS // 4:
            state = state + (through[:, :1] - through).mean(axis=0)  # no heat passes a closed bottom on the mean
    return state


def _varied(case: _Case) -> dict[str, _Case]:
    """The case again for each source of doubt, changed by its standard uncertainty."""
    grounds = {name: replace(case, ground=body) for name, body in _bodies(case.ground).items()}
    skies = {
        name: replace(case, weather=replace(case.weather, series=case.weather.series | values))
        for name, values in _skies(case.weather).items()
    }
    return grounds | skies


def _bodies(body: Ground) -> dict[str, Ground]:
    """The ground with more inertia, more absorbed, more exchange and less evaporation."""
    more, less = 1 + body.inertia_sd, 1 - body.evaporation_sd
    layers = tuple(Layer(la.thickness, la.conductivity * more, la.heat_capacity * more) for la in body.layers)
    air = body.exchange
    brisk = replace(air, factor=air.factor * (1 + body.exchange_sd))
    dry = replace(air, wet_share=less * air.wet_share, latent_per_sensible=less * air.latent_per_sensible)
    return {
        "thermal inertia": replace(body, layers=layers),
        "albedo": replace(body, albedo=body.albedo - body.albedo_sd),
        "exchange with the air": replace(body, exchange=brisk),
        "evaporation": replace(body, exchange=dry),
    }


def _skies(weather: Weather) -> dict[str, dict[str, Array]]:
    """The weather with more sunshine, more longwave and warmer air."""
    share = 1 + (_ASSUMED_SOLAR_SD if "global_horizontal" in weather.assumed else _SOLAR_SD)
    return {
        "sunshine": {n: weather[n] * share for n in ("global_horizontal", "direct_normal", "diffuse")},
        "longwave of the sky": {"longwave_down": weather["longwave_down"] + _longwave_sd(weather)},
        "air temperature": {"air_temperature": weather["air_temperature"] + _AIR_SD},
    }


def _longwave_sd(weather: Weather) -> float:
    """Standard uncertainty, W/m2: measured, modelled, or modelled with a cloud that nobody saw."""
    if "longwave_down" not in weather.assumed:
        return _LONGWAVE_SD
    blind = {"cloud_fraction", "global_horizontal"} <= weather.assumed
    return _BLIND_SD if blind else _MODELLED_SD
