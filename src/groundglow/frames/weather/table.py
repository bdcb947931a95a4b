"""A weather table with named columns, and the conditions of a visit as weather."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.frames.tables import QUANTITIES, Row, read_rows
from groundglow.model.ground import Weather
from groundglow.records.visit import Conditions

__all__ = ["TABLE_COLUMNS", "read_table", "weather_from_conditions"]

_AS_CONDITIONS = {
    "air_temperature_c": "air_temperature",
    "relative_humidity_pct": "relative_humidity",
    "pressure_hpa": "pressure",
    "wind_speed_m_s": "wind_speed",
    "irradiance_w_m2": "global_horizontal",
    "cloud_fraction": "cloud_fraction",
}
_RADIATION = {
    "direct_normal_w_m2": ("direct_normal", -20, 1600),
    "diffuse_w_m2": ("diffuse", -20, 1600),
    "shortwave_up_w_m2": ("shortwave_up", -20, 1600),
    "longwave_down_w_m2": ("longwave_down", 30, 700),
    "longwave_up_w_m2": ("longwave_up", 30, 1500),
}

#: Column of the file -> (series of the weather, factor, shift, lowest and highest in the file's unit).
TABLE_COLUMNS: dict[str, tuple[str, float, float, float, float]] = {
    column: (name, q.factor, q.shift, q.low, q.high)
    for column, name in _AS_CONDITIONS.items()
    for q in (QUANTITIES[column],)
} | {column: (name, 1.0, 0.0, low, high) for column, (name, low, high) in _RADIATION.items()}


def read_table(path: Path) -> Weather:
    """Weather from a CSV file with ``time_utc`` and columns of `TABLE_COLUMNS`; blank is unknown.

    Raises
    ------
    FileError, InputError
        With the row's number; also for a file without any column that we know.
    """
    rows = sorted(read_rows(path), key=lambda row: _time(row))
    if not rows:
        raise InputError(f"{path}: has no row of weather; write at least a day of them")
    present = [name for name in TABLE_COLUMNS if name in rows[0].cells]
    if not present:
        raise InputError(f"{path}: has no column of weather; the names are {', '.join(TABLE_COLUMNS)}")
    unknown = [name for name in rows[0].cells if name and name not in TABLE_COLUMNS and name != "time_utc"]
    notes = (f"{path.name}: columns not used: {', '.join(unknown)}",) if unknown else ()
    series = {TABLE_COLUMNS[name][0]: _series(rows, name) for name in present}
    return Weather(np.array([_time(row) for row in rows]), series, notes=notes)


def _time(row: Row) -> float:
    time = row.time_of("time_utc")
    if time is None:
        raise row.error("time_utc", "is missing: write the time of this row, such as 2026-02-03T04:05:06Z")
    return time


def _series(rows: list[Row], name: str) -> NDArray[np.float64]:
    _, factor, shift, low, high = TABLE_COLUMNS[name]
    values = [row.number_of(name) for row in rows]
    for row, value in zip(rows, values, strict=True):
        if value is not None and not low <= value <= high:
            raise row.error(name, f"is out of range; allowed {low:g} to {high:g}")
    return np.array([np.nan if value is None else value for value in values], dtype=float) * factor + shift


def weather_from_conditions(conditions: Conditions) -> Weather:
    """The conditions of a visit as weather: ``irradiance`` is taken as that on level ground.

    Raises
    ------
    InputError
        When there are fewer than two rows.
    """
    pairs = [(QUANTITIES[column].name, name) for column, name in _AS_CONDITIONS.items()]
    series = {ours: conditions.values[theirs] for theirs, ours in pairs if theirs in conditions.values}
    return Weather(conditions.time, series, notes=conditions.notes)
