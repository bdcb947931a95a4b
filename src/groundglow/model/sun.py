"""The sun: where it stands, when it rises, what it brings to a plane, and shade.

Positions, the clear sky and the split into direct and diffuse come from pvlib (extra ``sun``); this module turns
them into plain arrays over UTC seconds, and adds planes and horizons. Angles are rad; a zenith angle is 0
overhead, an azimuth runs clockwise from true north.
"""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError, MissingExtraError
from groundglow.model.facing import direction, sky_share, surface_normal

__all__ = [
    "Irradiance",
    "Place",
    "Sun",
    "clear_sky",
    "plane_irradiance",
    "split_global",
    "sun_position",
    "sun_times",
    "sunlit",
]

Array = NDArray[np.float64]

#: Terrestrial minus universal time, s; 69 in the 2020s. An error of 10 s moves the sun by 0.00003 degrees.
DELTA_T = 69.0
_REFRACTION_AT_RISING_DEG = 0.5667  # Reda & Andreas 2004
_DAY = 86400.0


@dataclass(frozen=True)
class Place:
    """Where on the earth: latitude and longitude in degrees (north and east positive), height above sea in m."""

    lat_deg: float
    lon_deg: float
    height: float = 0.0

    def __post_init__(self) -> None:
        """Refuse places that are not on the earth."""
        if not (-90 <= self.lat_deg <= 90 and -180 <= self.lon_deg <= 180):
            raise InputError(
                f"No such place: lat_deg is {self.lat_deg}, lon_deg {self.lon_deg}; allowed -90 to 90 and -180 to 180 "
                "(degrees, north and east positive). Check the order and the sign of west."
            )

    @property
    def pressure(self) -> float:
        """Pressure of the standard atmosphere at this height, Pa (ISO 2533)."""
        return float(101325.0 * (1 - 2.25577e-5 * self.height) ** 5.25588)


@dataclass(frozen=True)
class Sun:
    """Position of the sun: arrays over time, rad. ``apparent_zenith`` includes refraction, ``zenith`` does not."""

    zenith: Array
    azimuth: Array
    apparent_zenith: Array

    @property
    def towards(self) -> Array:
        """Unit vectors (east, north, up) to the sun, shape (N, 3)."""
        return direction(self.apparent_zenith, self.azimuth)


@dataclass(frozen=True)
class Irradiance:
    """Solar irradiance, W/m2, arrays of one shape: on level ground, direct on a plane normal to it, diffuse."""

    global_horizontal: Array
    direct_normal: Array
    diffuse: Array


def _pvlib(part: str) -> Any:
    try:
        return importlib.import_module(f"pvlib.{part}")
    except ModuleNotFoundError as error:
        raise MissingExtraError('pvlib is not installed. Install it with: pip install "groundglow[sun]"') from error


def sun_position(
    time: ArrayLike,
    place: Place,
    *,
    pressure: float | None = None,
    temperature: float = 285.15,
    delta_t: float = DELTA_T,
) -> Sun:
    """Where the sun stands.

    Parameters
    ----------
    time : array_like, shape (N,)
        Seconds since 1970-01-01T00:00Z.
    place : Place
    pressure : float, optional
        Yearly mean pressure, Pa, for the refraction; by default that of the height.
    temperature : float
        Yearly mean air temperature, K, for the refraction.
    delta_t : float
        Terrestrial minus universal time, s.

    Returns
    -------
    Sun
        Arrays of shape (N,).

    References
    ----------
    Reda & Andreas 2004, Sol. Energy 76:577, NREL/TP-560-34302, through pvlib; 0.0003 degrees.

    Examples
    --------
    17 October 2003, 12:30:30 at UTC-7 (the report's worked example, table A5.1):

    >>> place = Place(39.742476, -105.1786, 1830.14)
    >>> sun = sun_position([1066419030.0], place, pressure=82000.0, temperature=284.15, delta_t=67.0)
    >>> float(np.degrees(sun.apparent_zenith[0]).round(4)), float(np.degrees(sun.azimuth[0]).round(4))
    (50.1116, 194.3402)
    """
    seconds = np.atleast_1d(np.asarray(time, dtype=float))
    pascal = place.pressure if pressure is None else pressure
    apparent, zenith, _, _, azimuth, _ = _pvlib("spa").solar_position(
        seconds,
        place.lat_deg,
        place.lon_deg,
        place.height,
        pascal / 100,
        temperature - 273.15,
        delta_t,
        _REFRACTION_AT_RISING_DEG,
    )
    return Sun(np.radians(zenith), np.radians(azimuth), np.radians(apparent))


