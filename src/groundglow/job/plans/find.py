"""What is wrong, and where? One item a frame for candidates, one for merging them over frames and flights."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from groundglow.frames.fields import read_field
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import brief_of, flight_spec, is_relative, local_zones, outline_files, registration_of
from groundglow.job.ledger import Ledger
from groundglow.job.plans.check import flight_at, log_path
from groundglow.job.plans.measure import field_path, measured_frames
from groundglow.job.plans.register import registered_log, registration_path
from groundglow.job.runner import Item
from groundglow.records.finding import Findings, candidates_from_json, candidates_to_json
from groundglow.steps.find import (
    FindSettings,
    candidates,
    ground_sampling,
    merge,
    merge_flights,
    searches,
    sigmas_asked,
)

__all__ = ["findings_path", "plan_find"]


def plan_find(job: JobFolder, ledger: Ledger) -> Iterator[list[Item]]:
    """Candidates of every measured frame, findings of every flight, then one list of all."""
    frames = {f: some for f in job.flights() if (some := measured_frames(job, f))}
    yield [_frame_item(job, f, frame) for f, some in frames.items() for frame in some]
    yield [_flight_item(job, f, some) for f, some in frames.items()]
    yield [_merge_item(job, list(frames))]


def findings_path(job: JobFolder) -> Path:
    """Findings of the job."""
    return job.out / "find" / "findings.json"


def _candidates_path(job: JobFolder, flight: FlightFolder, frame: Path) -> Path:
    return job.out / "find" / flight.visit / flight.name / f"{frame.name}.json"


def _flight_findings_path(job: JobFolder, flight: FlightFolder) -> Path:
    return job.out / "find" / flight.visit / f"{flight.name}.json"


def _frame_item(job: JobFolder, flight: FlightFolder, frame: Path) -> Item:
    return Item(
        "find",
        f"{flight.key}/{frame.name}",
        write_candidates,
        {"root": job.root, "flight": flight.path, "frame": frame},
        inputs=(field_path(job, flight, frame), log_path(job, flight), job.brief),
        outputs=(_candidates_path(job, flight, frame),),
    )


def write_candidates(out: Path, *, root: Path, flight: Path, frame: Path) -> None:
    """Departures of one frame."""
    job, of = JobFolder(root), flight_at(flight)
    field, log, settings = read_field(field_path(job, of, frame)), registered_log(job, of), FindSettings()
    asked = searches(
        brief_of(job).question,
        settings,
        shape=log.shape,
        metres_per_pixel=ground_sampling(log, frame.name),
        unit=field.unit,
    )
    out.write_text(candidates_to_json(candidates(field, asked, settings, frame.name)))


def _flight_item(job: JobFolder, flight: FlightFolder, frames: tuple[Path, ...]) -> Item:
    found = (_candidates_path(job, flight, frame) for frame in frames)
    return Item(
        "find",
        flight.key,
        write_flight_findings,
        {"root": job.root, "flight": flight.path},
        inputs=(
            *(p for p in found if p.is_file()),
            log_path(job, flight),
            registration_path(job, flight),
            job.brief,
            *outline_files(job),
        ),
        outputs=(_flight_findings_path(job, flight),),
    )


def write_flight_findings(out: Path, *, root: Path, flight: Path) -> None:
    """Merge candidates over the frames of a flight."""
    job, of = JobFolder(root), flight_at(flight)
    log = registered_log(job, of)
    paths = {f.name: _candidates_path(job, of, f) for f in measured_frames(job, of)}
    made = merge(
        {name: candidates_from_json(p.read_text()) for name, p in paths.items() if p.is_file()},
        log=log,
        registration=registration_of(registration_path(job, of)),
        questions=brief_of(job).question,
        zones=local_zones(job, log.origin),
        settings=FindSettings(),
        unit="counts" if is_relative(flight_spec(of)) else "K",
    )
    out.write_text(made.to_json())


def _merge_item(job: JobFolder, flights: list[FlightFolder]) -> Item:
    found = tuple(p for f in flights if (p := _flight_findings_path(job, f)).is_file())
    return Item(
        "find",
        "findings",
        write_findings,
        {"root": job.root, "found": list(found)},
        inputs=(*found, job.brief),
        outputs=(findings_path(job),),
    )


def write_findings(out: Path, *, root: Path, found: list[Path]) -> None:
    """Merge findings over the flights of each visit."""
    made = [Findings.from_json(path.read_text()) for path in found]
    sigmas = {q.name: sigmas_asked(q, FindSettings()) for q in brief_of(JobFolder(root)).question}
    out.write_text(merge_flights(made, sigmas).to_json())
