"""Typical years, hour by hour: EPW and TMY3 files through pvlib's readers.

Radiation of an hour is dated at its middle. The months of a typical year come from different years; all are dated with
one.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FileError
from groundglow.frames.optional import require
from groundglow.model.ground import Weather
from groundglow.model.sun import Place

__all__ = ["TYPICAL_YEAR", "read_energy_plus", "read_tmy3"]

#: Year that a typical year is dated with: no leap year.
TYPICAL_YEAR = 2001
_HALF_HOUR = 1800.0

#: Series -> (column, factor, shift, value from which on the file says "missing").
_EPW = {
    "air_temperature": ("temp_air", 1.0, 273.15, 99.0),
    "relative_humidity": ("relative_humidity", 0.01, 0.0, 111.0),
    "pressure": ("atmospheric_pressure", 1.0, 0.0, 200000.0),
    "wind_speed": ("wind_speed", 1.0, 0.0, 99.0),
    "global_horizontal": ("ghi", 1.0, 0.0, 9999.0),
    "direct_normal": ("dni", 1.0, 0.0, 9999.0),
    "diffuse": ("dhi", 1.0, 0.0, 9999.0),
    "longwave_down": ("ghi_infrared", 1.0, 0.0, 9999.0),
    "cloud_fraction": ("total_sky_cover", 0.1, 0.0, 99.0),
}
_TMY3 = {
    "air_temperature": ("temp_air", 1.0, 273.15, 99.0),
    "relative_humidity": ("relative_humidity", 0.01, 0.0, 111.0),
    "pressure": ("pressure", 100.0, 0.0, 2000.0),
    "wind_speed": ("wind_speed", 1.0, 0.0, 99.0),
    "global_horizontal": ("ghi", 1.0, 0.0, 9999.0),
    "direct_normal": ("dni", 1.0, 0.0, 9999.0),
    "diffuse": ("dhi", 1.0, 0.0, 9999.0),
    "cloud_fraction": ("TotCld", 0.1, 0.0, 99.0),
}
_RENAMED = {"pressure": "Pressure", "TotCld": "TotCld (tenths)"}


def read_energy_plus(path: Path, year: int = TYPICAL_YEAR) -> tuple[Weather, Place]:
    """Weather and place of an EPW file.

    Raises
    ------
    FileError
        When pvlib cannot read it.
    MissingExtraError
        Without the extra ``sun``.
    """
    return _read("read_epw", path, year, _EPW)


def read_tmy3(path: Path, year: int = TYPICAL_YEAR) -> tuple[Weather, Place]:
    """Weather and place of a TMY3 file.

    Raises
    ------
    FileError
        When pvlib cannot read it.
    MissingExtraError
        Without the extra ``sun``.
    """
    return _read("read_tmy3", path, year, _TMY3)


def _read(
    reader: str, path: Path, year: int, columns: Mapping[str, tuple[str, float, float, float]]
) -> tuple[Weather, Place]:
    readers = require("pvlib.iotools", extra="sun")
    try:
        table, meta = getattr(readers, reader)(str(path), coerce_year=year)
    except (KeyError, ValueError, IndexError, TypeError) as error:
        raise FileError(path, f"cannot be read as a typical year: {error}") from error
    shift = _HALF_HOUR if reader == "read_epw" else -_HALF_HOUR
    time = table.index.tz_convert(None).to_numpy().astype("datetime64[s]").astype(float) + shift
    place = Place(float(meta["latitude"]), float(meta["longitude"]), float(meta["altitude"]))
    series = {name: _series(table, column) for name, column in columns.items() if _column(table, column[0])}
    note = f"a typical year, not a real one: dated {year}"
    return Weather(time, series, notes=(note,)), place


def _column(table: Any, name: str) -> str | None:
    """The column's name in the table; None when it has none."""
    return next((n for n in (name, _RENAMED.get(name, name)) if n in table.columns), None)


def _series(table: Any, column: tuple[str, float, float, float]) -> NDArray[np.float64]:
    name, factor, shift, missing = column
    values = np.asarray(table[_column(table, name)], dtype=float)
    return np.where(values >= missing, np.nan, values * factor + shift)
