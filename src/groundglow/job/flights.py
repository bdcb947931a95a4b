"""A flight that is added to a job: its folder, its flight.toml, files that come one by one."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomlkit

from groundglow.errors import FileError, FrameError, InputError, JobError
from groundglow.frames.reading import list_frames, readers
from groundglow.frames.specs import read_flight_spec
from groundglow.frames.tables import read_conditions, read_references
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.records.flight import FlightSpec

__all__ = ["add_file", "add_flight", "add_frame", "add_table"]

TABLES = {"conditions.csv": read_conditions, "references.csv": read_references}


def add_flight(
    job: JobFolder, visit: str, name: str, spec: Mapping[str, Any], *, frames: Path | None = None
) -> FlightFolder:
    """A new flight from what a form says.

    Parameters
    ----------
    job : JobFolder
    visit, name : str
        Checked names of folders.
    spec : mapping
        Fields of flight.toml.
    frames : Path, optional
        Folder whose frames are read in place; else they come one by one.

    Raises
    ------
    InputError
        When the spec is faulty; then nothing is left.
    JobError
        When there is such a flight.
    """
    place = job.root / "visits" / visit / "flights" / name
    if place.exists():
        raise JobError(f"There is a flight {visit}/{name} already; choose another name.")
    raw = dict(spec) | ({"frames": str(frames)} if frames else {})
    FlightSpec.parse(_plainly(raw, frames), "flight.toml")
    if frames is not None:
        list_frames(frames)
    (place / "frames").mkdir(parents=True)
    path = place / "flight.toml"
    path.write_text(tomlkit.dumps(_without_none(raw)), encoding="utf-8")
    try:
        read_flight_spec(path)
    except (InputError, FileError) as error:
        if not isinstance(error, FileError):  # a calibration's own file may come later
            path.unlink()
            (place / "frames").rmdir()
            place.rmdir()
            raise InputError(str(error).replace(str(path), "flight.toml")) from error
    return FlightFolder(visit, name, place)


def _plainly(raw: dict[str, Any], frames: Path | None) -> dict[str, Any]:
    """Files that the spec names lie beside it."""
    named = {
        "frames": None if frames else raw.get("frames"),
        "poses.file": _inner(raw, "poses"),
        "calibration.file": _inner(raw, "calibration"),
    }
    for field, given in named.items():
        if given is not None and (not isinstance(given, str) or Path(given).name != given or given.startswith(".")):
            raise InputError(f"flight.toml: {field} is {given!r}; here it names a file or folder of the flight itself.")
    return raw


def _inner(raw: Mapping[str, Any], name: str) -> Any:
    of = raw.get(name)
    return of.get("file") if isinstance(of, Mapping) else None


def _without_none(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {k: _without_none(v) for k, v in value.items() if v is not None}
    return [_without_none(v) for v in value] if isinstance(value, list | tuple) else value


def add_frame(flight: FlightFolder, name: str, uploaded: Path) -> int:
    """Look at an uploaded frame and put it into the flight; bytes of it.

    Raises
    ------
    FrameError
        When it is no frame, is cut short, or claims an absurd size.
    JobError
        When the flight has such a frame, or reads its frames elsewhere.
    """
    reader = readers().get(Path(name).suffix.lower())
    if reader is None:
        raise InputError(f"{name}: no reader for {Path(name).suffix or 'a file without suffix'}.")
    folder = flight.path / read_flight_spec(flight.path / "flight.toml").frames
    if not folder.resolve().is_relative_to(flight.path.resolve()):
        raise JobError(f"{flight.key} reads its frames from {folder}; frames cannot be added to it here.")
    looked_at = uploaded.with_name(f"{uploaded.name}{Path(name).suffix.lower()}")
    uploaded.rename(looked_at)
    try:
        reader.read(looked_at)
        return _placed(looked_at, folder / name)
    except FrameError as error:
        raise FrameError(str(error).replace(looked_at.name, name)) from error
    finally:
        looked_at.unlink(missing_ok=True)


def add_file(flight: FlightFolder, name: str, uploaded: Path) -> int:
    """Put a log of poses or a calibration beside flight.toml; bytes of it."""
    if name == "flight.toml" or Path(name).suffix.lower() not in (".csv", ".toml", ".gpx", ".txt"):
        raise InputError(f"{name}: a log of poses (.csv, .gpx, .txt) or a calibration (.toml) may lie here.")
    return _placed(uploaded, flight.path / name)


def add_table(job: JobFolder, visit: str, name: str, uploaded: Path) -> int:
    """Put conditions.csv or references.csv of a visit in its place, once it can be read; bytes of it."""
    if name not in TABLES:
        raise InputError(f"{name}: a visit takes {' and '.join(TABLES)}.")
    try:
        TABLES[name](uploaded)
    except (InputError, FileError) as error:
        raise InputError(str(error).replace(str(uploaded), name)) from error
    place = job.root / "visits" / visit
    place.mkdir(parents=True, exist_ok=True)
    size = uploaded.stat().st_size
    uploaded.replace(place / name)
    return size


def _placed(uploaded: Path, place: Path) -> int:
    """Put a file in its place, never over another one."""
    if place.exists():
        raise JobError(f"There is a file {place.name} already; what was recorded is never written over.")
    place.parent.mkdir(parents=True, exist_ok=True)
    size = uploaded.stat().st_size
    uploaded.rename(place)
    return size
