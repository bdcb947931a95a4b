"""Jobs: listed, made from a form, their brief and site read and changed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from groundglow.errors import GroundglowError, InputError
from groundglow.job.briefing import check_brief, make_job, read_upload, write_brief, write_site
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import brief_of, flight_spec
from groundglow.job.ledger import one_writer, writer_of
from groundglow.job.plans.find import findings_path
from groundglow.records.sentence import brief_sentence
from groundglow.web.context import Context, Here, OfJob, Writer
from groundglow.web.paging import Paged
from groundglow.web.reading import decisions, findings_table, flight_log, no_table, states_of
from groundglow.web.routes.entry import QUESTIONS
from groundglow.web.telling import without_place
from groundglow.web.uploads import site_kind, with_upload

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["jobs"])
RAW_BODY = {
    "requestBody": {
        "required": True,
        "content": {
            "application/geo+json": {"schema": {"type": "object"}},
            "application/vnd.google-earth.kml+xml": {"schema": {"type": "string"}},
        },
    }
}
NAMES = {"geojson": "GeoJSON", "kml": "KML"}


class Briefed(BaseModel):
    """A brief, with the fields of brief.toml."""

    model_config = ConfigDict(extra="forbid")
    brief: dict[str, Any]


class Made(Briefed):
    """A job to be made."""

    id: str = Field(min_length=1, max_length=80, description="Name of its folder.")
    site: dict[str, Any] | None = Field(default=None, description="GeoJSON FeatureCollection.")


@router.get("/jobs", summary="All jobs that are served")
def jobs(here: Here, page: Paged) -> dict[str, Any]:
    """Jobs by name; one whose brief cannot be read says why."""
    return page.of(here.shelf.ids(), lambda job: _listed(here, here.shelf.open(job)))


@router.post("/jobs", status_code=201, summary="Make a job from a form")
def make(here: Here, who: Writer, said: Made) -> dict[str, Any]:
    """A folder with the brief and the drawn site; the same errors as a command line's."""
    job = make_job(here.shelf.place_for(said.id), said.brief, said.site)
    here.audit.note(job.root, who, "new", {"job": said.id})
    return _whole(here, job)


@router.post("/briefs/check", summary="Check a brief while it is being written")
def check(said: Briefed) -> dict[str, Any]:
    """Its faults, in the command line's words; or the brief as a sentence and as the text of its file."""
    found = check_brief(said.brief)
    return {"ok": not found.faults, **asdict(found)}


@router.post("/sites/read", summary="Read a drawn site", openapi_extra=RAW_BODY)
async def read_site(request: Request) -> dict[str, Any]:
    """GeoJSON or KML to GeoJSON, checked as steps will check it."""
    kind = site_kind(request)
    return await with_upload(request, lambda path: asdict(_read(path, kind)))


def _read(path: Path, kind: str) -> Any:
    try:
        return read_upload(path, kind)
    except GroundglowError as error:
        said = str(error).replace(str(path), path.name).replace(path.name, f"the {NAMES.get(kind, kind)} file")
        raise InputError(said) from error


@router.get("/jobs/{job}", summary="One job: steps, flights, questions")
def one(here: Here, job: OfJob) -> dict[str, Any]:
    """How a job stands."""
    return _whole(here, job)


def _whole(here: Context, job: JobFolder) -> dict[str, Any]:
    listed = _listed(here, job)
    if listed["fault"]:
        return listed | {"steps": [], "flight_list": [], "questions": []}
    states = states_of(here, job)
    flights = [_flight(job, f) for f in job.flights()]
    reached = {s.step for s in states if s.items or s.made_at} | {"check", "fit", "plan"}
    return listed | {
        "steps": [asdict(s) for s in states],
        "flight_list": flights,
        "questions": [q for q, _, steps in QUESTIONS if reached & set(steps)],
    }


