"""What do we tell them? The report as it stands, its pages as pictures."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Response

from groundglow.errors import FileError, GroundglowError
from groundglow.job.chain import ALONE
from groundglow.job.folder import JobFolder
from groundglow.job.reporting import options_of, write_options
from groundglow.paper.pages import page_count, page_png
from groundglow.records.report import ReportOptions
from groundglow.web.context import Here, OfJob, Writer
from groundglow.web.reading import states_of
from groundglow.web.telling import clock, file_told

__all__ = ["router"]

router = APIRouter(prefix="/api/jobs/{job}/report", tags=["report"])


@router.get("", summary="The report as it stands")
def report(here: Here, job: OfJob) -> dict[str, Any]:
    """Whether it is made and still true, its pages and its files; run up to ``report`` to make it anew."""
    pdf = job.out / "report" / "report.pdf"
    states = states_of(here, job)
    state = next(s for s in states if s.step == "report")
    made = pdf.is_file()
    files = sorted(p for p in pdf.parent.glob("*") if p.is_file() and not p.name.startswith(".")) if made else []
    return {
        "made": made,
        "made_at": clock(pdf.stat().st_mtime) if made else None,
        "state": state.state,
        "why": state.why,
        "pages": here.kept.get((pdf, "pages"), (pdf,), lambda: page_count(pdf)) if made else 0,
        "files": [file_told(job, p) for p in files],
        "ready": all(s.state == "done" for s in states if s.step not in (*ALONE, "report")),
        **_options(job),
    }


def _options(job: JobFolder) -> dict[str, Any]:
    """The options as they are kept, and what was the matter with a file of them that somebody wrote."""
    try:
        return {"options": options_of(job).model_dump(mode="json"), "fault": ""}
    except GroundglowError as error:
        return {"options": ReportOptions().model_dump(mode="json"), "fault": str(error).replace(f"{job.root}/", "")}


@router.get("/options", summary="What goes into the report, and how it looks")
def options(job: OfJob) -> ReportOptions:
    """The options of report.toml; the schema tells what each may be."""
    return options_of(job)


@router.put("/options", summary="Say what goes into the report, and how it looks")
def change(here: Here, job: OfJob, who: Writer, said: ReportOptions) -> ReportOptions:
    """Keep options in report.toml, where the command line sees them; what is not said is as it comes.

    The report is out of date until it is run again.
    """
    made = write_options(job, said)
    here.audit.note(job.root, who, "report options", made.model_dump(mode="json", exclude_defaults=True))
    return made


@router.get("/pages/{page}.png", summary="A page as a picture", response_class=Response)
def page(
    here: Here,
    job: OfJob,
    page: Annotated[int, Path(ge=1, le=10_000, description="From 1.")],
    width: Annotated[int, Query(ge=100, le=2400)] = 900,
) -> Response:
    """A page of the report in a width of one's own, dots."""
    pdf = job.out / "report" / "report.pdf"
    if not pdf.is_file():
        raise FileError("the report", "is not made yet", "Run the reporting step.")
    png = here.kept.get((pdf, page, width), (pdf,), lambda: page_png(pdf, page, width))
    return Response(png, media_type="image/png")
