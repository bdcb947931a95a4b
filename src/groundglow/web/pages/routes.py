"""Addresses of the pages. They hold no results: scripts fetch those from the REST interface."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from starlette.templating import Jinja2Templates

from groundglow.web.context import OfJob
from groundglow.web.pages.asked import QUESTIONS
from groundglow.web.pages.modules import needed
from groundglow.web.refusals import Refusal

__all__ = ["router"]

router = APIRouter(default_response_class=HTMLResponse, include_in_schema=False)
_TEMPLATES = Jinja2Templates(directory=Path(__file__).parents[1] / "templates")
_TEMPLATES.env.globals["needed"] = needed


def _show(request: Request, template: str, script: str, **given: Any) -> HTMLResponse:
    return _TEMPLATES.TemplateResponse(request, template, {"script": script, **given})


@router.get("/")
def jobs(request: Request) -> HTMLResponse:
    """All jobs."""
    return _show(request, "jobs.html", "jobs/list.js")


@router.get("/new")
def new(request: Request) -> HTMLResponse:
    """A form for a new job."""
    return _show(request, "new.html", "jobs/new.js")


@router.get("/login")
def login(request: Request) -> HTMLResponse:
    """Where the token is given."""
    return _show(request, "login.html", "jobs/login.js")


@router.get("/jobs/{job}")
def story(request: Request, job: OfJob) -> HTMLResponse:
    """One job, from question to question."""
    return _show(request, "story.html", "jobs/story.js", job=job.root.name, questions=QUESTIONS)


@router.get("/jobs/{job}/{slug}")
def question(request: Request, job: OfJob, slug: str) -> HTMLResponse:
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
        **beside,
    )
