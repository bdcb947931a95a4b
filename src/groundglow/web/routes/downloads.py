"""Files of a job, and the trail of who changed what."""

from __future__ import annotations

import mimetypes
from pathlib import Path
from typing import Any

from fastapi import APIRouter
from fastapi.responses import StreamingResponse

from groundglow.job.folder import JobFolder
from groundglow.job.inputs import brief_of
from groundglow.job.reporting import report_file
from groundglow.job.review import review_file
from groundglow.web.audit import told
from groundglow.web.context import Here, OfJob
from groundglow.web.paging import Paged
from groundglow.web.refusals import Refusal
from groundglow.web.sending import sent
from groundglow.web.telling import file_told

__all__ = ["router"]

router = APIRouter(prefix="/api/jobs/{job}", tags=["downloads"])

#: Kinds that a browser may show by itself; all others are saved.
SHOWN = {".pdf": "application/pdf", ".png": "image/png", ".json": "application/json", ".csv": "text/csv",
         ".geojson": "application/geo+json", ".toml": "text/plain", ".html": "text/html"}  # fmt: skip
#: A page among the outputs (a pilot's card) may draw itself, and nothing else.
SANDBOX = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox; frame-ancestors 'self'"
WORDS = {"fit": "Can it be seen?", "plan": "How and when do we fly?", "check": "Did we get it?",
         "register": "ties and levels", "measure": "How hot, and how surely?", "find": "What is wrong, and where?",
         "report": "What do we tell them?"}  # fmt: skip


def _files(job: JobFolder) -> list[Path]:
    """Files that may be had: what was computed, what is asked, what people decided."""
    given = [job.brief, report_file(job), review_file(job)]
    outline = brief_of(job).site.outline
    given += [job.root / outline] if outline else []
    made = sorted(p for p in job.out.rglob("*") if p.is_file() and not p.name.startswith("."))
    return [p for p in (*given, *made) if p.is_file() and p.resolve().is_relative_to(job.root)]


@router.get("/files", summary="Files that may be had")
def listed(job: OfJob, page: Paged, below: str = "") -> dict[str, Any]:
    """Files of a job; ``below`` keeps those whose path begins so, such as ``out/report``."""
    found = [p for p in _files(job) if job.relative(p).startswith(below)]
    return page.of(found, lambda p: file_told(job, p) | {"what": _what(job, p)})


def _what(job: JobFolder, path: Path) -> str:
    parts = path.relative_to(job.root).parts
    return WORDS.get(parts[1], "") if parts[0] == "out" and len(parts) > 2 else "what is asked and decided"


@router.get("/files/{path:path}", summary="One file", response_class=StreamingResponse)
def one(here: Here, job: OfJob, path: str, view: bool = False) -> StreamingResponse:
    """A file to be saved; with ``view`` one that the browser shows."""
    place = job.root / path
    allowed = place.is_file() and (
        place.is_relative_to(job.out)
        or place in (job.brief, report_file(job), review_file(job))
        or path == brief_of(job).site.outline
    )
    if not allowed or any(part.startswith(".") for part in Path(path).parts):
        raise Refusal(404, f"There is no file {path!r} to be had in this job.", "FileError")
    real = here.shelf.within(place)
    shown = view and real.suffix in SHOWN
    kind = SHOWN.get(real.suffix) or mimetypes.guess_type(real.name)[0] or "application/octet-stream"
    headers = {"content-security-policy": SANDBOX} if real.suffix in (".html", ".svg") else {}
    return sent(real, kind, "inline" if shown else "attachment", headers)


@router.get("/audit", summary="Who changed what, newest first")
def audit(here: Here, job: OfJob, page: Paged) -> dict[str, Any]:
    """The trail of this job; ``words`` says of each event what was changed, and to what."""
    return page.of(here.audit.events(job.root), lambda event: {**event, "words": told(event)})
