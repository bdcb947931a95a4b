"""A day of a radiation network's station in SURFRAD format: one row a minute, UTC, a flag beside each value.

The header gives the longitude without a sign. The file's own solar zenith angles say which hemisphere is meant.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FileError
from groundglow.model.ground import Weather
from groundglow.model.sun import Place, sun_position

__all__ = ["read_station"]

Array = NDArray[np.float64]

_COLUMNS = 48
_MISSING = -9000.0
_ZENITH = 7
_MOST_APART_DEG = 1.0  # refraction near the horizon included
#: Column of the value (its flag follows) -> (series, factor, shift). Order from the network's description, from memory.
_SERIES: dict[int, tuple[str, float, float]] = {
    8: ("global_horizontal", 1.0, 0.0),
    10: ("shortwave_up", 1.0, 0.0),
    12: ("direct_normal", 1.0, 0.0),
    14: ("diffuse", 1.0, 0.0),
    16: ("longwave_down", 1.0, 0.0),
    22: ("longwave_up", 1.0, 0.0),
    38: ("air_temperature", 1.0, 273.15),
    40: ("relative_humidity", 0.01, 0.0),
    42: ("wind_speed", 1.0, 0.0),
    46: ("pressure", 100.0, 0.0),
}
_SUNSHINE = ("global_horizontal", "shortwave_up", "direct_normal", "diffuse")


def read_station(path: Path) -> tuple[Weather, Place]:
    """Weather of one station file and its place.

    Values whose flag is not 0 are unknown; negative sunshine (a pyranometer's offset at night) is zero, relative
    humidity is held to 0..1.

    Raises
    ------
    FileError
        When a row has not 48 numbers, or the zenith angles fit neither hemisphere.
    """
    lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    lat_deg, lon_deg, height = _header(path, lines[1])
    table = _numbers(path, lines[2:])
    time = _times(table)
    series = {name: table[:, column] * factor + shift for column, (name, factor, shift) in _SERIES.items()}
    bad = {name: (table[:, c + 1] != 0) | (table[:, c] < _MISSING) for c, (name, *_) in _SERIES.items()}
    for name in _SUNSHINE:
        series[name] = np.maximum(series[name], 0.0)
    series["relative_humidity"] = np.clip(series["relative_humidity"], 0.0, 1.0)
    known = {name: np.where(bad[name], np.nan, values) for name, values in series.items()}
    place, note = _hemisphere(path, time, table[:, _ZENITH], (lat_deg, lon_deg, height))
    heights = "the heights of the sensors are not in the file: 10 m for wind and 2 m for air taken"
    return Weather(time, known, notes=(note, heights)), place


def _header(path: Path, line: str) -> tuple[float, float, float]:
    try:
        lat_deg, lon_deg, height = (float(word) for word in line.split()[:3])
    except ValueError as error:
        raise FileError(path, f"its second line gives no latitude, longitude and height: {line!r}") from error
    return lat_deg, lon_deg, height


def _numbers(path: Path, lines: list[str]) -> Array:
    rows = [line.split() for line in lines if line.strip()]
    wrong = next((i for i, row in enumerate(rows) if len(row) != _COLUMNS), None)
    if wrong is not None or not rows:
        found = f"{len(rows[wrong])} numbers" if wrong is not None else "no row"
        raise FileError(path, f"line {(wrong or 0) + 3} has {found}; a row of this format has {_COLUMNS}")
    try:
        return np.array(rows, dtype=float)
    except ValueError as error:
        raise FileError(path, f"holds something that is no number: {error}") from error


def _times(table: Array) -> Array:
    year, month, day, hour, minute = (table[:, i] for i in (0, 2, 3, 4, 5))
    months = (year - 1970).astype(int) * 12 + month.astype(int) - 1
    days = months.astype("datetime64[M]").astype("datetime64[D]").astype(float) + day - 1
    return np.asarray(days * 86400.0 + hour * 3600.0 + minute * 60.0)


def _hemisphere(path: Path, time: Array, zenith_deg: Array, header: tuple[float, float, float]) -> tuple[Place, str]:
    """The place with the sign of longitude that makes the sun stand where the file says."""
    lat_deg, lon_deg, height = header
    told = zenith_deg > _MISSING
    for sign in (1, -1):
        place = Place(lat_deg, sign * lon_deg, height)
        ours = np.degrees(sun_position(time[told], place).apparent_zenith)
        if np.abs(ours - zenith_deg[told]).max() < _MOST_APART_DEG:
            return place, f"longitude {place.lon_deg:g} degrees: its sign told by the file's solar zenith angles"
    raise FileError(path, "its solar zenith angles fit neither east nor west longitude", "Check the header's place.")
