"""The brief: what is asked, of which site, how accurately, within which limits (``brief.toml``)."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from groundglow.records.edge import EdgeRecord

__all__ = ["Brief", "FitQuestion", "Limits", "PlanQuestion", "Question", "Site", "Surface"]

Share = Annotated[float, Field(gt=0, le=1)]
#: A number with its unit as text; a bare number is let in here so that the missing unit can be named.
Written = str | float | None


class Site(EdgeRecord):
    """The place. ``outline`` names a GeoJSON file beside the brief whose features may carry ``name``
    and ``surface``: zones that questions and surfaces refer to. A place may be unknown.
    """

    name: str
    lon_deg: float | None = Field(default=None, ge=-180, le=180)
    lat_deg: float | None = Field(default=None, ge=-90, le=90)
    outline: str | None = None


class Surface(EdgeRecord):
    """What a zone is made of, as far as the reading needs it.

    ``zone`` is the name of a zone of the site's outline, or ``*`` for everything else. Tilt is from level;
    azimuth from north over east is where the upper side faces.
    """

    zone: str = "*"
    material: str
    emissivity: Share | None = None
    emissivity_sd: float | None = Field(default=None, ge=0, le=0.5)
    tilt_deg: float = Field(default=0.0, ge=0, le=90)
    azimuth_deg: float = Field(default=180.0, ge=0, le=360)


class Question(EdgeRecord):
    """One thing that is looked for.

    ``looking_for`` is ``spot`` (compact: a cell, a clamp, an animal) or ``area`` (wet patch, inflow).
    Sizes are diameters in m, or in px when the flight has no metres. ``zone`` restricts the search.
    """

    name: str
    looking_for: Literal["spot", "area"] = "spot"
    sign: Literal["hot", "cold", "both"] = "both"
    smallest_m: float | None = Field(default=None, gt=0)
    largest_m: float | None = Field(default=None, gt=0)
    smallest_px: float | None = Field(default=None, gt=0)
    largest_px: float | None = Field(default=None, gt=0)
    zone: str | None = None
    sigmas: float | None = Field(default=None, gt=0, le=100)
    least_rise_k: float = Field(default=0.0, ge=0)
    accuracy_k: float | None = Field(default=None, gt=0)


class FitQuestion(EdgeRecord):
    """Can it be seen, and with what? Quantities are texts with their unit, such as ``"80 m"`` or ``"15 C"``.

    ``target`` is one of the ready-made ones, or ``length``, ``width`` and ``height`` (0 flat) are given with a
    ``material`` and one of ``rise`` and ``temperature``. ``task`` is a task of seeing with ``probability``, or
    ``measure`` with ``accuracy`` of a ``temperature`` or a ``rise`` (``of``). ``distance`` is a given stand-off; else
    one is chosen between ``nearest`` and ``highest`` (default: of the limits). ``area``, ``length_of_line``
    and ``face`` (width, height) say what has to be covered; without them the site's outline does, or one point.
    """

    name: str = ""
    target: str | None = None
    length: Written = None
    width: Written = None
    height: Written = None
    material: str | None = None
    background: str | None = None
    rise: Written = None
    temperature: Written = None
    clutter: Written = None
    task: Literal["detect", "recognise", "identify", "measure"] = "detect"
    probability: Written = None
    accuracy: Written = None
    of: Literal["temperature", "rise"] | None = None
    view: Literal["above", "side"] | None = None
    distance: Written = None
    nearest: Written = None
    highest: Written = None
    area: Written = None
    length_of_line: Written = None
    face: tuple[str | float, str | float] | None = None
    zone: str | None = None
    land: str | None = None
    date: str = ""
    hour: int | None = Field(default=None, ge=0, le=23)
    ground_height: Written = None
    air_lowest: Written = None
    air_highest: Written = None
    humidity: Written = None
    wind: Written = None
    cloud: Written = None
    visibility: Written = None
    rain: bool = False
    load: Written = None
    speed: Written = None
    people_near: bool | None = None
    live_parts: bool | None = None
    budget: float | None = Field(default=None, gt=0)
    currency: str = ""
    highest_frame_rate: Written = None
    recording: str = ""
    bought_in: str = ""
    used_in: str = ""
    end_user: str = ""
    end_use: str = ""
    temporary: bool = False


class PlanQuestion(EdgeRecord):
    """How do we fly? Quantities are texts with their unit.

    ``over`` is a GeoJSON file with what is to be flown (default: the site's outline); features may carry ``use``:
    no-fly, take-off or segment. An area is covered by parallel lines, a line followed on both sides, a point circled;
    a line with ``face_height`` is the foot of a face, an area with ``sweep_width`` is searched. The height follows
    from ``sampling`` (m a pixel), from ``pixels_on_target`` of a ``target_size``, or is given. ``terrain`` is a
    GeoTIFF of heights; without it the ground is level at ``ground_height``. ``take_off`` is "LAT, LON". The speed
    keeps the smear below ``smear_px`` (1 px of lag), or, with a ``rise`` of the target and an ``accuracy``, until its
    bias uses a fifth of that; with ``hold`` the aircraft stops for so long at each frame.
    ``target`` is what is looked for: the hour and the levels on the card are those of the ``[[fit]]`` with it.
    """

    name: str = ""
    target: str | None = None
    over: str | None = None
    zone: str | None = None
    terrain: str | None = None
    ground_height: Written = None
    take_off: str | None = None
    camera: str | None = None
    lens: str | None = None
    aircraft: str | None = None
    sampling: Written = None
    pixels_on_target: float | None = Field(default=None, gt=0)
    target_size: Written = None
    height: Written = None
    forward_overlap: Written = None
    side_overlap: Written = None
    heading_deg: float | None = Field(default=None, ge=0, le=360)
    ceiling: Written = None
    smear_px: float | None = Field(default=None, gt=0)
    rise: Written = None
    accuracy: Written = None
    speed: Written = None
    hold: Written = None
    wind: Written = None
    wind_from_deg: float = Field(default=0.0, ge=0, le=360)
    climb: Written = None
    slope: Written = None
    clearance: Written = None
    lowest: Written = None
    flown_at: str = ""
    aircraft_count: int = Field(default=1, ge=1, le=20)
    hours_a_day: float = Field(default=8.0, gt=0, le=24)
    days: int | None = Field(default=None, ge=1)
    extra_frames: int = Field(default=0, ge=0, le=20)
    tilt_deg: float = Field(default=45.0, ge=0, le=80)
    sides: Literal[1, 2] = 2
    radius: Written = None
    rings: int = Field(default=1, ge=1, le=10)
    face_height: Written = None
    face_tilt_deg: float = Field(default=90.0, gt=0, le=90)
    foot: Written = None
    aside_deg: float = Field(default=0.0, ge=-45, le=45)
    sweep_width: Written = None
    probability: Written = None
    recording: str = ""


class Limits(EdgeRecord):
    """What must be kept while flying."""

    highest_m: float = Field(default=120.0, gt=0)
    people_near: bool = False
    live_parts: bool = False


class Brief(EdgeRecord):
    """A job as it was asked for."""

    title: str
    client: str = ""
    prepared_by: str = ""
    asked_on: str = ""
    site: Site
    question: tuple[Question, ...] = ()
    fit: tuple[FitQuestion, ...] = ()
    plan: tuple[PlanQuestion, ...] = ()
    surface: tuple[Surface, ...] = ()
    limits: Limits = Limits()
    notes: str = ""

    @model_validator(mode="before")
    @classmethod
    def _something_is_asked(cls, raw: Any) -> Any:
        if isinstance(raw, dict) and not any(raw.get(name) for name in ("question", "fit", "plan")):
            told = (
                "question is missing: add a [[question]] on what is looked for, a [[fit]] on what can be seen, or a "
                "[[plan]] on how to fly"
            )
            raise PydanticCustomError("nothing_asked", told)
        return raw
