"""What do we tell them? The report as it stands, its pages as pictures."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Response

from groundglow.errors import FileError
from groundglow.paper.pages import page_count, page_png
from groundglow.web.context import Here, OfJob
from groundglow.web.reading import states_of
from groundglow.web.telling import clock, file_told

__all__ = ["router"]

router = APIRouter(prefix="/api/jobs/{job}/report", tags=["report"])


@router.get("", summary="The report as it stands")
def report(here: Here, job: OfJob) -> dict[str, Any]:
    """Whether it is made and still true, its pages and its files; run up to ``report`` to make it anew."""
    pdf = job.out / "report" / "report.pdf"
    state = next(s for s in states_of(here, job) if s.step == "report")
    made = pdf.is_file()
    files = sorted(p for p in pdf.parent.glob("*") if p.is_file() and not p.name.startswith(".")) if made else []
    return {
        "made": made,
        "made_at": clock(pdf.stat().st_mtime) if made else None,
        "state": state.state,
        "why": state.why,
        "pages": here.kept.get((pdf, "pages"), (pdf,), lambda: page_count(pdf)) if made else 0,
        "files": [file_told(job, p) for p in files],
    }


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
