"""Answers about the hour as plain data: times as ISO 8601 in UTC, temperatures in C, differences in K."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from groundglow.frames.units import ZERO_CELSIUS
from groundglow.steps.plan.asking import WindowAnswer
from groundglow.steps.plan.levels import Level

__all__ = ["plain_window"]


def plain_window(found: WindowAnswer) -> dict[str, Any]:
    """The answer as plain data: times as ISO 8601 in UTC, temperatures in C, differences in K."""
    return {
        "pair": found.ask.pair.id,
        "windows": [
            {
                "rank": w.rank, "start": _iso(w.start), "end": _iso(w.end), "best": _iso(w.best), "light": w.light,
                "contrast_k": round(w.contrast, 3), "contrast_sd_k": round(w.contrast_sd, 3),
                "contrast_to_noise": round(w.contrast_to_noise, 3),
            }
            for w in found.windows.windows
        ],
        "crossovers": [
            {"time": _iso(c.time), "standard_uncertainty_s": round(c.standard_uncertainty), "sign": c.sign}
            for c in found.crossovers
        ],
        "hours": [
            {
                "start": _iso(h.time), "air_c": round(h.air - ZERO_CELSIUS, 2),
                "target_c": round(h.target - ZERO_CELSIUS, 2),
                "background_c": round(h.background - ZERO_CELSIUS, 2), "contrast_k": round(h.contrast, 3),
                "low_k": round(h.low, 3), "high_k": round(h.high, 3), "open_share": round(h.open_share, 3),
                "contrast_to_noise": round(h.contrast_to_noise, 3), "closed_by": list(h.reasons),
            }
            for h in found.windows.hours
        ],
        "levels": {
            "time": _iso(found.levels.time), "background_c": round(found.levels.background - ZERO_CELSIUS, 2),
            "background_sd_k": round(found.levels.background_sd, 3),
            "band_k": [round(v, 3) for v in found.levels.band],
            "levels": [_plain_level(v) for v in (found.levels.expected, *found.levels.others)],
        },
        "rules": {n: {"value": f.value, "unit": f.unit, "source": f.source} for n, f in found.ask.pair.rules.items()},
        "assumed": [*found.ask.assumed, *found.day.notes],
        "cautions": list(found.cautions),
    }  # fmt: skip


def _plain_level(level: Level) -> dict[str, Any]:
    both = (("relative", level.relative), ("absolute", level.absolute))
    kinds = ("detected", "false_cues")
    shares = {f"{name}_{kind}": round(getattr(found, kind), 5) for name, found in both for kind in kinds}
    return {"name": level.name, "rise_k": round(level.rise, 3), "source": level.source, **shares}


def _iso(time: float) -> str:
    return datetime.fromtimestamp(round(time), UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
