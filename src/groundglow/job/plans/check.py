"""Did we get it? One item a frame, then one a flight for its log and coverage."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from groundglow.errors import FrameError
from groundglow.frames.reading import list_frames, read_frame
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import flight_spec, local_zones, log_of, outline_files, spec_files
from groundglow.job.ledger import Ledger
from groundglow.job.poses import flight_poses
from groundglow.job.runner import Item
from groundglow.records.frame import Stamp
from groundglow.steps.check import Look, assemble, coverage, look

__all__ = ["flight_at", "log_path", "plan_check", "used_frames"]


def plan_check(job: JobFolder, ledger: Ledger) -> Iterator[list[Item]]:
    """Look at every frame; then write each flight's log."""
    frames = {flight: list_frames(flight.path / flight_spec(flight).frames) for flight in job.flights()}
    yield [_look_item(job, flight, path) for flight, paths in frames.items() for path in paths]
    yield [_log_item(job, flight, paths) for flight, paths in frames.items()]


def log_path(job: JobFolder, flight: FlightFolder) -> Path:
    """Where a flight's log lies."""
    return job.out / "check" / flight.visit / flight.name / "log.json"


def _look_path(job: JobFolder, flight: FlightFolder, frame: Path) -> Path:
    return job.out / "check" / flight.visit / flight.name / "frames" / f"{frame.name}.json"


def _companions(frame: Path) -> tuple[Path, ...]:
    """The frame, and what lies beside it under the same stem."""
    return tuple(sorted(p for p in frame.parent.glob(f"{frame.stem}.*") if not p.name.startswith(".")))


def _look_item(job: JobFolder, flight: FlightFolder, frame: Path) -> Item:
    return Item(
        "check",
        f"{flight.key}/{frame.name}",
        look_at_frame,
        {"flight": flight.path, "frame": frame},
        inputs=(*_companions(frame), *spec_files(flight)),
        outputs=(_look_path(job, flight, frame),),
    )


def look_at_frame(out: Path, *, flight: Path, frame: Path) -> None:
    """Look at one frame; a bad one is written down with its reason, not dropped."""
    spec = flight_spec(flight_at(flight))
    try:
        seen = look(read_frame(frame, spec), spec)
    except FrameError as reason:
        seen = Look(frame.name, (0, 0), Stamp(), {}, str(reason))
    out.write_text(json.dumps(asdict(seen), sort_keys=True))


def flight_at(path: Path) -> FlightFolder:
    """The flight in a folder."""
    return FlightFolder(path.parents[1].name, path.name, path)


def _log_item(job: JobFolder, flight: FlightFolder, frames: list[Path]) -> Item:
    poses = flight_spec(flight).poses
    named = (flight.path / poses.file,) if poses.file else ()
    looks = tuple(_look_path(job, flight, f) for f in frames)
    log = log_path(job, flight)
    return Item(
        "check",
        f"{flight.key}/log",
        write_log,
        {"root": job.root, "flight": flight.path, "frames": list(frames)},
        inputs=(*looks, *named, *spec_files(flight), job.brief, *outline_files(job)),
        outputs=(log, log.with_name("coverage.json")),
    )


def write_log(out: Path, covered: Path, *, root: Path, flight: Path, frames: list[Path]) -> None:
    """Join looks and poses into the flight's log, and count the coverage of the brief's zones."""
    job, of = JobFolder(root), flight_at(flight)
    spec = flight_spec(of)
    looks = [_read_look(_look_path(job, of, f)) for f in frames]
    paths = {f.name: job.relative(f) for f in frames}
    log = assemble(of.key, looks, flight_poses(job, of, looks), spec=spec, paths=paths)
    out.write_text(log.to_json())
    shares = coverage(log, local_zones(job, log.origin)) if log.focal_px else ()
    covered.write_text(json.dumps([{"flight": of.key, **asdict(c)} for c in shares], sort_keys=True))


def _read_look(path: Path) -> Look:
    raw = json.loads(path.read_text())
    return Look(**{**raw, "shape": tuple(raw["shape"]), "stamp": Stamp(**raw["stamp"])})


def used_frames(job: JobFolder, flight: FlightFolder) -> tuple[Path, ...]:
    """Files of the frames in use, by the log."""
    return tuple(job.root / e.path for e in log_of(log_path(job, flight)).used)
