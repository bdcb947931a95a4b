"""Findings as rows for a table and for map layers: one row a finding, names with units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from groundglow.frames.units import ZERO_CELSIUS
from groundglow.records.decision import Standing
from groundglow.records.finding import Finding

__all__ = ["COLUMNS", "finding_rows"]

#: Names of the columns, in order; temperatures in degrees Celsius, rises in ``rise_unit``.
COLUMNS = (
    "number",
    "finding",
    "status",
    "looked_for",
    "kind",
    "warmer_or_cooler",
    "rise",
    "rise_low_95",
    "rise_high_95",
    "rise_unit",
    "temperature_c",
    "temperature_low_95_c",
    "temperature_high_95_c",
    "no_temperature_because",
    "support",
    "support_reason",
    "cause",
    "reason",
    "contrast_noise",
    "area_px",
    "area_m2",
    "lon_deg",
    "lat_deg",
    "position_sd_m",
    "flight",
    "frame",
    "left_px",
    "top_px",
    "right_px",
    "bottom_px",
    "views",
    "in_view",
    "review",
    "review_grade",
    "review_words",
    "reviewed_by",
    "reviewed_at",
    "review_notes",
)


def finding_rows(findings: Sequence[Finding], reviews: Mapping[str, Standing] | None = None) -> list[dict[str, Any]]:
    """One flat row a finding: the step's own words, and what people made of it apart.

    Temperatures are in degrees Celsius with their 95 % interval, or counts.

    Returns
    -------
    list of dict
        All rows have the same keys; None is unknown.
    """
    return [_row(f, (reviews or {}).get(f.id, Standing())) for f in findings]


def _row(f: Finding, review: Standing) -> dict[str, Any]:
    absolute = f.unit == "K"

    def celsius(value: float) -> float | None:
        return round(value - ZERO_CELSIUS, 3) if absolute else None

    values = (
        f.number,
        f.id,
        f.status,
        f.question,
        f.shape_kind,
        "warmer" if f.sign > 0 else "cooler",
        round(f.rise, 3),
        round(f.rise_low, 3),
        round(f.rise_high, 3),
        f.unit,
        celsius(f.mean),
        celsius(f.mean_low),
        celsius(f.mean_high),
        "" if absolute else "counts without calibration: relative only",
        str(f.support),
        f.support_reason,
        f.cause,
        f.reason,
        round(f.contrast_noise, 2),
        f.area_px,
        None if f.area_m2 is None else round(f.area_m2, 3),
        None if f.lon_deg is None else round(f.lon_deg, 8),
        None if f.lat_deg is None else round(f.lat_deg, 8),
        None if f.position_sd_m is None else round(f.position_sd_m, 2),
        f.flight,
        f.frame,
        f.box[0],
        f.box[1],
        f.box[2],
        f.box[3],
        f.seen_in,
        f.in_view,
        review.decision,
        review.grade,
        review.words,
        review.by,
        review.at,
        "; ".join(n.text for n in review.notes),
    )
    return dict(zip(COLUMNS, values, strict=True))