def sun_times(time: ArrayLike, place: Place, *, delta_t: float = DELTA_T) -> tuple[Array, Array, Array]:
    """Sunrise, transit and sunset that belong to the UTC days of some times.

    Parameters
    ----------
    time : array_like, shape (N,)
        Any second of each UTC day.
    place : Place
    delta_t : float
        s.

    Returns
    -------
    sunrise, transit, sunset : ndarray, shape (N,)
        UTC seconds; sunrise and sunset are NaN in polar day and night. The sunset of a place far west falls into
        the next UTC day.

    References
    ----------
    Reda & Andreas 2004, appendix A.2, through pvlib.

    Examples
    --------
    Table A2.1 of the report: 2 January 1994, 35 degrees north on the meridian, sunrise 07:08:12.8.

    >>> rise, _, _ = sun_times([757468800.0], Place(35.0, 0.0), delta_t=0.0)
    >>> round(float(rise[0]) - 757468800.0 - 7 * 3600 - 8 * 60, 0)
    13.0
    """
    seconds = np.atleast_1d(np.asarray(time, dtype=float))
    days = np.floor(seconds / _DAY) * _DAY
    transit, sunrise, sunset = _pvlib("spa").transit_sunrise_sunset(days, place.lat_deg, place.lon_deg, delta_t, 1)
    rise, noon, fall = (np.asarray(t, dtype=float) for t in (sunrise, transit, sunset))
    return noon + _wrapped(rise - noon), noon, noon + _wrapped(fall - noon, after=True)


def _wrapped(difference: Array, *, after: bool = False) -> Array:
    """Brings sunrise to the half day before the transit, and sunset to that after it."""
    whole = np.mod(difference, _DAY)
    return whole if after else whole - _DAY


def _day_of_year(time: Array) -> Array:
    days = time.astype("datetime64[s]").astype("datetime64[D]")
    return np.asarray((days - days.astype("datetime64[Y]")).astype(float) + 1)


def clear_sky(time: ArrayLike, place: Place, *, turbidity: float = 3.0) -> Irradiance:
    """Solar irradiance under a cloudless sky, W/m2.

    Parameters
    ----------
    time : array_like, shape (N,)
        UTC seconds.
    place : Place
    turbidity : float
        Linke turbidity: 2 very clear, 3 rural, 5 hazy.

    References
    ----------
    Ineichen & Perez 2002, Sol. Energy 73:151; Kasten & Young 1989 (air mass), both through pvlib.

    Examples
    --------
    Noon (UTC-7) of 21 June 2024 at 40 N 105 W, 1600 m:

    >>> sky = clear_sky([1718996400.0], Place(40.0, -105.0, 1600.0))
    >>> [round(float(part[0])) for part in (sky.global_horizontal, sky.direct_normal, sky.diffuse)]
    [1067, 977, 130]
    """
    seconds = np.atleast_1d(np.asarray(time, dtype=float))
    zenith = np.degrees(sun_position(seconds, place).apparent_zenith)
    up = zenith < 90
    shown = np.where(up, zenith, 89.9)
    air_mass = _pvlib("atmosphere").get_relative_airmass(shown) * place.pressure / 101325.0
    outside = _pvlib("irradiance").get_extra_radiation(_day_of_year(seconds))
    sky = _pvlib("clearsky").ineichen(shown, air_mass, turbidity, place.height, dni_extra=outside)
    return Irradiance(*(np.where(up, np.asarray(sky[name]), 0.0) for name in ("ghi", "dni", "dhi")))


