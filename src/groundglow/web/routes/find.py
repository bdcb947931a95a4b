"""What is wrong, and where? Findings filtered, sorted and paged; what people decide about them."""

from __future__ import annotations

from dataclasses import asdict
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Depends, Response
from pydantic import BaseModel, ConfigDict, Field

from groundglow.errors import FileError
from groundglow.job.plans.pictures import finding_picture
from groundglow.job.review import decide, undo
from groundglow.records.decision import Decision, undone
from groundglow.web.context import Here, OfJob, Writer
from groundglow.web.findings import Row, Wanted, detail, plain
from groundglow.web.paging import Paged
from groundglow.web.reading import decisions, finding_row, findings_table
from groundglow.web.refusals import Plain

__all__ = ["router"]

router = APIRouter(prefix="/api/jobs/{job}", tags=["find"])
Which = Annotated[Wanted, Depends()]
Seen = Annotated[
    int | None,
    Field(ge=0, le=10_000_000, description="Decisions about the finding that were seen; 409 when there are more."),
]


class Deciding(BaseModel):
    """A decision about one finding."""

    model_config = ConfigDict(extra="forbid")
    action: Literal["accept", "reject", "regrade", "reword", "note"]
    value: str = Field(default="", max_length=2000, description="Grade, words or note.")
    note: str = Field(default="", max_length=2000, description="Why.")
    by: str = Field(min_length=1, max_length=80, description="Who decides.")
    seen: Seen = None


class Undoing(BaseModel):
    """Who takes a decision back."""

    model_config = ConfigDict(extra="forbid")
    by: str = Field(min_length=1, max_length=80)
    seen: Seen = None


@router.get("/findings", summary="Findings, filtered, sorted, a page at a time", response_class=Plain)
def findings(here: Here, job: OfJob, wanted: Which, page: Paged) -> Response:
    """Findings with what people made of them; counts are over all findings."""
    table = findings_table(here, job)
    return Plain(page.of(wanted.of(table), plain) | {"counts": table.counts})


@router.get("/findings.geojson", summary="Findings as points")
def findings_map(here: Here, job: OfJob, wanted: Which) -> dict[str, Any]:
    """Findings that have a place, as GeoJSON."""
    rows = [r for r in wanted.of(findings_table(here, job)) if r.finding.lon_deg is not None]
    return {"type": "FeatureCollection", "features": [_point(r) for r in rows]}


def _point(row: Row) -> dict[str, Any]:
    f = row.finding
    told = {name: getattr(f, name) for name in ("id", "number", "rise", "unit", "sign", "status", "question")}
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [f.lon_deg, f.lat_deg]},
        "properties": told | {name: getattr(row.standing, name) for name in ("decision", "grade", "words")},
    }


@router.get("/findings/{finding}", summary="One finding with all its sights and decisions")
def finding(here: Here, job: OfJob, finding: str) -> dict[str, Any]:
    """One finding, where each frame saw it, and all that was decided about it, oldest first."""
    row = finding_row(here, job, finding)
    known = decisions(here, job)
    gone = undone(known)
    return detail(row) | {"history": [_plain(d, gone) for d in known if d.finding == finding]}


@router.get("/findings/{finding}/picture.png", summary="Departure around a finding", response_class=Response)
def picture(here: Here, job: OfJob, finding: str) -> Response:
    """The picture that the report shows of it."""
    found = finding_row(here, job, finding).finding
    path, draw = finding_picture(job, found)
    if not path.is_file():
        raise FileError(found.frame, "is not measured yet", "Run the measuring step.")
    png = here.kept.get((job.root, "picture", finding, found.number), (path,), draw)
    return Response(png, media_type="image/png")


@router.post("/findings/{finding}/decisions", status_code=201, summary="Decide about a finding")
def decided(here: Here, job: OfJob, who: Writer, finding: str, said: Deciding) -> dict[str, Any]:
    """Accept, reject, regrade, reword or note; added to findings.review.csv, never put in the place of another."""
    row = finding_row(here, job, finding)
    of = (finding, row.finding.number)
    made = decide(job, of, said.action, by=said.by, value=said.value, note=said.note, seen=said.seen)
    here.audit.note(job.root, who if who != "somebody" else made.by, "review", asdict(made))
    return _plain(made, set())


@router.post("/decisions/{decision}/undo", status_code=201, summary="Take a decision back")
def undoing(here: Here, job: OfJob, who: Writer, decision: int, said: Undoing) -> dict[str, Any]:
    """A further decision that takes one back; undoing an undo brings it back."""
    made = undo(job, decision, by=said.by, seen=said.seen)
    here.audit.note(job.root, who if who != "somebody" else made.by, "review", asdict(made))
    return _plain(made, set())


@router.get("/decisions", summary="All decisions, newest first")
def all_decisions(here: Here, job: OfJob, page: Paged) -> dict[str, Any]:
    """What people decided, with whether it was taken back."""
    known = decisions(here, job)
    gone = undone(known)
    return page.of(known[::-1], lambda d: _plain(d, gone))


def _plain(decision: Decision, gone: set[int]) -> dict[str, Any]:
    return asdict(decision) | {"undone": decision.decision in gone}
