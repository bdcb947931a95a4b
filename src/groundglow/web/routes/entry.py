"""What this server is, what may be chosen from, and the way in where a token is asked for."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from pydantic import BaseModel, ConfigDict, Field

from groundglow import __version__
from groundglow.job.fit import kit_file
from groundglow.kit.fleet import catalogue, fleet_with
from groundglow.kit.targets import targets
from groundglow.model.surface import materials
from groundglow.records.decision import GRADES
from groundglow.steps.plan.pairs import pairs
from groundglow.web.context import Here
from groundglow.web.guard import COOKIE, signed_in, token_is
from groundglow.web.refusals import Refusal

__all__ = ["QUESTIONS", "router"]

router = APIRouter(prefix="/api", tags=["entry"])

#: The questions, in order; each with the steps that answer it.
QUESTIONS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("fit", "Can it be seen?", ("fit",)),
    ("plan", "How and when do we fly?", ("plan",)),
    ("check", "Did we get it?", ("check",)),
    ("measure", "How hot, and how surely?", ("register", "measure")),
    ("find", "What is wrong, and where?", ("find",)),
    ("report", "What do we tell them?", ("report",)),
)


class Token(BaseModel):
    """What one signs in with."""

    model_config = ConfigDict(extra="forbid")
    token: str = Field(max_length=1000)


@router.get("/about", summary="Version, questions, and what this visitor may do")
def about(here: Here, request: Request) -> dict[str, Any]:
    """Open to everybody who reaches the server."""
    settings = here.settings
    return {
        "version": __version__,
        "read_only": settings.read_only,
        "needs_token": bool(settings.token),
        "signed_in": not settings.token or signed_in(settings, request.headers),
        "questions": [{"id": q, "words": words, "steps": list(steps)} for q, words, steps in QUESTIONS],
        "grades": list(GRADES),
        "upload": {"most_bytes": settings.most_bytes},
        "single": here.shelf.single,
    }


@router.get("/kit", summary="Cameras, lenses, aircraft, targets, materials and pairs to choose from")
def kit(here: Here, job: Annotated[str | None, Query(max_length=100)] = None) -> dict[str, Any]:
    """The catalogue; with ``job`` its own kit.toml on top."""
    fleet = fleet_with(kit_file(here.shelf.open(job))) if job else catalogue()
    return {
        "cameras": [{"id": c.id, "name": c.name, "lenses": [x.id for x in c.lenses]} for c in fleet.cameras.values()],
        "lenses": [{"id": x.id, "name": x.name} for x in fleet.lenses.values()],
        "aircraft": [{"id": a.id, "name": a.name} for a in fleet.aircraft.values()],
        "targets": [
            {"id": t.id, "name": t.name, "size_m": [t.length, t.width, t.height], "caution": t.caution}
            for t in {**targets(), **fleet.targets}.values()
        ],
        "materials": list(materials()),
        "pairs": [{"id": p.id, "name": p.name} for p in pairs().values()],
    }


@router.post("/login", status_code=204, summary="Sign in with the token")
def login(here: Here, said: Token, response: Response) -> None:
    """Set the cookie that every further request brings."""
    settings = here.settings
    if not settings.token:
        return
    if not token_is(settings, said.token):
        raise Refusal(401, "That is not the token of this server.", "TokenError")
    response.set_cookie(COOKIE, said.token, httponly=True, samesite="strict", secure=settings.secure, path="/")


@router.post("/logout", status_code=204, summary="Sign out")
def logout(response: Response) -> None:
    """Drop the cookie."""
    response.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict")
