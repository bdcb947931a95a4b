"""CSV tables of a visit: conditions and reference targets, to SI, with the row number in every error."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FileError, InputError
from groundglow.frames.clock import iso_time
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.records.visit import Conditions, Reference

__all__ = ["Row", "read_conditions", "read_references", "read_rows"]

KINDS = ("water", "board", "tape", "heated", "foil")


@dataclass(frozen=True)
class Row:
    """One row of a CSV file with its place, so that errors can name it.

    Cells are stripped; a blank cell or one that is not there is unknown (None).
    """

    path: Path
    number: int
    cells: Mapping[str, str]

    def text(self, name: str) -> str | None:
        """The cell's text; None when blank."""
        return self.cells.get(name, "") or None

    def number_of(self, name: str) -> float | None:
        """The cell as a number; None when blank.

        Raises
        ------
        InputError
            When it is not a finite number.
        """
        text = self.text(name)
        if text is None:
            return None
        try:
            value = float(text)
        except ValueError:
            value = np.nan
        if not np.isfinite(value):
            raise self.error(name, "is not a number; write a decimal point, or leave it blank if unknown")
        return value

    def time_of(self, name: str) -> float | None:
        """The cell as UTC seconds; None when blank.

        Raises
        ------
        InputError
            When it is no ISO 8601 time.
        """
        text = self.text(name)
        time = None if text is None else iso_time(text)
        if text is not None and time is None:
            raise self.error(name, "is not a time; write it as 2026-02-03T04:05:06Z")
        return time

    def error(self, name: str, what: str) -> InputError:
        """An error that names file, row and column and shows the cell."""
        return InputError(f"{self.path}, row {self.number}: {name} = {self.cells.get(name, '')!r} {what}")


def read_rows(path: Path, columns: Mapping[str, str] | None = None) -> list[Row]:
    """Rows of a CSV file with a header; blank lines and lines that begin with ``#`` are passed over.

    Parameters
    ----------
    path : Path
        UTF-8, comma, decimal point.
    columns : mapping of str to str, optional
        Our column name to the file's.

    Raises
    ------
    FileError
        When the file is missing or no UTF-8 text.
    InputError
        When a row has more cells than the header, a column appears twice, or a mapped one is absent.
    """
    try:
        text = path.read_text("utf-8-sig")
    except FileNotFoundError as error:
        raise FileError(path, "there is no such file") from error
    except (OSError, UnicodeDecodeError) as error:
        raise FileError(path, "is not a readable UTF-8 text", "Save it as CSV, UTF-8.") from error
    lines = csv.reader(io.StringIO(text, newline=""))
    numbered = [(lines.line_num, [c.strip() for c in cells]) for cells in lines]
    full = [(n, cells) for n, cells in numbered if any(cells) and not cells[0].startswith("#")]
    if not full:
        raise InputError(f"{path}: is empty; the first row names the columns")
    header = _header(path, full[0][1], columns or {})
    return [_row(path, number, header, cells) for number, cells in full[1:]]


def _header(path: Path, names: list[str], columns: Mapping[str, str]) -> list[str]:
    absent = sorted(set(columns.values()) - set(names))
    if absent:
        raise InputError(
            f"{path}: has no column {', '.join(absent)}, which poses.columns names; it has {', '.join(names)}"
        )
    ours = {theirs: own for own, theirs in columns.items()}
    header = [ours.get(name, name) for name in names]
    twice = sorted({name for name in header if name and header.count(name) > 1})
    if twice:
        raise InputError(f"{path}: the column {', '.join(twice)} appears twice; keep one")
    return header


def _row(path: Path, number: int, header: list[str], cells: list[str]) -> Row:
    if len(cells) > len(header):
        raise InputError(
            f"{path}, row {number}: has {len(cells)} cells, the header {len(header)}. Use a decimal point, "
            "not a comma, and quote texts that hold commas."
        )
    return Row(path, number, dict(zip(header, cells, strict=False)))


@dataclass(frozen=True)
class _Quantity:
    """A column of conditions.csv: our name, how to get to SI, and what is allowed in the file's unit."""

    name: str
    factor: float
    low: float
    high: float
    shift: float = 0.0


QUANTITIES = {
    "air_temperature_c": _Quantity("air_temperature", 1.0, -90, 60, ZERO_CELSIUS),
    "relative_humidity_pct": _Quantity("relative_humidity", 0.01, 0, 100),
    "pressure_hpa": _Quantity("pressure", 100.0, 300, 1100),
    "wind_speed_m_s": _Quantity("wind_speed", 1.0, 0, 115),
    "wind_from_deg": _Quantity("wind_from", np.pi / 180, 0, 360),
    "irradiance_w_m2": _Quantity("irradiance", 1.0, -20, 1600),
    "cloud_fraction": _Quantity("cloud_fraction", 1.0, 0, 1),
    "load_fraction": _Quantity("load_fraction", 1.0, 0, 2),
}


