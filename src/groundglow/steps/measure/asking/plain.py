"""Readings, budgets and lessons as plain data for JSON: degrees Celsius and K, units in the names, null for none."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace
from typing import Any

import numpy as np

from groundglow.frames.units import ZERO_CELSIUS
from groundglow.model.doubt import Doubt
from groundglow.steps.measure.asking.explaining import Explanation
from groundglow.steps.measure.asking.knowns import Known, Made
from groundglow.steps.measure.asking.lessons import Sheet
from groundglow.steps.measure.asking.measured import Value
from groundglow.steps.measure.asking.reading import Profile, RegionReading, Rise
from groundglow.steps.measure.asking.setting import Setting

__all__ = ["assumed_of", "plain_budget", "plain_lesson", "plain_readings"]


def _number(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _c(kelvin: float) -> float | None:
    return _number(kelvin - ZERO_CELSIUS)


def _sources(doubt: Doubt) -> dict[str, Any]:
    return {
        "independent_k": float(doubt.independent),
        "frame_k": {name: float(v) for name, v in doubt.frame.items()},
        "flight_k": {name: float(v) for name, v in doubt.flight.items()},
    }


def _value(value: Value) -> dict[str, Any]:
    return {
        "value_c": _c(value.kelvin),
        "low_c": _c(value.low),
        "high_c": _c(value.high),
        "standard_uncertainty_k": value.standard_uncertainty,
        "first_order": value.first_order,
        "sources": _sources(value.doubt),
    }


def _known(known: Known) -> dict[str, Any]:
    return {key: _number(v) if isinstance(v, float) else v for key, v in asdict(known).items()}


def _reading(r: RegionReading) -> dict[str, Any]:
    shift = 0.0 if r.unit == "counts" else ZERO_CELSIUS
    suffix = "counts" if r.unit == "counts" else "c"
    found: dict[str, Any] = {
        "label": r.region.label,
        "kind": r.region.kind,
        "numbers": list(r.region.numbers),
        "pixels": r.pixels,
        "left_out": r.left_out,
        f"mean_{suffix}": _number(r.mean - shift),
        f"least_{suffix}": _number(r.least - shift),
        f"greatest_{suffix}": _number(r.greatest - shift),
        "reading": _value(r.value) if r.value else None,
        "support": str(r.support),
        "reason": r.reason,
        "surface": r.scene.made.name if r.scene else None,
        "corrected": None,
        "profile": _profile(r.profile, shift, suffix) if r.profile else None,
    }
    if r.corrected is not None:
        c = r.corrected
        found["corrected"] = {
            **_value(c.value), "pixels_across": c.across, "bias_k": c.bias, "factor": c.factor.value,
            "factor_independent": c.factor.independent, "factor_lens_blur": c.factor.optics,
        }  # fmt: skip
    return found


def _profile(of: Profile, shift: float, suffix: str) -> dict[str, Any]:
    ends = {"value": of.value, "low": of.low, "high": of.high}
    return {
        "column": of.column.tolist(),
        "row": of.row.tolist(),
        **{f"{name}_{suffix}": [_number(float(v) - shift) for v in values] for name, values in ends.items()},
        "reason": list(of.reason),
    }


def assumed_of(setting: Setting, readings: Sequence[RegionReading]) -> list[Known]:
    """All inputs that the readings used, each once; the distance is that of the middle of the frame."""
    if setting.signal.unit == "counts":
        return []
    scenes = [r.scene for r in readings if r.scene is not None]
    surfaces = _emissivities([(r.region.label, r.scene.made) for r in readings if r.scene is not None])
    air = [k for scene in scenes for k in scene.knowns if k.name not in ("emissivity", "distance")]
    sensor = [k for k in setting.sensor.knowns if k.name != "calibration"]
    known = [*surfaces, *air, *([setting.sight.known] if scenes else []), *sensor]
    return list(dict.fromkeys(known))


def _emissivities(made: Sequence[tuple[str, Made]]) -> list[Known]:
    """What each place was taken to be made of; which places, where they differ."""
    found: dict[Known, list[str]] = {}
    for label, one in made:
        found.setdefault(replace(one.emissivity, name=one.name), []).append(label)
    of = [f" {', '.join(labels)}" if len(found) > 1 else "" for labels in found.values()]
    return [replace(known, name=f"emissivity{places}: {known.name}") for known, places in zip(found, of, strict=True)]


def _rise(rise: Rise) -> dict[str, Any]:
    v = rise.value
    numbers = None
    if v is not None:
        numbers = {"value": v.kelvin, "low": _number(v.low), "high": _number(v.high), "sources": _sources(v.doubt)}
    return {
        "over": list(rise.over),
        "rise_k": numbers,
        "rise_counts": _number(rise.counts),
        "reason": rise.reason,
        "cancelled": list(rise.cancelled),
    }


def plain_readings(
    frame: str, readings: Sequence[RegionReading], rises: Sequence[Rise], knowns: Sequence[Known], notes: Sequence[str]
) -> dict[str, Any]:
    """All readings of a frame."""
    return {
        "frame": frame,
        "regions": [_reading(r) for r in readings],
        "rises": [_rise(r) for r in rises],
        "inputs": [_known(k) for k in knowns],
        "notes": list(notes),
    }


def plain_budget(found: Explanation, knowns: Sequence[Known], notes: Sequence[str]) -> dict[str, Any]:
    """One reading explained."""
    h = found.halving
    return {
        "apparent_c": _c(found.apparent),
        "surface_c": _c(found.kelvin),
        "low_c": _c(found.low),
        "high_c": _c(found.high),
        "by_surface_k": found.by_surface,
        "by_air_k": found.by_air,
        "reflected_c": _c(found.mirrored.kelvin),
        "reflected_parts_k": {name: float(v) for name, v in found.mirrored.parts.items()},
        "standard_uncertainty_k": found.standard_uncertainty,
        "first_order_c": [_c(end) for end in found.first_order],
        "trials": {**_plain(asdict(found.trials)), "low": _c(found.trials.low), "high": _c(found.trials.high)},
        "lines": [_plain(asdict(line)) for line in found.lines],
        "dominant": found.dominant.name,
        "alternatives": [
            {"words": a.words, "surface_c": _c(a.kelvin), "change_k": _number(a.change)} for a in found.alternatives
        ],
        "measures": [{"name": m.name, "how": m.words, "leaves_k": left} for m, left in h.alone],
        "halving": {"now_k": h.now, "measure": [m.name for m in h.together], "then_k": h.then, "best_k": h.best},
        "inputs": [_known(k) for k in knowns],
        "notes": list(notes),
    }


def _plain(raw: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _number(float(v)) if isinstance(v, float | np.floating) else v for key, v in raw.items()}


def plain_lesson(name: str, sheet: Sheet) -> dict[str, Any]:
    """One lesson."""
    return {"lesson": name, **asdict(sheet), "values": dict(sheet.values)}
