"""Findings as rows for a table and for map layers: one row a finding, names with units."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from groundglow.records.finding import Finding

__all__ = ["finding_rows"]


def finding_rows(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """One flat row a finding; temperatures in degrees Celsius with their 95 % interval, or counts.

    Returns
    -------
    list of dict
        All rows have the same keys; None is unknown.
    """
    return [_row(f) for f in findings]


def _row(f: Finding) -> dict[str, Any]:
    absolute = f.unit == "K"
    offset = 273.15

    def celsius(value: float) -> float | None:
        return round(value - offset, 3) if absolute else None

    return {
        "number": f.number,
        "finding": f.id,
        "status": f.status,
        "looked_for": f.question,
        "kind": f.shape_kind,
        "warmer_or_cooler": "warmer" if f.sign > 0 else "cooler",
        "rise": round(f.rise, 3),
        "rise_low_95": round(f.rise_low, 3),
        "rise_high_95": round(f.rise_high, 3),
        "rise_unit": f.unit,
        "temperature_c": celsius(f.mean),
        "temperature_low_95_c": celsius(f.mean_low),
        "temperature_high_95_c": celsius(f.mean_high),
        "no_temperature_because": "" if absolute else "counts without calibration: relative only",
        "support": str(f.support),
        "support_reason": f.support_reason,
        "cause": f.cause,
        "reason": f.reason,
        "contrast_noise": round(f.contrast_noise, 2),
        "area_px": f.area_px,
        "area_m2": None if f.area_m2 is None else round(f.area_m2, 3),
        "lon_deg": None if f.lon_deg is None else round(f.lon_deg, 8),
        "lat_deg": None if f.lat_deg is None else round(f.lat_deg, 8),
        "position_sd_m": None if f.position_sd_m is None else round(f.position_sd_m, 2),
        "flight": f.flight,
        "frame": f.frame,
        "left_px": f.box[0],
        "top_px": f.box[1],
        "right_px": f.box[2],
        "bottom_px": f.box[3],
        "views": len(f.views),
        "in_view": f.in_view,
    }
