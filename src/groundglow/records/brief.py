"""The brief: what is asked, of which site, how accurately, within which limits (``brief.toml``)."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from groundglow.records.edge import EdgeRecord

__all__ = ["Brief", "Limits", "Question", "Site", "Surface"]

Share = Annotated[float, Field(gt=0, le=1)]


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
    question: tuple[Question, ...] = Field(min_length=1)
    surface: tuple[Surface, ...] = ()
    limits: Limits = Limits()
    notes: str = ""
