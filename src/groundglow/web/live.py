"""Settings of frames, tables of the model: from what a browser says to what the steps take, and back to plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from groundglow.errors import InputError
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import outline_files, spec_files
from groundglow.job.plans.check import log_path
from groundglow.job.plans.register import pattern_path, registration_path
from groundglow.job.setting import Asked, setting_of
from groundglow.records.log import LogEntry
from groundglow.steps.measure.asking.knowns import Known, Made, Said
from groundglow.steps.measure.asking.setting import Setting
from groundglow.steps.measure.live import Live, Terms, live_table
from groundglow.steps.measure.surfaces import MIXED_GROUND
from groundglow.web.context import Context

__all__ = ["FrameAt", "Spoken", "files_of", "setting_for", "surfaces_of", "table_of"]


@dataclass(frozen=True)
class FrameAt:
    """One frame of one flight of one job."""

    job: JobFolder
    flight: FlightFolder
    entry: LogEntry


class Spoken(BaseModel):
    """What is said of a scene, in the units people write; what is left out is as the job knows it."""

    model_config = ConfigDict(extra="forbid")
    emissivity: float | None = Field(default=None, gt=0, le=1)
    emissivity_sd: float | None = Field(default=None, ge=0, le=0.5)
    material: str | None = Field(default=None, max_length=100)
    reflected_c: float | None = Field(default=None, ge=-110, le=500)
    reflected_sd_k: float | None = Field(default=None, ge=0, le=200)
    air_c: float | None = Field(default=None, ge=-60, le=60)
    air_sd_k: float | None = Field(default=None, ge=0, le=50)
    humidity_pct: float | None = Field(default=None, ge=0, le=100)
    humidity_sd_pct: float | None = Field(default=None, ge=0, le=50)
    pressure_hpa: float | None = Field(default=None, ge=500, le=1100)
    cloud: float | None = Field(default=None, ge=0, le=1)
    cloud_sd: float | None = Field(default=None, ge=0, le=1)
    distance_m: float | None = Field(default=None, ge=0, le=5000)
    distance_sd_m: float | None = Field(default=None, ge=0, le=5000)
    tilt_deg: float | None = Field(default=None, ge=0, lt=90)

    def said(self) -> Said:
        """The same as the steps take it."""
        return Said(**{f.name: getattr(self, f.name, None) for f in fields(Said)})


def files_of(at: FrameAt) -> tuple[Path, ...]:
    """Files on which readings of a frame rest, the frame itself first."""
    job, flight = at.job, at.flight
    return (
        job.root / at.entry.path, *spec_files(flight), job.brief, *outline_files(job),
        flight.visit_path / "conditions.csv", log_path(job, flight), registration_path(job, flight),
        pattern_path(job, flight),
    )  # fmt: skip


def setting_for(here: Context, at: FrameAt, said: Mapping[str, Said]) -> Setting:
    """Setting of a frame with level and pattern taken off; kept, as reading it takes longer than using it."""
    path = at.job.root / at.entry.path
    asked = Asked(dict(said))
    key = ("setting", path, tuple(sorted(asked.said.items(), key=lambda item: item[0])))
    return here.large.get(key, files_of(at), lambda: setting_of(path, asked, level=True))


def _made(setting: Setting) -> list[Made]:
    """Surfaces that a frame may show: as said, else those of the brief, else mixed ground."""
    if "" in setting.made:
        return [setting.made[""]]
    if not setting.surfaces:
        return [Made("mixed ground", Known("emissivity", *MIXED_GROUND, "", "assumed", "assumed"), False, 0.0)]
    return [
        Made(
            s.name,
            Known("emissivity", s.emissivity, s.emissivity_sd, "", "assumed" if s.assumed else "brief.toml", "table"),
            s.mirror_like,
            s.tilt,
        )
        for s in setting.surfaces
    ]


def surfaces_of(setting: Setting) -> list[dict[str, Any]]:
    """The same as plain data."""
    return [
        {"name": m.name, "emissivity": m.emissivity.value, "emissivity_sd": m.emissivity.standard_uncertainty}
        for m in _made(setting)
    ]


def table_of(here: Context, at: FrameAt, said: Spoken, surface: int) -> dict[str, Any]:
    """Tables of one frame for one of its surfaces, with what was said in the place of what the job knows; kept."""
    key = ("live", at.job.root / at.entry.path, said.model_dump_json(exclude_none=True), surface)
    return here.kept.get(key, files_of(at), lambda: _tables(here, at, said, surface))


def _tables(here: Context, at: FrameAt, said: Spoken, surface: int) -> dict[str, Any]:
    told = said.said()
    setting = setting_for(here, at, {"": replace(told, emissivity=None)})
    made = _made(setting)
    if surface >= len(made):
        raise InputError(f"surface is {surface}; this frame shows {len(made)}, from 0.")
    chosen = made[surface]
    if told.emissivity is not None:
        chosen = replace(chosen, emissivity=replace(chosen.emissivity, value=told.emissivity, origin="given"))
    found = live_table(setting, chosen)
    return _plain(found) | {"surfaces": surfaces_of(setting), "surface": surface, "notes": list(setting.notes)}


def _plain(live: Live) -> dict[str, Any]:
    scene = live.scene
    air = scene.air
    return {
        "signal_k": _short(live.signal), "radiance": _short(live.radiance), "surface_k": _short(live.surface),
        "reflected_k": _short(live.reflected), **_terms(live.terms),
        "at": {
            "emissivity": scene.made.emissivity.value, "reflected_k": live.reflected_now,
            "air_c": air["air temperature"].value - ZERO_CELSIUS,
            "humidity_pct": 100.0 * air["relative humidity"].value, "distance_m": scene.distance.value,
            "cloud": air["cloud"].value, "made_of": scene.made.name,
        },
        "origins": {k.name: k.origin for k in scene.knowns},
        "doubt": {
            "apparent_k": dict(live.apparent), "surface_k": dict(live.other),
            "emissivity": scene.made.emissivity.standard_uncertainty, "reflected_k": live.reflected_sd,
            "moved": [
                {"name": name, "value": known.value, "standard_uncertainty": known.standard_uncertainty,
                 "unit": known.unit, "origin": known.origin, **_terms(terms)}
                for name, (known, terms) in live.moved.items()
            ],
        },
    }  # fmt: skip


def _terms(terms: Terms) -> dict[str, Any]:
    return {"arriving": _short(terms.arriving), "mirrored": _short(terms.mirrored), "path": terms.path}


def _short(values: Any) -> list[float]:
    """Numbers with nine figures: some uK."""
    return [float(f"{v:.9g}") for v in values]
