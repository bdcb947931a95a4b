"""How hot, and how surely? One item a frame, then one a flight that says how its values were made."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict
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
from groundglow.model.constraint import Constraint
from groundglow.records.frame import Frame, ValueKind
from groundglow.records.log import FlightLog
from groundglow.records.visit import Reference
from groundglow.steps.measure import (
    FrameInputs,
    GroundSurface,
    ReferenceReading,
    Spot,
    at_target,
    band_name,
    constraint_from_json,
    constraint_note,
    constraint_of,
    constraint_to_json,
    describe_method,
    measure_frame,
    place_reference,
    read_reference,
    resolve_surfaces,
    target_row,
)

__all__ = ["field_path", "measured_frames", "method_path", "plan_measure"]


def plan_measure(job: JobFolder, ledger: Ledger) -> Iterator[list[Item]]:
    """Look at the targets of each flight; measure every frame in use that is no picture; then describe how."""
    flights = [
        f
        for f in job.flights()
        if ValueKind(flight_spec(f).values.kind) is not ValueKind.PICTURE and used_frames(job, f)
    ]
    yield [_targets_item(job, flight) for flight in flights]
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


def _targets_path(job: JobFolder, flight: FlightFolder) -> Path:
    return job.out / "measure" / flight.visit / flight.name / "targets.json"


def _targets_note(job: JobFolder, flight: FlightFolder) -> str:
    path = _targets_path(job, flight)
    return constraint_note(path.read_text()) if path.is_file() else ""


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
        inputs=(frame, _targets_path(job, flight), *_common(job, flight)),
        outputs=(field_path(job, flight, frame),),
    )


def _surfaces(job: JobFolder, flight: FlightFolder, log: FlightLog) -> tuple[GroundSurface, ...]:
    zones = local_zones(job, log.origin)
    placed = [s for s in brief_of(job).surface if s.zone == "*" or zones]
    return resolve_surfaces(placed, zones, band=band_name(flight_spec(flight)))


def _inputs(job: JobFolder, flight: FlightFolder, name: str, known: Constraint | None) -> FrameInputs:
    log = log_of(log_path(job, flight))
    registration = registration_of(registration_path(job, flight))
    return FrameInputs(
        log=log,
        spec=flight_spec(flight),
        entry=log.entry(name),
        level=registration.level(name),
        pattern=np.load(pattern_path(job, flight)),
        pattern_sd=registration.pattern_sd,
        conditions=conditions_of(flight.visit_path),
        surfaces=_surfaces(job, flight, log),
        known=known,
    )


def measure_one(out: Path, *, root: Path, flight: Path, frame: Path) -> None:
    """Measure one frame and write its field."""
    job, of = JobFolder(root), flight_at(flight)
    known = constraint_from_json(_targets_path(job, of).read_text())
    write_field(out, measure_frame(read_frame(frame, flight_spec(of)), _inputs(job, of, frame.name, known)))


def _targets_item(job: JobFolder, flight: FlightFolder) -> Item:
    frames = (job.root / log_of(log_path(job, flight)).entry(spot.frame).path for _, spot in _placed(job, flight))
    return Item(
        "measure",
        f"{flight.key}/targets",
        write_targets,
        {"root": job.root, "flight": flight.path},
        inputs=(*sorted(set(frames)), *_common(job, flight)),
        outputs=(_targets_path(job, flight),),
    )


def write_targets(out: Path, *, root: Path, flight: Path) -> None:
    """What the targets that may be used say of the sources that the flight shares."""
    job, of = JobFolder(root), flight_at(flight)
    rows = []
    for reference, spot in _placed(job, of):
        if reference.use == "use":
            frame, inputs = _frame_and_inputs(job, of, spot.frame, None)
            rows.append(target_row(reference, spot, frame, inputs))
    seen = [row for row in rows if row is not None]
    shared = {name for row in seen for name in row.by_source}
    zoned = {f"emissivity: {s.name}" for s in _surfaces(job, of, log_of(log_path(job, of)))}
    names = [n for n in shared if not n.startswith("emissivity: ") or n in zoned]
    out.write_text(constraint_to_json(constraint_of(seen, names), [row.name for row in seen]))


def _frame_and_inputs(
    job: JobFolder, flight: FlightFolder, name: str, known: Constraint | None
) -> tuple[Frame, FrameInputs]:
    inputs = _inputs(job, flight, name, known)
    return read_frame(job.root / inputs.entry.path, inputs.spec), inputs


def _placed(job: JobFolder, flight: FlightFolder) -> Iterator[tuple[Reference, Spot]]:
    """Targets of the visit that a frame of the flight shows, and where."""
    log = log_of(log_path(job, flight))
    plane = LocalPlane(log.origin) if log.origin else None

    def to_local(lon: float, lat: float) -> tuple[float, float]:
        x, y = plane.to_local(lon, lat) if plane else (np.nan, np.nan)
        return float(x), float(y)

    for reference in references_of(flight.visit_path):
        spot = place_reference(reference, log, to_local if plane else None)
        if spot:
            yield reference, spot


def _method_item(job: JobFolder, flight: FlightFolder) -> Item:
    fields = tuple(field_path(job, flight, f) for f in measured_frames(job, flight))
    return Item(
        "measure",
        f"{flight.key}/method",
        write_method,
        {"root": job.root, "flight": flight.path},
        inputs=(*fields, *(p for p in (_targets_path(job, flight),) if p.is_file()), *_common(job, flight)),
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
        tuple(_readings(job, of)) if frames else (),
        targets=_targets_note(job, of),
        time=entry.time if entry else None,
        has_pose=bool(entry and entry.pose),
    )
    out.write_text(json.dumps(asdict(method), sort_keys=True))


def _readings(job: JobFolder, flight: FlightFolder) -> Iterator[ReferenceReading]:
    """Every target as it reads after the targets that may be used were taken into account."""
    known = (
        constraint_from_json(_targets_path(job, flight).read_text()) if _targets_path(job, flight).is_file() else None
    )
    for reference, spot in _placed(job, flight):
        if reference.kind == "foil":
            continue  # it shows what is reflected, not a temperature
        frame, inputs = _frame_and_inputs(job, flight, spot.frame, known)
        reading = read_reference(reference, spot, measure_frame(frame, at_target(inputs, reference)))
        if reading:
            yield reading