def _listed(here: Context, job: JobFolder) -> dict[str, Any]:
    told: dict[str, Any] = {
        "id": job.root.name, "title": job.root.name, "site": "", "client": "", "asked_on": "", "sentence": "",
        "place": None, "flights": len(job.flights()), "findings": None, "reviewed": 0,
        "running": writer_of(job.root) is not None, "fault": "",
    }  # fmt: skip
    try:
        brief = brief_of(job)
        told |= {
            "title": brief.title, "site": brief.site.name, "client": brief.client, "asked_on": brief.asked_on,
            "sentence": brief_sentence(brief),
        }  # fmt: skip
        if brief.site.lon_deg is not None and brief.site.lat_deg is not None:
            told["place"] = [brief.site.lon_deg, brief.site.lat_deg]
        if findings_path(job).is_file():
            told["findings"] = findings_table(here, job).counts["status"].get("found", 0)
        told["reviewed"] = len({d.finding for d in decisions(here, job)})
    except GroundglowError as error:
        told["fault"] = without_place(str(error), job.root)
    return told


def _flight(job: JobFolder, flight: FlightFolder) -> dict[str, Any]:
    told: dict[str, Any] = {"visit": flight.visit, "flight": flight.name, "key": flight.key, "fault": ""}
    try:
        spec = flight_spec(flight)
        told |= {"kind": spec.values.kind, "no_table": no_table(spec)}
    except GroundglowError as error:
        fault = without_place(str(error), job.root)
        return told | {"kind": "", "no_table": "", "frames": 0, "used": 0, "measured": 0, "fault": fault}
    log = flight_log(job, flight)
    measured = len(list((job.out / "measure" / flight.visit / flight.name).glob("*.tif")))
    entries = log.entries if log else ()
    return told | {"frames": len(entries), "used": sum(e.used for e in entries), "measured": measured}


@router.get("/jobs/{job}/brief", summary="The brief, as fields, as a sentence, as its file")
def brief(job: OfJob) -> dict[str, Any]:
    """What is asked."""
    found = brief_of(job)
    return {
        "brief": found.model_dump(mode="json", exclude_none=True),
        "sentence": brief_sentence(found),
        "toml": job.brief.read_text("utf-8"),
        "note": "",
    }


@router.put("/jobs/{job}/brief", summary="Change the brief")
def change(here: Here, job: OfJob, who: Writer, said: Briefed) -> dict[str, Any]:
    """Write the brief anew, when it is sound and no run holds the job."""
    with one_writer(job.root):
        made = write_brief(job, said.brief)
    here.audit.note(job.root, who, "brief", {"title": made.title})
    return {
        "brief": made.model_dump(mode="json", exclude_none=True), "sentence": brief_sentence(made),
        "toml": job.brief.read_text("utf-8-sig"), "note": "",
    }  # fmt: skip


@router.get("/jobs/{job}/site", summary="The site as GeoJSON")
def site(here: Here, job: OfJob) -> Any:
    """The drawn site; no features without one."""
    name = brief_of(job).site.outline
    if not name or not (job.root / name).is_file():
        return {"type": "FeatureCollection", "features": []}
    return json.loads(here.shelf.within(job.root / name).read_text("utf-8-sig"))


@router.put("/jobs/{job}/site", summary="Draw the site anew", openapi_extra=RAW_BODY)
async def draw(here: Here, job: OfJob, who: Writer, request: Request) -> dict[str, Any]:
    """GeoJSON or KML in the place of the site's outline, when it is sound and no run holds the job."""
    kind = site_kind(request)
    return await with_upload(request, lambda path: _drawn(here, job, who, _read(path, kind).site))


def _drawn(here: Context, job: JobFolder, who: str, features: Mapping[str, Any]) -> dict[str, Any]:
    with one_writer(job.root):
        found = write_site(job, features)
    here.audit.note(job.root, who, "site", {"zones": list(found.zones)})
    return asdict(found)
