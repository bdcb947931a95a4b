"""A plan as plain values for JSON, degrees and metres as people read them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from groundglow.frames.vectors.features import plain
from groundglow.records.plan import KINDS, Plan, Proof, Spread

__all__ = ["plain_plan", "storage_text"]


def storage_text(size: float) -> str:
    """Bytes as people say them.

    Examples
    --------
    >>> storage_text(2.71e9), storage_text(25e6)
    ('2.7 GB', '25 MB')
    """
    return f"{size / 1e9:.1f} GB" if size >= 1e9 else f"{math.ceil(size / 1e6)} MB"


def plain_plan(plan: Plan) -> dict[str, Any]:
    """Figures, lines, sorties, proof, reasons; no arrays."""
    return {
        "name": plan.name, "kind": plan.kind, "flies": KINDS[plan.kind], "kit": plan.kit, "met": plan.met,
        "unmet": list(plan.unmet), "cautions": list(plan.cautions), "notes": list(plan.notes),
        "origin": asdict(plan.origin), "height_m": plan.height, "sampling_m": plan.sampling, "speed_m_s": plan.speed,
        "heading_deg": math.degrees(plan.heading) % 360, "spacing_m": plan.spacing, "base_m": plan.base,
        "interval_s": plan.interval, "forward_overlap": plan.forward_overlap, "side_overlap": plan.side_overlap,
        "smear_px": plan.smear, "frames": plan.frames, "length_m": plan.length, "seconds": plan.seconds,
        "storage_bytes": plan.storage, "settings": dict(plan.settings),
        "take_offs": {n: {"lon_deg": p[0], "lat_deg": p[1]} for n, p in plan.take_offs.items()},
        "lines": [{"line": x.number, "length_m": x.length, "frames": x.frames} for x in plan.lines],
        "sorties": [_sortie(s) for s in plan.sorties],
        "proof": _proof(plan.proof) if plan.proof else None,
        "segments": [asdict(s) for s in plan.segments],
    }  # fmt: skip


def _sortie(sortie: Any) -> dict[str, Any]:
    return {
        "sortie": sortie.number, "aircraft": sortie.aircraft, "take_off": sortie.take_off, "day": sortie.day,
        "start_s": sortie.start, "duration_s": sortie.duration, "available_s": sortie.available,
        "lines": list(sortie.lines), "frames": sortie.frames, "storage_bytes": sortie.storage,
    }  # fmt: skip


def _proof(proof: Proof) -> dict[str, Any]:
    return {
        "cell_m": proof.cell, "area_m2": proof.area, "reachable_m2": proof.reachable,
        "seen": {str(n): share for n, share in proof.seen.items()},
        "sampling_m": _spread(proof.sampling, 1.0), "incidence_deg": _spread(proof.incidence, math.degrees(1.0)),
        "view_range_deg": _spread(proof.view_range, math.degrees(1.0)),
        "above_ground_m": list(proof.above_ground), "steepest": proof.steepest, "within_no_fly_m": proof.no_fly,
    }  # fmt: skip


def _spread(spread: Spread, scale: float) -> Mapping[str, float | None]:
    return {name: plain(value * scale) for name, value in asdict(spread).items()}
