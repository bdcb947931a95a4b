"""How hot, and how surely? One item a frame, then one a flight that says how its values were made."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from groundglow.frames.fields import read_field, write_field
from groundglow.frames.places import LocalPlane
from groundglow.frames.reading import read_frame
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import (
    brief_of,
    conditions_of,
    flight_spec,
    local_zones,
    log_of,
    outline_files,
    references_of,
    registration_of,
    spec_files,
)
from groundglow.job.ledger import Ledger
from groundglow.job.plans.check import flight_at, log_path, used_frames
from groundglow.job.plans.register import pattern_path, registration_path
from groundglow.job.runner import Item
from groundglow.records.field import Field
from groundglow.records.frame import ValueKind
from groundglow.records.log import FlightLog
from groundglow.steps.measure import (
    FrameInputs,
    GroundSurface,
    ReferenceReading,
    band_name,
    describe_method,
    measure_frame,
    place_reference,
    read_reference,
    resolve_surfaces,
)
from groundglow.steps.measure.method import as_plain

__all__ = ["field_path", "measured_frames", "method_path", "plan_measure"]


def plan_measure(job: JobFolder, ledger: Ledger) -> Iterator[list[Item]]:
    """Measure every frame in use that is no picture; then describe how, a flight."""
    flights = [f for f in job.flights() if ValueKind(flight_spec(f).values.kind) is not ValueKind.PICTURE]
    yield [_frame_item(job, flight, frame) for flight in flights for frame in used_frames(job, flight)]
    yield [_method_item(job, flight) for flight in job.flights()]


def field_path(job: JobFolder, flight: FlightFolder, frame: Path) -> Path:
    """Where the measured field of a frame lies."""
    return job.out / "measure" / flight.visit / flight.name / f"{frame.name}.tif"


def method_path(job: JobFolder, flight: FlightFolder) -> Path:
    """Where it is said how a flight's values were made."""
    return job.out / "measure" / flight.visit / flight.name / "method.json"


def measured_frames(job: JobFolder, flight: FlightFolder) -> tuple[Path, ...]:
    """Frames of a flight whose measured field exists."""
    return tuple(f for f in used_frames(job, flight) if field_path(job, flight, f).is_file())


def _visit_files(flight: FlightFolder) -> tuple[Path, ...]:
    named = (flight.visit_path / n for n in ("conditions.csv", "references.csv"))
    return tuple(p for p in named if p.is_file())


def _common(job: JobFolder, flight: FlightFolder) -> tuple[Path, ...]:
    return (
        log_path(job, flight),
        registration_path(job, flight),
        pattern_path(job, flight),
        job.brief,
        *outline_files(job),
        *spec_files(flight),
        *_visit_files(flight),
    )


def _frame_item(job: JobFolder, flight: FlightFolder, frame: Path) -> Item:
    return Item(
        "measure",
        f"{flight.key}/{frame.name}",
        measure_one,
        {"root": job.root, "flight": flight.path, "frame": frame},
        inputs=(frame, *_common(job, flight)),
        outputs=(field_path(job, flight, frame),),
    )


def _surfaces(job: JobFolder, flight: FlightFolder, log: FlightLog) -> tuple[GroundSurface, ...]:
    zones = local_zones(job, log.origin)
    placed = [s for s in brief_of(job).surface if s.zone == "*" or zones]
    return resolve_surfaces(placed, zones, band=band_name(flight_spec(flight)))


def measure_one(out: Path, *, root: Path, flight: Path, frame: Path) -> None:
    """Measure one frame and write its field."""
    job, of = JobFolder(root), flight_at(flight)
    spec, log = flight_spec(of), log_of(log_path(job, of))
    registration = registration_of(registration_path(job, of))
    entry = log.entry(frame.name)
    inputs = FrameInputs(
        log=log,
        spec=spec,
        entry=entry,
        level=registration.level(frame.name),
        pattern=np.load(pattern_path(job, of)),
        pattern_sd=registration.pattern_sd,
        conditions=conditions_of(of.visit_path),
        surfaces=_surfaces(job, of, log),
    )
    write_field(out, measure_frame(read_frame(frame, spec), inputs))


def _method_item(job: JobFolder, flight: FlightFolder) -> Item:
    fields = tuple(field_path(job, flight, f) for f in measured_frames(job, flight))
    return Item(
        "measure",
        f"{flight.key}/method",
        write_method,
        {"root": job.root, "flight": flight.path},
        inputs=(*fields, *_common(job, flight)),
        outputs=(method_path(job, flight),),
    )


def write_method(out: Path, *, root: Path, flight: Path) -> None:
    """Say how a flight's values were made, with a typical budget and the reference targets as read."""
    job, of = JobFolder(root), flight_at(flight)
    log = log_of(log_path(job, of))
    frames = measured_frames(job, of)
    middle = frames[len(frames) // 2] if frames else None
    entry = log.entry(middle.name) if middle else None
    method = describe_method(
        read_field(field_path(job, of, middle)) if middle else None,
        flight_spec(of),
        conditions_of(of.visit_path),
        _surfaces(job, of, log),
        tuple(_references(job, of, log)),
        time=entry.time if entry else None,
        has_pose=bool(entry and entry.pose),
    )
    out.write_text(json.dumps(as_plain(method), sort_keys=True))


def _references(job: JobFolder, flight: FlightFolder, log: FlightLog) -> Iterator[ReferenceReading]:
    plane = LocalPlane(log.origin) if log.origin else None

    def to_local(lon: float, lat: float) -> tuple[float, float]:
        x, y = plane.to_local(lon, lat) if plane else (np.nan, np.nan)
        return float(x), float(y)

    for reference in references_of(flight.visit_path):
        spot = place_reference(reference, log, to_local if plane else None)
        measured = _field_of(job, flight, spot.frame) if spot else None
        reading = read_reference(reference, spot, measured) if spot and measured else None
        if reading:
            yield reading


def _field_of(job: JobFolder, flight: FlightFolder, name: str) -> Field | None:
    path = field_path(job, flight, Path(name))
    return read_field(path) if path.is_file() else None
