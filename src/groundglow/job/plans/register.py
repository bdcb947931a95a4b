"""Ties and levels of a flight: fine pattern, one description a frame, ground, links from each frame, one solution."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundglow.frames.reading import read_frame
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import flight_spec, log_of, spec_files
from groundglow.job.ledger import Ledger
from groundglow.job.plans.check import flight_at, log_path, used_frames
from groundglow.job.runner import Item
from groundglow.records.field import Reason
from groundglow.records.log import FlightLog
from groundglow.steps.register import (
    Candidate,
    Description,
    candidate_pairs,
    describe_frame,
    estimate_fine_pattern,
    fit_ground,
    read_description,
    read_links,
    solve,
    tie_pair,
    write_description,
    write_links,
)
from groundglow.steps.register.expected import expect, log_plane
from groundglow.steps.register.fine import Load

__all__ = ["pattern_path", "plan_register", "registered_log", "registration_path"]

Pair = tuple[str, bool, bool]
#: Descriptions (0.4 MB each) that a process keeps between items, and block means (80 kB) kept while solving.
KEPT_DESCRIPTIONS, KEPT_BLOCKS = 32, 512


def registration_path(job: JobFolder, flight: FlightFolder) -> Path:
    """Ties and levels of a flight."""
    return _place(job, flight, "registration.json")


def pattern_path(job: JobFolder, flight: FlightFolder) -> Path:
    """Fixed pattern of a flight."""
    return _place(job, flight, "pattern.npy")


def _place(job: JobFolder, flight: FlightFolder, name: str) -> Path:
    return job.out / "register" / flight.visit / flight.name / name


def _description_path(job: JobFolder, flight: FlightFolder, frame: str) -> Path:
    return _place(job, flight, f"descriptions/{frame}.npz")


def plan_register(job: JobFolder, ledger: Ledger) -> Iterator[list[Item]]:
    """Five batches; flights without a frame in use are passed over."""
    flights = [f for f in job.flights() if used_frames(job, f)]
    yield [_fine_item(job, f) for f in flights]
    yield [_describe_item(job, f, frame) for f in flights for frame in used_frames(job, f)]
    yield [_ground_item(job, f) for f in flights]
    links = {f: list(_link_items(job, f)) for f in flights}
    yield [item for items in links.values() for item in items]
    yield [_solve_item(job, f, items) for f, items in links.items()]


def _loader(job: JobFolder, flight: FlightFolder) -> Load:
    spec, log = flight_spec(flight), log_of(log_path(job, flight))
    paths = {e.name: job.root / e.path for e in log.entries}

    def load(name: str) -> tuple[NDArray[np.float32], NDArray[np.uint8]]:
        values = read_frame(paths[name], spec).values.astype(np.float32)
        return values, np.where(np.isfinite(values), Reason.GOOD, Reason.BAD_PIXEL).astype(np.uint8)

    return load


def _fine_item(job: JobFolder, flight: FlightFolder) -> Item:
    return Item(
        "register",
        f"{flight.key}/fine pattern",
        write_fine,
        {"root": job.root, "flight": flight.path},
        inputs=(log_path(job, flight), *spec_files(flight), *used_frames(job, flight)),
        outputs=(_place(job, flight, "fine.npz"),),
    )


def write_fine(out: Path, *, root: Path, flight: Path) -> None:
    """Estimate the fine part of the fixed pattern over the flight."""
    job, of = JobFolder(root), flight_at(flight)
    names = [e.name for e in log_of(log_path(job, of)).used]
    pattern, spread = estimate_fine_pattern(names, _loader(job, of))
    np.savez(out, pattern=pattern, spread=np.array(spread))


def _fine(job: JobFolder, flight: FlightFolder) -> tuple[NDArray[np.float32], float]:
    with np.load(_place(job, flight, "fine.npz")) as raw:
        return raw["pattern"], float(raw["spread"])


def _describe_item(job: JobFolder, flight: FlightFolder, frame: Path) -> Item:
    return Item(
        "register",
        f"{flight.key}/{frame.name}",
        write_one_description,
        {"root": job.root, "flight": flight.path, "frame": frame.name},
        inputs=(frame, _place(job, flight, "fine.npz"), log_path(job, flight), *spec_files(flight)),
        outputs=(_description_path(job, flight, frame.name),),
    )


def write_one_description(out: Path, *, root: Path, flight: Path, frame: str) -> None:
    """Features and block means of one frame."""
    job, of = JobFolder(root), flight_at(flight)
    write_description(out, describe_frame(frame, _loader(job, of), _fine(job, of)[0]))


def _described(job: JobFolder, flight: FlightFolder) -> list[str]:
    names = [e.name for e in log_of(log_path(job, flight)).used]
    return [n for n in names if _description_path(job, flight, n).is_file()]


def _ground_item(job: JobFolder, flight: FlightFolder) -> Item:
    descriptions = (_description_path(job, flight, n) for n in _described(job, flight))
    return Item(
        "register",
        f"{flight.key}/ground",
        write_ground,
        {"root": job.root, "flight": flight.path},
        inputs=(log_path(job, flight), *descriptions),
        outputs=(_place(job, flight, "ground.json"),),
    )


def write_ground(out: Path, *, root: Path, flight: Path) -> None:
    """Fit the ground where the flight's own frame says nothing of it."""
    job, of = JobFolder(root), flight_at(flight)
    log = log_of(log_path(job, of))
    known = log_plane(log)
    have = set(_described(job, of))
    seen = log.with_entries(tuple(e for e in log.entries if e.name in have))
    plane = known or fit_ground(seen, lambda n: read_description(_description_path(job, of, n)))
    out.write_text(json.dumps(plane if known is None else None))