def split_global(time: ArrayLike, place: Place, global_horizontal: ArrayLike) -> Irradiance:
    """Direct and diffuse part of a measured global irradiance, W/m2.

    Parameters
    ----------
    time : array_like, shape (N,)
        UTC seconds.
    place : Place
    global_horizontal : array_like, shape (N,)
        W/m2; negative offsets of a pyranometer at night count as zero.

    References
    ----------
    Erbs, Klein & Duffie 1982, Sol. Energy 28:293, through pvlib.

    Examples
    --------
    >>> parts = split_global([1718996400.0], Place(40.0, -105.0, 1600.0), [300.0])
    >>> bool(parts.diffuse[0] > 250)  # an overcast noon is all diffuse
    True
    """
    seconds = np.atleast_1d(np.asarray(time, dtype=float))
    level = np.maximum(np.asarray(global_horizontal, dtype=float), 0.0)
    zenith = np.degrees(sun_position(seconds, place).zenith)
    parts = _pvlib("irradiance").erbs(level, zenith, _day_of_year(seconds))
    direct = np.nan_to_num(np.asarray(parts["dni"]))
    diffuse = level - direct * np.maximum(np.cos(np.radians(zenith)), 0.0)
    return Irradiance(level, direct, np.maximum(diffuse, 0.0))


def sunlit(sun: Sun, azimuth: ArrayLike, elevation: ArrayLike) -> NDArray[np.bool_]:
    """Whether the sun stands above a horizon of hills, walls and trees.

    Parameters
    ----------
    sun : Sun
        N positions.
    azimuth, elevation : array_like, shape (M,)
        The horizon: elevation angle at some azimuths, rad, linear between them and round the circle.

    References
    ----------
    Definition.

    Examples
    --------
    A wall 45 degrees high to the east hides a morning sun of 30 degrees:

    >>> morning = Sun(np.radians([60.0]), np.radians([90.0]), np.radians([60.0]))
    >>> sunlit(morning, np.radians([80, 100, 101, 79]), np.radians([45, 45, 0, 0]))
    array([False])
    """
    around = np.mod(np.asarray(azimuth, dtype=float), 2 * np.pi)
    order = np.argsort(around)
    height = np.interp(sun.azimuth, around[order], np.asarray(elevation, float)[order], period=2 * np.pi)
    return np.asarray(0.5 * np.pi - sun.apparent_zenith > np.maximum(height, 0.0))


def plane_irradiance(
    irradiance: Irradiance,
    sun: Sun,
    *,
    tilt: float = 0.0,
    azimuth: float = 0.0,
    albedo: float = 0.2,
    lit: ArrayLike = True,
) -> Array:
    """Solar irradiance on a tilted plane, W/m2: direct, diffuse from the sky it sees, and the ground's reflection.

    Parameters
    ----------
    irradiance : Irradiance
    sun : Sun
        Of the same times.
    tilt, azimuth : float
        Of the plane, rad: 0 level and facing up; the direction it faces, clockwise from north.
    albedo : float
        Of the ground in front, 0..1.
    lit : array_like of bool
        False where the direct sun is hidden, see `sunlit`.

    References
    ----------
    Liu & Jordan 1963, Sol. Energy 7:53: isotropic diffuse sky and ground (from memory).

    Examples
    --------
    >>> noon = Sun(np.radians([60.0]), np.radians([180.0]), np.radians([60.0]))
    >>> south = plane_irradiance(Irradiance(np.array([550.0]), np.array([1000.0]), np.array([50.0])), noon,
    ...                          tilt=np.radians(60), azimuth=np.radians(180))
    >>> float(south.round(1)[0])  # 1000 + 50 * 0.75 + 550 * 0.2 * 0.25
    1065.0
    """
    cosine = np.maximum(sun.towards @ surface_normal(tilt, azimuth), 0.0)
    up = sun.apparent_zenith < 0.5 * np.pi
    direct = np.where(np.asarray(lit) & up, irradiance.direct_normal * cosine, 0.0)
    share = sky_share(tilt)
    return np.asarray(direct + irradiance.diffuse * share + irradiance.global_horizontal * albedo * (1 - share))
