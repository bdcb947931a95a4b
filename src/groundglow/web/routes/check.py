"""Did we get it? Flights that come in, their coverage, what was set aside and why."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from groundglow.errors import GroundglowError
from groundglow.job.flights import add_file, add_flight, add_frame, add_table
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import flight_spec, registration_of
from groundglow.job.ledger import one_writer
from groundglow.job.plans.check import log_path
from groundglow.job.plans.measure import method_path
from groundglow.job.plans.register import registration_path
from groundglow.web.context import Context, Here, OfFlight, OfJob, Writer
from groundglow.web.reading import first_frame, flight_log, json_of, states_of
from groundglow.web.refusals import Refusal
from groundglow.web.shelf import checked_name
from groundglow.web.telling import without_place
from groundglow.web.uploads import with_upload

__all__ = ["router"]

router = APIRouter(prefix="/api/jobs/{job}", tags=["check"])
RAW = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


class Flown(BaseModel):
    """A flight: its visit, its name, what its values mean."""

    model_config = ConfigDict(extra="forbid")
    visit: str = Field(max_length=80)
    flight: str = Field(max_length=80)
    spec: dict[str, Any] = Field(description="Fields of flight.toml.")
    folder: str | None = Field(default=None, max_length=1000, description="Folder on the server, read in place.")


@router.post("/flights", status_code=201, summary="Add a flight")
def add(here: Here, job: OfJob, who: Writer, said: Flown) -> dict[str, Any]:
    """A flight whose frames are uploaded next, or lie in a folder that this server may read."""
    visit, name = checked_name(said.visit, "visit"), checked_name(said.flight, "flight")
    frames = _allowed(here, said.folder) if said.folder else None
    with one_writer(job.root):
        made = add_flight(job, visit, name, said.spec, frames=frames)
    here.audit.note(job.root, who, "flight", {"flight": made.key, "folder": said.folder})
    return {"visit": made.visit, "flight": made.name, "key": made.key}


def _allowed(here: Context, folder: str) -> Path:
    """The folder, when it lies below one that the server was started with."""
    place = Path(folder).resolve()
    roots = [here.shelf.root, *(p.resolve() for p in here.settings.frames)]
    if "\0" in folder or not any(place.is_relative_to(root) for root in roots):
        raise Refusal(403, "That folder is not among those this server may read; start it with --frames FOLDER.")
    return place


@router.put("/flights/{visit}/{flight}/frames/{name}", status_code=201, summary="Upload a frame", openapi_extra=RAW)
async def frame(here: Here, job: OfJob, flight: OfFlight, who: Writer, name: str, request: Request) -> dict[str, Any]:
    """One frame, looked at before it is taken; one of the same name is never written over."""
    checked_name(name, "frame")
    size = await with_upload(request, lambda path: add_frame(flight, name, path), flight.path)
    here.audit.note(job.root, who, "upload", {"flight": flight.key, "frame": name, "bytes": size})
    return {"name": name, "bytes": size}


@router.put(
    "/flights/{visit}/{flight}/files/{name}",
    status_code=201,
    summary="Upload a log or a calibration",
    openapi_extra=RAW,
)
async def file(here: Here, job: OfJob, flight: OfFlight, who: Writer, name: str, request: Request) -> dict[str, Any]:
    """A log of poses or a calibration, beside flight.toml."""
    checked_name(name, "file")
    size = await with_upload(request, lambda path: add_file(flight, name, path), flight.path)
    here.audit.note(job.root, who, "upload", {"flight": flight.key, "file": name, "bytes": size})
    return {"name": name, "bytes": size}


@router.put("/visits/{visit}/{name}", status_code=201, summary="Upload conditions or references", openapi_extra=RAW)
async def table(here: Here, job: OfJob, who: Writer, visit: str, name: str, request: Request) -> dict[str, Any]:
    """conditions.csv or references.csv of a visit, once it can be read."""
    checked_name(visit, "visit")
    size = await with_upload(request, lambda path: _table(job, visit, name, path), job.root)
    here.audit.note(job.root, who, "upload", {"visit": visit, "file": name, "bytes": size})
    return {"name": name, "bytes": size}


def _table(job: JobFolder, visit: str, name: str, path: Path) -> int:
    with one_writer(job.root):
        return add_table(job, visit, name, path)


@router.get("/flights/{visit}/{flight}", summary="How a flight went")
def one(here: Here, job: OfJob, flight: OfFlight) -> dict[str, Any]:
    """Coverage of the brief's zones, frames set aside, how frames agree, how values were made.

    ``not_looked_at`` says why nothing is known of its frames yet; empty once they were looked at.
    """
    log = flight_log(job, flight)
    registered = registration_path(job, flight)
    entries = log.entries if log else ()
    return {
        "key": flight.key,
        "frames": len(entries),
        "used": sum(e.used for e in entries),
        "first_frame": first_frame(here, job, flight),
        "log": _log(log) if log else None,
        "not_looked_at": "" if log else _not_looked_at(here, job, flight),
        "coverage": json_of(here, log_path(job, flight).with_name("coverage.json")) or [],
        "set_aside": [{"frame": e.name, "reason": e.reason} for e in entries if not e.used],
        "agreement": registration_of(registered).agreement if registered.is_file() else None,
        "method": json_of(here, method_path(job, flight)),
    }


def _not_looked_at(here: Context, job: JobFolder, flight: FlightFolder) -> str:
    """Why: its flight.toml, what the last run said, or how the step stands."""
    try:
        flight_spec(flight)
    except GroundglowError as error:
        return without_place(str(error), job.root)
    last = next(iter(here.runs.of(job)), None)
    if last is not None and last.state == "failed" and last.step in ("", "check"):
        return last.message
    why = next((s.why for s in states_of(here, job) if s.step == "check"), "")
    return "its frames were not looked at since it came in" if not why or why.endswith("not made yet") else why


def _log(log: Any) -> dict[str, Any]:
    at = log.origin
    return {
        "kind": log.kind, "shape": list(log.shape), "notes": list(log.notes), "metres_per_unit": log.metres_per_unit,
        "origin": {"lon_deg": at.lon_deg, "lat_deg": at.lat_deg, "height_m": at.height_m} if at else None,
    }  # fmt: skip
