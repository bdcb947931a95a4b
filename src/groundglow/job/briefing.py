"""Briefs from a form: checked by the same rules as a file, written as TOML; and the site that they are about."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tomlkit

from groundglow.errors import FileError, GroundglowError, InputError, JobError
from groundglow.frames.optional import require
from groundglow.frames.outline import read_outline
from groundglow.frames.site import SiteFeature, read_site
from groundglow.frames.specs import read_brief, read_toml
from groundglow.frames.vectors import read_kml
from groundglow.job.fit import asks_of_brief
from groundglow.job.folder import JobFolder
from groundglow.job.tomltext import replace_text, rewritten
from groundglow.kit.fleet import catalogue
from groundglow.records.brief import Brief, FitQuestion, Limits, Site
from groundglow.records.sentence import brief_sentence
from groundglow.steps.fit import Setting, ask_of

__all__ = [
    "SITE",
    "Checked",
    "SiteRead",
    "brief_toml",
    "check_brief",
    "make_job",
    "read_drawn",
    "read_upload",
    "write_brief",
    "write_site",
]

SITE = "site.geojson"


@dataclass(frozen=True)
class Checked:
    """What came of checking a brief: its faults, or its sentence and its text."""

    faults: tuple[str, ...]
    sentence: str = ""
    toml: str = ""


def check_brief(raw: Mapping[str, Any], where: str = "brief.toml") -> Checked:
    """Check a brief; faults are told as a command line would tell them.

    Examples
    --------
    >>> check_brief({"title": "Roof", "site": {"name": "Mill"}, "question": [{"name": "leaks", "smallest": 1}]}).faults
    ('brief.toml: question.0.smallest is not a known field (did you mean smallest_m?)',)
    """
    try:
        brief = Brief.parse(dict(raw), where)
        _check_files(brief)
        for asked in brief.fit:
            _try_fit(asked)
    except GroundglowError as error:
        return Checked(tuple(str(error).split("; ")))
    return Checked((), brief_sentence(brief), brief_toml(brief))


def _check_files(brief: Brief, known: Brief | None = None) -> None:
    """Files that a form's brief names lie in the job; those that the brief named before may stay."""
    before = set(_files(known)) if known else set()
    for field, name in _files(brief):
        path = Path(name)
        if (field, name) not in before and (path.is_absolute() or ".." in path.parts or "\\" in name):
            raise InputError(f"brief.toml: {field} is {name!r}; here it names a file in the job's own folder.")


def _files(brief: Brief) -> list[tuple[str, str]]:
    named = [("site.outline", brief.site.outline)]
    named += [("fit.land", q.land) for q in brief.fit]
    named += [(f"plan.{n}", getattr(q, n)) for q in brief.plan for n in ("over", "terrain")]
    return [(field, name) for field, name in named if name]


def _try_fit(asked: FitQuestion) -> None:
    """Units, targets and contradictions of a question, as far as they hang on nothing else."""
    free = asked.model_copy(update={"zone": None, "land": None, "hour": None})
    ask_of(free, Setting(Site(name=""), Limits(), targets=catalogue().targets))


def brief_toml(brief: Brief) -> str:
    """A brief as the text of its file: only what was said."""
    return tomlkit.dumps(_said(brief.model_dump(mode="json", exclude_unset=True)))


def _said(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _said(v) for k, v in value.items() if v is not None}
    return [_said(v) for v in value] if isinstance(value, list) else value


def write_brief(job: JobFolder, raw: Mapping[str, Any]) -> Brief:
    """Check a brief and write it in the place of the job's own; comments of the file are kept.

    Raises
    ------
    InputError
        When it is faulty; the file stays as it was.
    """
    brief = Brief.parse(dict(raw), "brief.toml")
    _check_files(brief, read_brief(job.brief))
    least = brief.model_dump(mode="json", exclude_defaults=True)
    said = _needed(_said(brief.model_dump(mode="json", exclude_unset=True)), least, read_toml(job.brief))
    replace_text(job.brief, rewritten(job.brief.read_text("utf-8-sig"), said))
    return brief


def _needed(said: Mapping[str, Any], least: Mapping[str, Any], before: Mapping[str, Any]) -> dict[str, Any]:
    """What differs from the defaults, or stands in the file already."""
    kept = {}
    for name, value in said.items():
        if name not in least and name not in before:
            continue
        known = before.get(name)
        if isinstance(value, dict):
            value = _needed(value, least.get(name, {}), known if isinstance(known, dict) else {})
        elif value and isinstance(value, list) and all(isinstance(v, dict) for v in value):
            rows = known if isinstance(known, list) else []
            value = [_needed(v, low, _like(v, rows)) for v, low in zip(value, least[name], strict=True)]
        kept[name] = value
    return kept


