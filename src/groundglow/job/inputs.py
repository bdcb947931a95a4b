"""What workers read of a job: specs, weather, zones, logs. Kept per process while the file is unchanged."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from groundglow.frames.outline import read_outline
from groundglow.frames.places import LocalPlane, local_area
from groundglow.frames.specs import read_brief, read_camera, read_flight_spec
from groundglow.frames.tables import read_conditions, read_references
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.kit import camera
from groundglow.records.brief import Brief
from groundglow.records.flight import FlightSpec
from groundglow.records.log import FlightLog, Origin
from groundglow.records.tie import Registration
from groundglow.records.visit import Conditions, Reference

__all__ = [
    "brief_of",
    "conditions_of",
    "flight_spec",
    "is_relative",
    "local_zones",
    "log_of",
    "outline_files",
    "references_of",
    "registration_of",
    "spec_files",
]

T = TypeVar("T")
NO_CONDITIONS = "no conditions.csv"


@lru_cache(maxsize=64)
def _kept(reader: Callable[[Path], Any], path: Path, mark: tuple[int, int, int]) -> Any:
    return reader(path)


def _read(reader: Callable[[Path], T], path: Path) -> T:
    """Read a file once per process and state of the file."""
    try:
        stat = path.stat()
    except OSError:
        return reader(path)
    kept: T = _kept(reader, path, (stat.st_size, stat.st_mtime_ns, stat.st_ino))
    return kept


def brief_of(job: JobFolder) -> Brief:
    """The brief."""
    return _read(read_brief, job.brief)


def outline_files(job: JobFolder) -> tuple[Path, ...]:
    """The site's outline, if the brief names one."""
    name = brief_of(job).site.outline
    return (job.root / name,) if name else ()


def spec_files(flight: FlightFolder) -> tuple[Path, ...]:
    """Files that say what a flight's values mean."""
    spec = _read(read_flight_spec, flight.path / "flight.toml")
    named = [flight.path / "flight.toml"]
    if spec.calibration.file:
        named.append(flight.path / spec.calibration.file)
    if spec.camera.id and _own_camera(flight).is_file():
        named.append(_own_camera(flight))
    return tuple(named)


def _own_camera(flight: FlightFolder) -> Path:
    return flight.visit_path.parents[1] / "camera.toml"


def flight_spec(flight: FlightFolder) -> FlightSpec:
    """``flight.toml`` with the camera filled in from the job's camera.toml or the kit."""
    spec = _read(read_flight_spec, flight.path / "flight.toml")
    if spec.camera.id is None:
        return spec
    own = _own_camera(flight)
    listed = _read(read_camera, own) if own.is_file() else camera(spec.camera.id)
    said = spec.camera.model_dump(exclude_unset=True)
    return spec.model_copy(update={"camera": listed.model_copy(update=said)})


def is_relative(spec: FlightSpec) -> bool:
    """Whether a flight's values stay counts: recorded so, and no calibration given."""
    return spec.values.kind == "counts" and spec.calibration.form == "none"


def conditions_of(visit: Path) -> Conditions:
    """Weather of a visit; without a file, nothing is known."""
    path = visit / "conditions.csv"
    if not path.is_file():
        return Conditions(np.zeros(0), {}, {}, (NO_CONDITIONS,))
    return _read(read_conditions, path)


def references_of(visit: Path) -> tuple[Reference, ...]:
    """Reference targets of a visit."""
    path = visit / "references.csv"
    return _read(read_references, path) if path.is_file() else ()


def _parse_log(path: Path) -> FlightLog:
    return FlightLog.from_json(path.read_text())


def _parse_registration(path: Path) -> Registration:
    return Registration.from_json(path.read_text())


def log_of(path: Path) -> FlightLog:
    """A flight's log from out/check."""
    return _read(_parse_log, path)


def registration_of(path: Path) -> Registration:
    """A flight's registration from out/register."""
    return _read(_parse_registration, path)


def local_zones(job: JobFolder, origin: Origin | None) -> dict[str, Any]:
    """Zones of the site's outline as shapely areas in a flight's local metres; none without a place."""
    if origin is None:
        return {}
    plane = LocalPlane(origin)
    return {z.name: local_area(z.polygons, plane) for path in outline_files(job) for z in _read(read_outline, path)}
