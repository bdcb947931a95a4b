"""The files a person writes: ``brief.toml``, ``flight.toml``, ``camera.toml``; checked, with plain errors."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any, TypeVar

from groundglow.errors import FileError, InputError
from groundglow.frames.clock import zone_of
from groundglow.records.brief import Brief
from groundglow.records.edge import EdgeRecord
from groundglow.records.flight import CalibrationSpec, CameraSpec, FlightSpec, ValuesSpec

__all__ = ["read_brief", "read_camera", "read_flight_spec", "read_toml"]

Record = TypeVar("Record", bound=EdgeRecord)

UNITS = {
    "counts": ("counts",),
    "apparent_temperature": ("K", "C"),
    "surface_temperature": ("K", "C"),
    "radiance": ("W m-2 sr-1",),
}


def read_toml(path: Path) -> dict[str, Any]:
    """A TOML file as a mapping.

    Raises
    ------
    FileError
        When the file is missing or no UTF-8 text.
    InputError
        When its syntax is wrong: file, line, and the line itself.
    """
    try:
        text = path.read_text("utf-8-sig")
    except FileNotFoundError as error:
        raise FileError(path, "there is no such file", f"Write {path.name} first.") from error
    except (OSError, UnicodeDecodeError) as error:
        raise FileError(path, "is not a readable UTF-8 text", "Save it as plain text.") from error
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{path}: {_with_line(str(error), text)}") from error


def _with_line(message: str, text: str) -> str:
    """The parser's message with the text of the line it points at."""
    found = re.search(r"line (\d+)", message)
    lines = text.splitlines()
    number = int(found.group(1)) if found else len(lines)
    line = lines[number - 1].strip() if 0 < number <= len(lines) else ""
    return f"{message[:1].lower()}{message[1:]}: {line!r}"


def read_brief(path: Path) -> Brief:
    """``brief.toml``: what is asked.

    Raises
    ------
    FileError, InputError
    """
    return Brief.parse(read_toml(path), str(path))


def read_camera(path: Path) -> CameraSpec:
    """``camera.toml``: a camera of one's own, at top level or under ``[camera]``.

    Raises
    ------
    FileError, InputError
    """
    return _section(path, "camera", CameraSpec)


def _section(path: Path, name: str, record: type[Record]) -> Record:
    raw = read_toml(path)
    return record.parse(raw.get(name, raw), str(path))


def read_flight_spec(path: Path) -> FlightSpec:
    """``flight.toml``: what the recorded values mean; a calibration in a file of its own is read in.

    Raises
    ------
    FileError, InputError
        Also when fields contradict each other, such as a temperature in counts.
    """
    spec = FlightSpec.parse(read_toml(path), str(path))
    if spec.calibration.file:
        named = _section(path.parent / spec.calibration.file, "calibration", CalibrationSpec)
        spec = spec.model_copy(update={"calibration": named})
    faults = [*_value_faults(spec.values), *_calibration_faults(spec), *_zone_faults(spec)]
    if faults:
        raise InputError(f"{path}: " + "; ".join(faults))
    return spec


def _zone_faults(spec: FlightSpec) -> list[str]:
    try:
        zone_of(spec.poses.time_zone)
    except InputError as error:
        return [str(error)]
    return []


def _value_faults(values: ValuesSpec) -> list[str]:
    allowed = UNITS.get(values.kind, (values.unit,))
    faults = []
    if values.unit not in allowed:
        names = " or ".join(f'"{u}"' for u in allowed)
        faults.append(f'values.unit is "{values.unit}" for kind "{values.kind}"; write {names}')
    if values.scale == 0:
        faults.append("values.scale is 0: every pixel would read the same; write the size of one step")
    return faults


def _calibration_faults(spec: FlightSpec) -> list[str]:
    calibration, faults = spec.calibration, []
    if calibration.form == "none":
        given = calibration.coefficients or calibration.covariance
        return ['calibration.form is missing: write "linear" or "sakuma_hattori"'] if given else []
    if spec.values.kind != "counts":
        faults.append(f'calibration is for counts, but values.kind is "{spec.values.kind}"; remove one')
    count = {"linear": 2, "sakuma_hattori": 4}[calibration.form]
    if len(calibration.coefficients) != count:
        found = len(calibration.coefficients)
        faults.append(f"calibration.coefficients has {found} numbers; {calibration.form} takes {count}")
    return [*faults, *_unit_faults(calibration), *_covariance_faults(calibration, count)]


def _unit_faults(calibration: CalibrationSpec) -> list[str]:
    if calibration.form == "sakuma_hattori":
        wrong = calibration.quantity != "temperature" or calibration.unit not in ("", "K")
        return ['calibration: sakuma_hattori gives a temperature in "K"'] if wrong else []
    allowed = ("W m-2 sr-1",) if calibration.quantity == "radiance" else ("K", "C")
    if calibration.unit in allowed:
        return []
    names = " or ".join(f'"{u}"' for u in allowed)
    return [f'calibration.unit is "{calibration.unit}" for a {calibration.quantity}; write {names}']


def _covariance_faults(calibration: CalibrationSpec, count: int) -> list[str]:
    matrix = calibration.covariance
    if matrix is None:
        return []
    if len(matrix) != count or any(len(row) != count for row in matrix):
        return [f"calibration.covariance has to be {count} x {count}, one row a coefficient"]
    uneven = [
        (i, k)
        for i in range(count)
        for k in range(i)
        if abs(matrix[i][k] - matrix[k][i]) > 1e-9 * max(abs(matrix[i][k]), abs(matrix[k][i]))
    ]
    negative = [i for i in range(count) if matrix[i][i] < 0]
    return ["calibration.covariance is not symmetric with variances >= 0"] if uneven or negative else []