def _like(row: Mapping[str, Any], rows: Sequence[Mapping[str, Any]]) -> Mapping[str, Any]:
    """The row of a file that has the same name."""
    named = [r for r in rows if r.get("name", r.get("zone")) == row.get("name", row.get("zone"))]
    return named[0] if len(named) == 1 else {}


@dataclass(frozen=True)
class SiteRead:
    """A drawn site: GeoJSON, names of its zones, west, south, east, north in degrees, area to be flown over, m2."""

    site: dict[str, Any]
    zones: tuple[str, ...]
    bounds: tuple[float, float, float, float]
    area_m2: float


def read_upload(path: Path, kind: str) -> SiteRead:
    """A site from a GeoJSON or KML file.

    Raises
    ------
    FileError, InputError
        As the readers of a site say.
    """
    if kind == "kml":
        features = [
            {"type": "Feature", "geometry": f.geometry, "properties": dict(f.properties)} for f in read_kml(path)
        ]
        site = {"type": "FeatureCollection", "features": features}
    else:
        site = _geojson(path)
    return read_drawn(path, site)


def _geojson(path: Path) -> dict[str, Any]:
    try:
        found = json.loads(path.read_text("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise FileError(path.name, f"is no readable GeoJSON ({error})", "Export it again.") from error
    if isinstance(found, dict) and found.get("type") == "Feature":
        return {"type": "FeatureCollection", "features": [found]}
    return found if isinstance(found, dict) else {}


def read_drawn(beside: Path, site: Mapping[str, Any], *, zones: bool = False) -> SiteRead:
    """Check a drawn site by the readers that steps use; ``beside`` is where a file may lie for a moment.

    Parameters
    ----------
    beside : Path
    site : mapping
        GeoJSON FeatureCollection.
    zones : bool
        Its features are zones of a brief: areas only, each with its own name.
    """
    place = beside.with_name(f"{uuid.uuid4().hex}.geojson")
    place.write_text(json.dumps(site), encoding="utf-8")
    try:
        features = read_site(place)
        if zones:
            read_outline(place)
    except GroundglowError as error:
        raise InputError(str(error).replace(str(place), SITE)) from error
    finally:
        place.unlink()
    west, south, east, north = (float(v) for v in _bounds(features))
    return SiteRead(dict(site), tuple(f.name for f in features), (west, south, east, north), _area(features))


def _bounds(features: Sequence[SiteFeature]) -> Any:
    """West, south, east, north of features, degrees."""
    return require("shapely", extra="geo").total_bounds([f.shape for f in features])


def _area(features: Sequence[SiteFeature]) -> float:
    """Of the areas to be flown over, each place once, on the ellipsoid, m2."""
    shapes = [f.shape for f in features if f.use == "survey" and f.shape.geom_type.endswith("Polygon")]
    whole = require("shapely", extra="geo").union_all(shapes)
    area, _ = require("pyproj", extra="geo").Geod(ellps="WGS84").geometry_area_perimeter(whole)
    return abs(float(area))


def write_site(job: JobFolder, site: Mapping[str, Any]) -> SiteRead:
    """Write a site beside the brief, and name it there when it is not named yet.

    Raises
    ------
    InputError
        When it is faulty; the file stays as it was.
    """
    brief = read_brief(job.brief)
    name = brief.site.outline or SITE
    place = (job.root / name).resolve()
    if not place.is_relative_to(job.root):
        raise JobError(f"the brief's site.outline, {name!r}, lies outside of the job; it is not written to.")
    found = read_drawn(job.root / SITE, site, zones=bool(brief.question or brief.surface))
    replace_text(place, json.dumps(site, indent=1))
    if brief.site.outline is None:
        raw = brief.model_dump(mode="json", exclude_unset=True)
        write_brief(job, _said(raw | {"site": raw["site"] | {"outline": name}}))
    return found


def make_job(folder: Path, raw: Mapping[str, Any], site: Mapping[str, Any] | None) -> JobFolder:
    """A new job from a form: its brief, its site, an empty folder for visits.

    Raises
    ------
    InputError
        When brief or site are faulty; then no folder is left.
    JobError
        When there is something in its place.
    """
    brief = Brief.parse(dict(raw), "brief.toml")
    _check_files(brief)
    try:
        folder.mkdir(parents=False)
    except FileExistsError:
        raise JobError(f"{folder.name} exists already; choose another name.") from None
    job = JobFolder(folder.resolve())
    try:
        job.brief.write_text(brief_toml(brief), encoding="utf-8")
        (folder / "visits").mkdir()
        if site is not None:
            write_site(job, site)
        if brief.fit:
            asks_of_brief(job.brief, catalogue())
    except GroundglowError:
        _remove(folder)
        raise
    return job


def _remove(folder: Path) -> None:
    """What was just made, and nothing else."""
    for name in ("brief.toml", SITE):
        (folder / name).unlink(missing_ok=True)
    (folder / "visits").rmdir()
    folder.rmdir()
