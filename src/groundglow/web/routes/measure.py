"""How hot, and how surely? The model as a table, readings and budgets by the steps' own functions."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any, Literal, get_args

from fastapi import APIRouter, Query
from pydantic import BaseModel, ConfigDict, Field

from groundglow.errors import InputError
from groundglow.job.setting import accuracy_of
from groundglow.steps.measure.asking.explaining import explain_pixel
from groundglow.steps.measure.asking.knowns import Said
from groundglow.steps.measure.asking.plain import assumed_of, plain_budget, plain_readings
from groundglow.steps.measure.asking.reading import read_regions, rise_of
from groundglow.steps.measure.asking.regions import Kind, Region, parse_regions
from groundglow.web.context import Here
from groundglow.web.live import Spoken, setting_for, table_of
from groundglow.web.routes.frames import AtFrame

__all__ = ["router"]

router = APIRouter(prefix="/api/jobs/{job}/flights/{visit}/{flight}/frames", tags=["measure"])
KINDS: tuple[Kind, ...] = get_args(Kind)


class OfSurface(Spoken):
    """What is said of a scene, and which of the frame's surfaces is meant."""

    surface: int = Field(default=0, ge=0, le=254, description="Place in surfaces.")


@router.get("/{frame}/table", summary="The model from signal to temperature, as tables")
def table(
    here: Here,
    at: AtFrame,
    said: Annotated[OfSurface, Query()],
) -> dict[str, Any]:
    """What a browser needs to work the frame out again for another emissivity, at once and by the same equation."""
    return table_of(here, at, said, said.surface)


class Place(BaseModel):
    """A part of a frame: point [c, r], rectangle [left, top, right, bottom], disc [c, r, radius], polygon, line."""

    model_config = ConfigDict(extra="forbid")
    kind: Literal["point", "rectangle", "disc", "polygon", "line"]
    numbers: Annotated[list[Annotated[float, Field(ge=-1e6, le=1e6)]], Field(min_length=2, max_length=400)]
    label: str = Field(default="", max_length=40)


class Reading(BaseModel):
    """What is to be read, and what is said of the scene, of all or of single labels."""

    model_config = ConfigDict(extra="forbid")
    regions: Annotated[list[Place], Field(min_length=1, max_length=50)]
    rises: Annotated[list[tuple[str, str]], Field(max_length=50)] = []
    said: Spoken = Spoken()
    by_label: dict[str, Spoken] = {}
    sizes: dict[str, Annotated[float, Field(gt=0)]] = Field(default={}, description="Of targets by label, m.")
    accuracy_k: float | None = Field(default=None, gt=0, le=1000)


class Explaining(BaseModel):
    """A pixel to be explained."""

    model_config = ConfigDict(extra="forbid")
    column: Annotated[int, Field(ge=0, le=100_000)]
    row: Annotated[int, Field(ge=0, le=100_000)]
    said: Spoken = Spoken()


@router.post("/{frame}/reading", summary="Read points, regions and lines")
def reading(here: Here, at: AtFrame, asked: Reading) -> dict[str, Any]:
    """Each with its 95 % interval and how far it is supported, as `groundglow read` does, levelled."""
    regions = parse_regions([(kind, [_written(p) for p in asked.regions if p.kind == kind]) for kind in KINDS])
    setting = setting_for(here, at, _said(asked))
    accuracy = asked.accuracy_k if asked.accuracy_k is not None else accuracy_of(at.job.root / at.entry.path)
    readings = read_regions(setting, regions, sizes=asked.sizes, accuracy=accuracy)
    rises = [rise_of(readings, pair) for pair in asked.rises]
    return plain_readings(at.entry.name, readings, rises, assumed_of(setting, readings), setting.notes)


def _written(place: Place) -> str:
    """A region as a command line would write it: one reader of regions."""
    numbers = ",".join(repr(n) for n in place.numbers)
    if set("=\n\r") & set(place.label):
        raise InputError(f"label {place.label!r} holds an equals sign or a line break.")
    return f"{place.label}={numbers}" if place.label.strip() else numbers


def _said(asked: Reading) -> dict[str, Said]:
    scene = asked.said.said()
    own = {label: spoken.model_dump(exclude_none=True) for label, spoken in asked.by_label.items()}
    return {"": scene, **{label: replace(scene, **given) for label, given in own.items()}}


@router.post("/{frame}/budget", summary="Why may this temperature be wrong?")
def budget(here: Here, at: AtFrame, asked: Explaining) -> dict[str, Any]:
    """One pixel, input by input, as `groundglow budget` does, level and pattern taken off."""
    setting = setting_for(here, at, {"": asked.said.said()})
    found = explain_pixel(setting, Region("pixel", "point", (float(asked.column), float(asked.row))))
    sensor = [k for k in setting.sensor.knowns if k.name != "calibration"]
    return plain_budget(found, [*found.scene.knowns, *sensor], setting.notes)