def read_conditions(path: Path) -> Conditions:
    """``conditions.csv``: the weather through a visit, in order of time.

    Celsius becomes K, percent a share, hPa becomes Pa, degrees radians; a column ``<name>_sd`` is the
    standard uncertainty in the same unit. Blank is unknown (NaN). Columns we do not know are kept out of
    the record and named in its notes.

    Raises
    ------
    FileError, InputError
        With the row's number for a cell that is no number, no time or outside what it may be.
    """
    rows = sorted(read_rows(path), key=lambda row: _time(row))
    if not rows:
        raise InputError(f"{path}: has no row of conditions; write one, or remove the file")
    present = [c for c in QUANTITIES if c in rows[0].cells]
    return Conditions(
        time=np.array([_time(row) for row in rows]),
        values={QUANTITIES[c].name: _series(rows, c) for c in present},
        sd={QUANTITIES[c].name: _sd_series(rows, c) for c in present if f"{c}_sd" in rows[0].cells},
        notes=_unknown_columns(path, rows[0], {"time_utc", *QUANTITIES, *(f"{c}_sd" for c in QUANTITIES)}),
    )


def _time(row: Row) -> float:
    time = row.time_of("time_utc")
    if time is None:
        raise row.error("time_utc", "is missing: write the time of this row, such as 2026-02-03T04:05:06Z")
    return time


def _unknown_columns(path: Path, row: Row, known: set[str]) -> tuple[str, ...]:
    unknown = [name for name in row.cells if name and name not in known]
    return (f"{path.name}: columns not used: {', '.join(unknown)}",) if unknown else ()


def _filled(rows: list[Row], cell: Callable[[Row], float | None]) -> NDArray[np.float64]:
    return np.array([np.nan if (value := cell(row)) is None else value for row in rows], dtype=np.float64)


def _series(rows: list[Row], column: str) -> NDArray[np.float64]:
    quantity = QUANTITIES[column]

    def cell(row: Row) -> float | None:
        value = row.number_of(column)
        if value is not None and not quantity.low <= value <= quantity.high:
            raise row.error(column, f"is out of range; allowed {quantity.low} to {quantity.high}")
        return value

    return _filled(rows, cell) * quantity.factor + quantity.shift


def _sd_series(rows: list[Row], column: str) -> NDArray[np.float64]:
    def cell(row: Row) -> float | None:
        value = row.number_of(f"{column}_sd")
        if value is not None and value < 0:
            raise row.error(f"{column}_sd", "is negative; a standard uncertainty is not")
        return value

    return _filled(rows, cell) * QUANTITIES[column].factor


def read_references(path: Path) -> tuple[Reference, ...]:
    """``references.csv``: targets of known temperature, in order of the file, in K.

    Raises
    ------
    FileError, InputError
        With the row's number, also when a target has no place or no uncertainty.
    """
    return tuple(_reference(row) for row in read_rows(path))


def _reference(row: Row) -> Reference:
    return Reference(
        name=row.text("name") or f"row {row.number}",
        kind=_choice(row, "kind", KINDS, None),
        time=row.time_of("time_utc"),
        value=_needed(row, "value_c") + ZERO_CELSIUS,
        standard_uncertainty=_positive(row, "standard_uncertainty_k"),
        use=_choice(row, "use", ("use", "withhold"), "use"),
        frame=row.text("frame"),
        material=row.text("material"),
        **_where(row),
    )


def _choice(row: Row, name: str, allowed: tuple[str, ...], default: str | None) -> str:
    text = row.text(name) or default
    if text not in allowed:
        raise row.error(name, f"is not known; allowed {', '.join(allowed)}")
    return text


def _needed(row: Row, name: str) -> float:
    value = row.number_of(name)
    if value is None:
        raise row.error(name, "is missing: a reference needs it")
    return value


def _positive(row: Row, name: str) -> float:
    value = _needed(row, name)
    if value <= 0:
        raise row.error(name, "has to be above 0: no contact value is without doubt")
    return value


def _where(row: Row) -> dict[str, float | None]:
    place = {n: row.number_of(n) for n in ("lon_deg", "lat_deg")}
    pixel = {"column": row.number_of("x_px"), "row": row.number_of("y_px")}
    on_ground = None not in place.values()
    in_frame = None not in pixel.values() and row.text("frame") is not None
    if not (on_ground or in_frame):
        raise row.error("lon_deg", "is no place: give lon_deg and lat_deg, or frame with x_px and y_px")
    return place | pixel
