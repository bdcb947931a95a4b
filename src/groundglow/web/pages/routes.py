"""Addresses of the pages. They hold no results: scripts fetch those from the REST interface, and the head of a page
names what its script will ask for, so that the browser fetches both at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from starlette.templating import Jinja2Templates

from groundglow.errors import GroundglowError
from groundglow.job.folder import JobFolder
from groundglow.job.inputs import brief_of
from groundglow.records.sentence import brief_sentence
from groundglow.web.context import Context, Here, OfJob
from groundglow.web.pages.asked import QUESTIONS
from groundglow.web.pages.modules import needed
from groundglow.web.pages.question import Question
from groundglow.web.refusals import Refusal
from groundglow.web.telling import part

__all__ = ["lost", "router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
_TEMPLATES = Jinja2Templates(directory=Path(__file__).parents[1] / "templates")
#: Of a page that asks nothing.
SHELL = "core/shell.js"
_TEMPLATES.env.globals["needed"] = needed


def _show(request: Request, template: str, script: str, **given: Any) -> HTMLResponse:
    return _TEMPLATES.TemplateResponse(request, template, {"script": script, **given})


def lost(request: Request, status: int, message: str) -> HTMLResponse:
    """A page in the place of one that cannot be shown: why, and the way back."""
    path = request.url.path
    name = path.split("/")[2] if path.startswith("/jobs/") else ""
    job = name if name in request.app.state.jobs.ids() else ""
    given = {"script": SHELL, "message": message, "path": path, "job": job}
    return _TEMPLATES.TemplateResponse(request, "lost.html", given, status_code=status)


def _sentence(job: JobFolder) -> str:
    """The brief in a sentence; empty when it cannot be read, which the page tells."""
    try:
        return brief_sentence(brief_of(job))
    except GroundglowError:
        return ""


def _asked_first(here: Context, job: JobFolder, asked: Question, given: Mapping[str, str]) -> tuple[str, ...]:
    try:
        return asked.first(here, job, given)
    except GroundglowError:  # the page itself asks, and tells what is wrong
        return ()


def _first(job: JobFolder, below: Iterable[str]) -> list[str]:
    own = f"/api/jobs/{part(job.root.name)}"
    return [a if a.startswith(("/api/", "/static/")) else own + a for a in below]


@router.get("/")
def jobs(request: Request) -> HTMLResponse:
    """All jobs."""
    return _show(request, "jobs.html", "jobs/list.js")


@router.get("/new")
def new(here: Here, request: Request) -> HTMLResponse:
    """A form for a new job, where one can be made."""
    closed = ""
    if here.settings.read_only:
        closed = "This server only shows; it was started with --read-only. No job can be begun here."
    elif here.shelf.single:
        closed = "One job is served here. To begin others, serve a folder of jobs: groundglow serve FOLDER."
    return _show(request, "new.html", SHELL if closed else "jobs/new.js", closed=closed)


@router.get("/login")
def login(request: Request) -> HTMLResponse:
    """Where the token is given."""
    return _show(request, "login.html", "jobs/login.js")


@router.get("/jobs/{job}")
def story(request: Request, job: OfJob) -> HTMLResponse:
    """One job, from question to question."""
    first = _first(job, ("", "/report", "/fit", "/plan"))
    return _show(request, "story.html", "jobs/story.js", job=job.root.name, questions=QUESTIONS, first=first)


@router.get("/jobs/{job}/{slug}")
def question(here: Here, request: Request, job: OfJob, slug: str) -> HTMLResponse:
    """One question of a job."""
    at = next((i for i, q in enumerate(QUESTIONS) if q.slug == slug), None)
    if at is None:
        raise Refusal(404, f"There is no page {slug[:80]!r}; there are {', '.join(q.slug for q in QUESTIONS)}.")
    asked = QUESTIONS[at]
    beside = {"before": QUESTIONS[at - 1] if at else None, "after": (*QUESTIONS, None)[at + 1]}
    return _show(
        request,
        f"questions/{asked.id}.html",
        f"questions/{asked.id}.js",
        job=job.root.name,
        question=asked,
        questions=QUESTIONS,
        number=at + 1,
        sentence=_sentence(job),
        first=_first(job, _asked_first(here, job, asked, request.query_params)),
        **beside,
    )
