"""Tables of the model and readings, from what a browser says to what the steps take, and back to plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from groundglow.errors import InputError
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.job.setting import Asked, setting_of
from groundglow.steps.measure.asking.knowns import Known, Made, Said
from groundglow.steps.measure.asking.setting import Setting
from groundglow.steps.measure.live import Live, Terms, live_table
from groundglow.steps.measure.surfaces import MIXED_GROUND

__all__ = ["surfaces_of", "table_of"]


def made_of(setting: Setting) -> list[Made]:
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
        for m in made_of(setting)
    ]


def table_of(path: Path, said: Mapping[str, float | None], surface: int) -> dict[str, Any]:
    """Tables of one frame for one of its surfaces, with what was said in the place of what the job knows."""
    emissivity = said["emissivity"]
    told = replace(Said(), **{name: value for name, value in said.items() if name != "emissivity"})
    setting = setting_of(path, Asked({"": told}), level=True)
    made = made_of(setting)
    if surface >= len(made):
        raise InputError(f"surface is {surface}; this frame shows {len(made)}, from 0.")
    chosen = made[surface]
    if emissivity is not None:
        chosen = replace(chosen, emissivity=replace(chosen.emissivity, value=emissivity, origin="given"))
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
    """Numbers with seven figures: some 10 uK."""
    return [float(f"{v:.9g}") for v in values]
