"""How and when do we fly? Plans of a job, plans tried out over a drawn site, and the hours."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from mimetypes import guess_type
from pathlib import Path as FilePath
from typing import Annotated, Any

from fastapi import APIRouter, Path, Response
from pydantic import BaseModel, ConfigDict, Field

from groundglow.errors import FileError, GroundglowError, InputError
from groundglow.frames.vectors import write_geojson
from groundglow.job.fit import kit_file
from groundglow.job.folder import JobFolder
from groundglow.job.inputs import brief_of
from groundglow.job.plan import plan_ask, plan_files, plan_question
from groundglow.job.plans.plan import CARD, OUTPUTS, write_card, write_files
from groundglow.job.window import hour_of_plan
from groundglow.kit.fleet import Fleet, catalogue, fleet_with
from groundglow.records.brief import Brief, PlanQuestion
from groundglow.records.plan import Plan
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.asking import WindowAnswer, window_answer, window_ask
from groundglow.steps.plan.coverage import CLASSES, coverage_features
from groundglow.steps.plan.layers import features_of
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.plain import plain_plan
from groundglow.steps.plan.window_plain import plain_window
from groundglow.web.context import Context, Here, OfJob
from groundglow.web.reading import asked_told, json_of
from groundglow.web.refusals import Refusal

__all__ = ["router"]

router = APIRouter(prefix="/api", tags=["plan"])
SITE = "site.geojson"
Text = Annotated[str | None, Field(max_length=40)]


class Planning(BaseModel):
    """A plan with the fields of ``[[plan]]`` over a drawn site, or over that of a job."""

    model_config = ConfigDict(extra="forbid")
    question: dict[str, Any]
    site: dict[str, Any] | None = Field(default=None, description="GeoJSON FeatureCollection.")
    job: Annotated[str | None, Field(max_length=100)] = None
    highest_m: float = Field(default=120.0, gt=0, le=10_000)


class Hour(BaseModel):
    """A question about the hour; quantities with their unit."""

    model_config = ConfigDict(extra="forbid")
    pair: str = Field(max_length=60)
    place: tuple[Annotated[float, Field(ge=-90, le=90)], Annotated[float, Field(ge=-180, le=180)]] = Field(
        description="Latitude, longitude."
    )
    date: str = Field(max_length=10)
    air_lowest: Text = None
    air_highest: Text = None
    humidity: Text = None
    wind: Text = None
    cloud: Text = None
    load: Text = None
    ground_height: Text = None
    distance: Text = None
    netd: Text = None
    flight: Text = None
    tilt: float | None = Field(default=None, ge=0, le=90)
    azimuth: float | None = Field(default=None, ge=0, le=360)
    hour: float | None = Field(default=None, ge=0, lt=24)
    utc_offset: float | None = Field(default=None, ge=-14, le=14)
    no_night: bool = False


@router.get("/jobs/{job}/plan", summary="What the job asks of plan, and the plans")
def of_job(here: Here, job: OfJob) -> dict[str, Any]:
    """Each ``[[plan]]`` of the brief; the plan is null before the step has run.

    ``site`` is the GeoJSON of the file that a plan names under ``over``; null when it flies over the site's outline.
    """
    called, fleet = ("plan", "plan"), fleet_with(kit_file(job))
    asked = brief_of(job).plan
    told = asked_told(here, job, "plan", asked, called=called, files=(*CARD, *OUTPUTS))
    return {
        "plans": [
            t | {"plan": t["plan"] and _named(t["plan"], fleet), "site": _flown_over(here, job, q.over)}
            for t, q in zip(told, asked, strict=True)
        ]
    }


def _flown_over(here: Context, job: JobFolder, over: str | None) -> Any:
    """The features of a file that a plan flies over; null for one that is not there or cannot be read."""
    if not over:
        return None
    try:
        found = json_of(here, here.shelf.within(job.root / over))
    except (ValueError, OSError, Refusal):  # the planning step tells what is wrong with it
        return None
    return found if isinstance(found, dict) and isinstance(found.get("features"), list) else None


def _named(plan: dict[str, Any], fleet: Fleet) -> dict[str, Any]:
    """A plan with the names of the camera, lens and aircraft that it names by their ids."""
    parts = {*str(plan["kit"]).split(" + "), *(s["aircraft"] for s in plan["sorties"])}
    named = {
        **{c.id: c.name for c in fleet.cameras.values()},
        **{x.id: x.name for x in fleet.lenses.values()},
        **{a.id: a.name for a in fleet.aircraft.values()},
    }
    return plan | {"names": {part: named[part] for part in sorted(parts) if part in named}}


@router.get("/jobs/{job}/plan/{number}/lines", summary="Lines of a plan as GeoJSON")
def lines(here: Here, job: OfJob, number: int) -> Any:
    """Lines, sorties, take-off points."""
    found = json_of(here, job.out / "plan" / f"plan-{number}.geojson")
    if found is None:
        raise FileError(f"plan {number}", "is not made yet", "Run the planning step.")
    return found


@router.get("/jobs/{job}/plan/{number}/coverage", summary="Frames that show each part of the site")
def coverage(here: Here, job: OfJob, number: Annotated[int, Path(ge=1, le=1000)]) -> dict[str, Any]:
    """The proof as GeoJSON: areas, or places of a line, a point or a face, with the number of frames that show them."""
    brief = brief_of(job)
    if number > len(brief.plan):
        raise FileError(f"plan {number}", "is not asked for", f"The brief asks for {len(brief.plan)}.")
    return here.large.get(
        (job.root, "coverage", number), plan_files(job, brief), lambda: _coverage(plan_question(job, number - 1))
    )


def _coverage(plan: Plan) -> dict[str, Any]:
    features = [
        {"type": "Feature", "geometry": f.geometry, "properties": dict(f.properties)} for f in coverage_features(plan)
    ]
    return {"type": "FeatureCollection", "features": features, "classes": [words for _, words in CLASSES]}


@router.post("/plan/try", summary="Try a plan out")
def trying(here: Here, said: Planning) -> dict[str, Any]:
    """The plan and its lines at once; nothing is written into any job."""
    with _planned(here, said) as (plan, _, place):
        told = _named(plain_plan(plan), _fleet(here, said))
        return {"plan": told, "lines": _lines(plan, place), "coverage": _coverage(plan)}


@router.post("/plan/try/{name}", summary="A file of a plan that is tried out", response_class=Response)
def tried_file(here: Here, said: Planning, name: Annotated[str, Path(max_length=40)]) -> Response:
    """As the planning step writes it: ``plan-tried.kml``, ``.gpx``, ``.geojson``, ``card-tried.pdf`` and the others."""
    names = [n.format("tried") for n in (*OUTPUTS, *CARD)]
    if name not in names:
        raise Refusal(404, f"There is no file {name!r} of a plan; there are {', '.join(names)}.")
    with _planned(here, said) as (plan, ask, place):
        paths = tuple(place / n for n in names)
        if name in names[: len(OUTPUTS)]:
            write_files(plan, paths[: len(OUTPUTS)])
        else:
            hour = _hour(here.shelf.open(said.job), said, plan) if said.job else None
            write_card(plan, ask, hour, paths[len(OUTPUTS) :])
        return Response((place / name).read_bytes(), media_type=guess_type(name)[0] or "application/octet-stream")


def _hour(job: JobFolder, said: Planning, plan: Plan) -> WindowAnswer | None:
    return hour_of_plan(job.brief, PlanQuestion.parse(_question(said, job), "plan"), plan)


@contextmanager
def _planned(here: Context, said: Planning) -> Iterator[tuple[Plan, PlanAsk, FilePath]]:
    """The plan with its question, and a folder that is gone afterwards."""
    files = {"over", "terrain"} & set(said.question)
    if said.site is None and said.job is None:
        raise InputError("site is missing: draw what is to be flown, or name a job that has a site.")
    if files and said.job is None:
        raise InputError(f"plan: {sorted(files)[0]} names a file of a job; name the job too.")
    with tempfile.TemporaryDirectory() as folder:
        place = FilePath(folder)
        yield (*_plan_in(here, said, place), place)


def _fleet(here: Context, said: Planning) -> Fleet:
    return fleet_with(kit_file(here.shelf.open(said.job))) if said.job else catalogue()


def _plan_in(here: Context, said: Planning, place: FilePath) -> tuple[Plan, PlanAsk]:
    job = here.shelf.open(said.job) if said.job else None
    raw, base = _question(said, job), job.root if job else place
    if said.site is not None:
        drawn = place / SITE
        drawn.write_text(json.dumps(said.site), encoding="utf-8")
        raw["over"] = str(drawn)
    known = brief_of(job).model_dump(exclude_unset=True) if job else {"site": {"name": "site"}, "title": "plan"}
    limits = known.get("limits") or {"highest_m": said.highest_m}
    asked = Brief.parse({**known, "limits": limits, "plan": [raw]}, "plan")
    try:
        ask = plan_ask(base, asked, 0, _fleet(here, said))
        return plan_of(ask), ask
    except GroundglowError as error:
        told = str(error).replace(str(place / SITE), "the drawn site")
        raise InputError(told.replace(f"{base}/", "")) from error


def _question(said: Planning, job: JobFolder | None) -> dict[str, Any]:
    """The question; files that it names have to lie in the job."""
    raw = {"name": "plan", **said.question}
    for name in ("over", "terrain"):
        given = raw.get(name)
        if given is None or job is None:
            continue
        if not (isinstance(given, str) and (job.root / given).resolve().is_relative_to(job.root)):
            raise InputError(f"plan: {name} {given!r} does not lie in the job.")
    return raw


def _lines(plan: Plan, place: FilePath) -> Any:
    path = place / "lines.geojson"
    write_geojson(path, [f for folder in features_of(plan, heights="none").values() for f in folder])
    return json.loads(path.read_text("utf-8"))


@router.post("/window", summary="When can it be seen?")
def window(said: Hour) -> dict[str, Any]:
    """Contrast through a day with its doubt, open windows, crossovers and levels."""
    return plain_window(window_answer(window_ask(said.model_dump(exclude_none=True))))