def registered_log(job: JobFolder, flight: FlightFolder) -> FlightLog:
    """The flight's log, with the ground that registering fitted where it had none."""
    log = log_of(log_path(job, flight))
    fitted = json.loads(_place(job, flight, "ground.json").read_text())
    return replace(log, ground_plane=tuple(fitted)) if fitted else log


def _link_items(job: JobFolder, flight: FlightFolder) -> Iterator[Item]:
    described = set(_described(job, flight))
    pairs: dict[str, list[Pair]] = defaultdict(list)
    for c in candidate_pairs(registered_log(job, flight)):
        if {c.a, c.b} <= described:
            pairs[c.a].append((c.b, c.held_out, c.crossing))
    for a, partners in pairs.items():
        names = (a, *(b for b, _, _ in partners))
        yield Item(
            "register",
            f"{flight.key}/{a}/links",
            write_links_of,
            {"root": job.root, "flight": flight.path, "frame": a, "partners": partners},
            inputs=(
                *(_description_path(job, flight, n) for n in names),
                _place(job, flight, "ground.json"),
                log_path(job, flight),
            ),
            outputs=(_place(job, flight, f"links/{a}.npz"),),
        )


def write_links_of(out: Path, *, root: Path, flight: Path, frame: str, partners: list[Pair]) -> None:
    """Tie one frame to its partners; pairs that cannot be proven are left out."""
    job, of = JobFolder(root), flight_at(flight)
    log = registered_log(job, of)
    first = _read(job, of, frame)
    links = []
    for name, held_out, crossing in partners:
        expected = expect(log, log_plane(log), log.entry(frame).pose, log.entry(name).pose)
        candidate = Candidate(frame, name, expected, held_out, crossing)
        link = tie_pair(candidate, first, _read(job, of, name))
        if link is not None:
            links.append(link)
    write_links(out, links)


def _read(job: JobFolder, flight: FlightFolder, name: str) -> Description:
    path = _description_path(job, flight, name)
    return _read_once(path, path.stat().st_mtime_ns)


@lru_cache(maxsize=KEPT_DESCRIPTIONS)
def _read_once(path: Path, changed: int) -> Description:
    """A description as it was at that time: each is a partner of several frames that follow each other."""
    return read_description(path)


def _solve_item(job: JobFolder, flight: FlightFolder, linked: list[Item]) -> Item:
    links = tuple(item.outputs[0] for item in linked)
    descriptions = (_description_path(job, flight, n) for n in _described(job, flight))
    return Item(
        "register",
        f"{flight.key}/levels",
        write_registration,
        {"root": job.root, "flight": flight.path, "links": list(links)},
        inputs=(*links, *descriptions, _place(job, flight, "fine.npz"), log_path(job, flight)),
        outputs=(registration_path(job, flight), pattern_path(job, flight)),
    )


def write_registration(out: Path, pattern: Path, *, root: Path, flight: Path, links: list[Path]) -> None:
    """Solve for pattern and levels of a flight."""
    job, of = JobFolder(root), flight_at(flight)

    @lru_cache(maxsize=KEPT_BLOCKS)
    def blocks(name: str) -> NDArray[np.float32]:
        return read_description(_description_path(job, of, name)).blocks

    made = solve(
        registered_log(job, of),
        [link for path in links for link in read_links(path)],
        blocks,
        fine=_fine(job, of),
        unit="counts" if flight_spec(of).values.kind == "counts" else "stored units",
    )
    out.write_text(made.registration.to_json())
    np.save(pattern, made.pattern)
