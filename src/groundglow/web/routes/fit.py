"""Can it be seen? Answers of a job, and questions that are tried out before they stand in any brief."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path as FilePath
from typing import Annotated, Any

from fastapi import APIRouter, Response
from pydantic import BaseModel, ConfigDict, Field

from groundglow import __version__
from groundglow.errors import InputError
from groundglow.job.fit import ask_in_job, fit_files, kit_file
from groundglow.job.inputs import brief_of
from groundglow.kit.fleet import Fleet, catalogue, fleet_with
from groundglow.kit.targets import target
from groundglow.paper.measures import METRIC
from groundglow.records.brief import FitQuestion, Limits, Site
from groundglow.records.fit import Answer, Target
from groundglow.records.quantity import quantity
from groundglow.steps.fit import Card, FitFindings, Setting, ask_of, chosen_combinations, fit_findings, limits_card
from groundglow.steps.fit.card_sheet import card_sheet
from groundglow.steps.fit.outlook import looks_of, views_of
from groundglow.steps.fit.plain import plain_card, plain_findings
from groundglow.steps.fit.sheet import Heading, recommendation_sheet
from groundglow.web.context import Context, Here, OfJob
from groundglow.web.reading import asked_told

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["fit"])
FILES = ("fit-{}.json", "sheet-{}.pdf", "views-{}.png", "charts-{}.png")
Id = Annotated[str | None, Field(max_length=100)]


class Where(BaseModel):
    """A place in degrees."""

    model_config = ConfigDict(extra="forbid")
    lon_deg: float = Field(ge=-180, le=180)
    lat_deg: float = Field(ge=-90, le=90)


class Kit(BaseModel):
    """A camera with its lens, and what carries it."""

    model_config = ConfigDict(extra="forbid")
    camera: Id = None
    lens: Id = None
    aircraft: Id = None


class Carding(Kit):
    """A kit whose limits are wanted; with ``job`` its own kit.toml holds."""

    job: Id = None


class Trying(Kit):
    """A question of fit with the fields of ``[[fit]]``; with ``job`` its site, limits and own kit hold."""

    question: dict[str, Any]
    job: Id = None
    site: Where | None = None
    highest_m: float = Field(default=120.0, gt=0, le=10_000)
    top: int = Field(default=8, ge=1, le=100)


class Viewing(Trying):
    """The same, with the kits to look through."""

    kits: Annotated[list[Kit], Field(max_length=3)] = []


@router.get("/jobs/{job}/fit", summary="What the job asks of fit, and the answers")
def of_job(here: Here, job: OfJob) -> dict[str, Any]:
    """Each ``[[fit]]`` of the brief; the answer is null before the step has run.

    ``target`` is the ready-made or own target that it names, by whichever of its names; null when it is described.
    """
    brief, called = brief_of(job), ("question", "answer")
    asked = brief.fit
    told = asked_told(here, job, "fit", asked, called=called, files=FILES)
    own = fleet_with(kit_file(job)).targets if any(q.target for q in asked) else {}
    for each, q in zip(told, asked, strict=True):
        each["target"] = _target(q.target, own) if q.target else None
        each["answer"] = each["answer"] and _limited(each["answer"], _limit(q, brief.limits))
    return {"questions": told, "highest_m": brief.limits.highest_m}


def _limit(asked: FitQuestion, limits: Limits) -> float:
    """Greatest height, m: of the question, else of the brief."""
    return quantity(asked.highest, "length", "highest") if asked.highest is not None else limits.highest_m


def _limited(told: Mapping[str, Any], highest: float) -> dict[str, Any]:
    """An answer with ``over_limit``: why a distance that is asked for may not be flown; empty when it may."""
    asked = told["asked"]
    return {**told, "over_limit": _over(asked["view"], asked["distance_m"], highest)}


def _over(view: str, distance: float | None, highest: float) -> str:
    if view != "above" or distance is None or distance <= highest:
        return ""
    return f"{distance:g} m is above the {highest:g} m that the brief allows"


def _target(name: str, own: Mapping[str, Target]) -> dict[str, str] | None:
    try:
        found = target(name, own)
    except InputError:  # told where the question is answered
        return None
    return {"id": found.id, "name": found.name, "caution": found.caution}


@router.post("/fit/try", summary="Try a question out")
def trying(here: Here, said: Trying) -> dict[str, Any]:
    """The answer at once; nothing is written. ``over_limit`` says when the distance asked for is above the limit."""
    return _limited(plain_findings(_found(here, said), said.top), _allowed(here, said))


def _allowed(here: Context, said: Trying) -> float:
    limits = brief_of(here.shelf.open(said.job)).limits if said.job else Limits(highest_m=said.highest_m)
    return _limit(_question(said), limits)


@router.post("/fit/views", summary="Simulated views side by side", response_class=Response)
def views(here: Here, said: Viewing) -> Response:
    """What up to three kits would show of the target: the first ranked ones, or those named."""
    key = ("views", json.dumps(said.model_dump(exclude={"top"}), sort_keys=True))
    return Response(here.large.get(key, _files(here, said), lambda: _views(here, said)), media_type="image/png")


def _views(here: Context, said: Viewing) -> bytes:
    found = _found(here, said)
    answers = [_answer_of(found, kit) for kit in said.kits] or list(found.answers)
    return views_of(found.ask, looks_of(found.ask, answers), METRIC)


@router.post("/fit/sheet.pdf", summary="The sheet for a client", response_class=Response)
def sheet(here: Here, said: Trying) -> Response:
    """Two pages with question, answer, reasons and views; a distance above the limit is the first of its cautions."""
    found = _found(here, said)
    over = _over(found.ask.view, found.ask.distance, _allowed(here, said))
    found = replace(found, cautions=(f"not within the limits: {over}", *found.cautions)) if over else found
    heading = Heading("Can it be seen?", version=__version__)
    return Response(recommendation_sheet(found, heading), media_type="application/pdf")


@router.post("/fit/card", summary="What can this kit do?")
def card(here: Here, said: Carding) -> dict[str, Any]:
    """Largest distances by target and task, by day and night."""
    return plain_card(_card(here, said))


@router.post("/fit/card.pdf", summary="The same as a page", response_class=Response)
def card_page(here: Here, said: Carding) -> Response:
    """A page to take along."""
    heading = Heading("What can this kit do?", version=__version__)
    return Response(card_sheet(_card(here, said), heading), media_type="application/pdf")


def _card(here: Context, said: Carding) -> Card:
    if said.camera is None:
        raise InputError("camera is missing: name the kit whose limits are wanted.")
    own = kit_file(here.shelf.open(said.job)) if said.job else None
    kit = chosen_combinations(fleet_with(own), **said.model_dump(exclude={"job"}))[0]
    return here.large.get(("card", own, kit.id), (own,) if own else (), lambda: limits_card(kit))


def _found(here: Context, said: Trying) -> FitFindings:
    """Answers are kept: a slider comes back to where it was."""
    key = ("fit", json.dumps(said.model_dump(exclude={"top", "kits"}), sort_keys=True))
    return here.large.get(key, _files(here, said), _asker(here, said))


def _files(here: Context, said: Trying) -> tuple[FilePath, ...]:
    """What an answer hangs on."""
    return fit_files(job, brief_of(job)) if said.job and (job := here.shelf.open(said.job)) else ()


def _question(said: Trying) -> FitQuestion:
    return FitQuestion.parse({"name": "question", **said.question}, "fit")


def _asker(here: Context, said: Trying) -> Callable[[], FitFindings]:
    asked = _question(said)
    if asked.land is not None:
        raise InputError("fit: land names a file of a job; it is not taken here.")

    def find() -> FitFindings:
        if said.job:
            job = here.shelf.open(said.job)
            return _answered(ask_in_job(job, asked), fleet_with(kit_file(job)), said)
        place = said.site.model_dump() if said.site else {}
        setting = Setting(Site(name="", **place), Limits(highest_m=said.highest_m), targets=catalogue().targets)
        return _answered(ask_of(asked, setting), catalogue(), said)

    return find


def _answered(ask: Any, fleet: Fleet, said: Kit) -> FitFindings:
    named = {name: getattr(said, name) for name in ("camera", "lens", "aircraft")}
    return fit_findings(replace(ask, name=ask.target.name), chosen_combinations(fleet, **named), owned=fleet.owned)


def _answer_of(found: FitFindings, kit: Kit) -> Answer:
    """The answer for a named kit."""
    wanted = {name: value for name, value in kit.model_dump().items() if value is not None}
    for answer in found.answers:
        of = answer.combination
        has = {"camera": of.camera.id, "lens": of.lens.id, "aircraft": of.aircraft.id if of.aircraft else None}
        if all(has[name] == value for name, value in wanted.items()):
            return answer
    raise InputError(f"kits: {', '.join(wanted.values()) or 'nothing'} is not among the kits of this question.")
