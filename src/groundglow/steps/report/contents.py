"""What the report says: plain data for the template, every number with its interval or the reason for none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from groundglow.records.brief import Brief, Question
from groundglow.records.decision import Standing
from groundglow.records.finding import Finding, Findings
from groundglow.records.log import FlightLog
from groundglow.records.report import ReportOptions
from groundglow.records.tie import Registration
from groundglow.steps.report.chosen import chosen, left_out_words
from groundglow.steps.report.reviewed import review_words
from groundglow.steps.report.units import in_reading_unit, reworded, rise_scale

__all__ = ["ReportInputs", "contents"]

#: Longest list of things looked at and not kept that is printed in full.
MOST_NOT_KEPT = 30


@dataclass(frozen=True)
class ReportInputs:
    """All that the report tells.

    ``methods`` holds, a flight, how its values were made (``lines``, ``budget``, ``assumed``, ``references``);
    ``conditions`` a visit, its lines of weather; ``audit`` rows of (what, digest or version); ``reviews`` a finding by
    its id, what people made of it; ``options`` what is to be told and how.
    """

    brief: Brief
    logs: Sequence[FlightLog]
    registrations: Sequence[Registration]
    findings: Findings
    coverage: Sequence[Mapping[str, Any]] = ()
    methods: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    conditions: Mapping[str, Sequence[str]] = field(default_factory=dict)
    audit: Sequence[tuple[str, str]] = ()
    reviews: Mapping[str, Standing] = field(default_factory=dict)
    version: str = ""
    options: ReportOptions = field(default_factory=ReportOptions)


def contents(inputs: ReportInputs) -> dict[str, Any]:
    """Data for the template; JSON types only."""
    options = inputs.options
    told, left_out = chosen(inputs.findings, inputs.reviews, options)
    found = told.found
    return {
        "title": inputs.brief.title,
        "date": _date(inputs.logs),
        "site": inputs.brief.site.name,
        "client": inputs.brief.client,
        "prepared_by": options.author or inputs.brief.prepared_by,
        "business": options.business,
        "reference": options.reference,
        "paper": {"A4": "a4", "Letter": "us-letter"}[options.paper],
        "with_method": options.method,
        "with_pictures": options.pictures,
        "options": options.told(),
        "asked_on": inputs.brief.asked_on,
        "asked": [question_sentence(q) for q in inputs.brief.question],
        "notes": inputs.brief.notes,
        "answer": _answer(told, left_out_words(left_out, options)),
        "relative": any(f.unit != "K" for f in inputs.findings.items)
        or any(
            r.unit == "counts" and not inputs.methods.get(r.flight, {}).get("absolute", True)
            for r in inputs.registrations
        ),
        "flights": [_flight(log, inputs) for log in inputs.logs],
        "set_aside": [[log.flight, e.name, e.reason] for log in inputs.logs for e in log.entries if not e.used],
        "coverage": [_coverage(c) for c in inputs.coverage],
        "conditions": {v: reworded(list(lines), options.temperature) for v, lines in inputs.conditions.items()},
        "methods": [
            {"flight": name, **reworded(dict(method), options.temperature)}
            for name, method in sorted(inputs.methods.items())
        ],
        "findings": [finding_card(f, inputs.reviews.get(f.id), options.temperature) for f in found],
        "not_kept": _not_kept(told, options.temperature),
        "not_kept_more": max(0, len(told.items) - len(found) - MOST_NOT_KEPT),
        "finding_notes": list(inputs.findings.notes),
        "cautions": _cautions(inputs.brief),
        "audit": [list(row) for row in inputs.audit],
        "version": inputs.version,
    }


def question_sentence(question: Question) -> str:
    """The question in words."""
    sign = {"hot": "warmer", "cold": "cooler", "both": "warmer or cooler"}[question.sign]
    size = _size(question)
    where = f", in the zone {question.zone}" if question.zone else ""
    accuracy = f"; temperatures wanted to within {question.accuracy_k:g} K" if question.accuracy_k else ""
    kind = "compact places" if question.looking_for == "spot" else "areas"
    return f"{question.name}: {kind} {sign} than their surroundings{size}{where}{accuracy}."


def _size(question: Question) -> str:
    for low, high, unit in (
        (question.smallest_m, question.largest_m, "m"),
        (question.smallest_px, question.largest_px, "px"),
    ):
        if low or high:
            return f", {low or 0:g} to {high:g} {unit} across" if high else f", at least {low:g} {unit} across"
    return ""


def _date(logs: Sequence[FlightLog]) -> list[int]:
    """Year, month, day of the last frame: the report's own date, so that it is made alike again."""
    times = [e.time for log in logs for e in log.entries if e.time is not None]
    day = datetime.fromtimestamp(max(times), UTC) if times else datetime(2000, 1, 1, tzinfo=UTC)
    return [day.year, day.month, day.day]


def _clock(time: float | None) -> str:
    return datetime.fromtimestamp(time, UTC).strftime("%Y-%m-%d %H:%M:%S") if time is not None else "unknown"


def _answer(findings: Findings, left_out: str) -> str:
    found = findings.found
    if not found and left_out:
        return f"No place is told here. {left_out}"
    if not found:
        return "Nothing was found that departs from its surroundings as asked."
    by_name: dict[str, int] = {}
    for f in found:
        by_name[f.question] = by_name.get(f.question, 0) + 1
    parts = ", ".join(f"{count} for “{name}”" for name, count in by_name.items())
    thing = "place departs" if len(found) == 1 else "places depart"
    said = f"{len(found)} {thing} from their surroundings as asked: {parts}. The cause was not judged."
    return f"{said} {left_out}".strip()


def _flight(log: FlightLog, inputs: ReportInputs) -> dict[str, Any]:
    used = log.used
    ties = next((r for r in inputs.registrations if r.flight == log.flight), None)
    return {
        "name": log.flight,
        "frames": f"{len(used)} of {len(log.entries)}",
        "from": _clock(used[0].time) if used else "",
        "to": _clock(used[-1].time) if used else "",
        "size": f"{log.shape[1]} x {log.shape[0]}",
        "height": _height(log),
        "sampling": _sampling(log),
        "kind": log.kind.replace("_", " "),
        "notes": [*log.notes, *(ties.notes if ties else ())],
        "agreement": _agreement(ties),
    }


def _height(log: FlightLog) -> str:
    heights = sorted(float(e.pose.position[2]) - log.ground_height for e in log.used if e.pose is not None)
    if not heights or not log.metres_per_unit:
        return "unknown"
    return f"{heights[len(heights) // 2] * log.metres_per_unit:.0f} m"


def _sampling(log: FlightLog) -> str:
    heights = sorted(float(e.pose.position[2]) - log.ground_height for e in log.used if e.pose is not None)
    if not heights or not log.metres_per_unit or not log.focal_px:
        return "unknown"
    return f"{100 * heights[len(heights) // 2] * log.metres_per_unit / log.focal_px:.1f} cm"


def _agreement(ties: Registration | None) -> str:
    if ties is None or "after_median" not in ties.agreement:
        return "no ties between frames"
    a, held = ties.agreement, len([t for t in ties.ties if t.held_out])
    kept = (
        f"; {held} pairs kept out of levelling: median {a['held_out_median']:.2f}, 95 % below {a['held_out_p95']:.2f}"
        if "held_out_median" in a
        else ""
    )
    return (
        f"{len(ties.ties)} ties; overlaps differ by a median of {a['before_median']:.2f} {ties.unit} before levelling "
        f"and {a['after_median']:.2f} after (95 % below {a['after_p95']:.2f}){kept}"
    )


def _coverage(of: Mapping[str, Any]) -> list[str]:
    shares = [f"{100 * of[name]:.0f} %" for name in ("seen_once", "seen_twice", "seen_five")]
    return [str(of["flight"]), str(of["zone"]), f"{of['area_m2']:.0f}", *shares]


def finding_card(finding: Finding, review: Standing | None = None, shown: str = "C") -> dict[str, Any]:
    """One finding as the report tells it; ``shown`` is the unit of temperatures: C, F or K."""
    f = finding
    times, unit = rise_scale(f.unit, shown)
    return {
        "number": f.number,
        "id": f.id,
        "question": f.question,
        "picture": f"finding-{f.number}.png",
        "sign": "warmer" if f.sign > 0 else "cooler",
        "kind": f.shape_kind,
        "rise": _rise(f, shown),
        "rise_interval": f"{f.rise_low * times:+.1f} to {f.rise_high * times:+.1f} {unit}",
        "value": _value(f, shown),
        "size": _finding_size(f),
        "place": _place(f),
        "frame": f"{f.flight}/{f.frame}, {_middle(f)}",
        "views": f"{f.seen_in} of {f.in_view}",
        "sigmas": f"{f.contrast_noise:.1f}",
        "support": str(f.support),
        "support_reason": f.support_reason,
        "cause": f.cause,
        "review": review_words(review) if review else "",
    }


def _middle(f: Finding) -> str:
    left, top, right, bottom = f.box
    return f"column {(left + right) // 2}, row {(top + bottom) // 2}"


def _value(f: Finding, shown: str) -> str:
    if f.unit != "K":
        return "relative only: counts without a calibration"
    value, low, high = (in_reading_unit(v, f.unit, shown) for v in (f.mean, f.mean_low, f.mean_high))
    return f"{value} ({low} to {high})"


def _finding_size(f: Finding) -> str:
    if f.area_m2 is None:
        return f"{f.area_px} px"
    area = f"{f.area_m2:.0f} m²" if f.area_m2 >= 10 else f"{f.area_m2:.2f} m²"
    return f"{area} ({f.area_px} px)"


def _place(f: Finding) -> str:
    if f.lon_deg is None or f.lat_deg is None:
        return "in the picture only"
    doubt = f", ± {1.96 * f.position_sd_m:.0f} m" if f.position_sd_m is not None else ""
    return f"{f.lat_deg:.6f}°, {f.lon_deg:.6f}°{doubt}"


def _not_kept(findings: Findings, shown: str) -> list[list[str]]:
    rows = [f for f in findings.items if f.status != "found"][:MOST_NOT_KEPT]
    return [[f.status, f.question, f"{f.flight}/{f.frame}", _rise(f, shown), f.reason] for f in rows]


def _rise(f: Finding, shown: str) -> str:
    times, unit = rise_scale(f.unit, shown)
    return f"{f.rise * times:+.1f} {unit}"


def _cautions(brief: Brief) -> list[str]:
    said = [
        "Findings are departures from the surroundings as the camera saw them; causes and grades are for a person who "
        "is qualified for the site to judge. Nothing here is a verdict.",
        "Flying: local aviation rules, the height limit, visual line of sight and the people below come first.",
        "Check on site before acting: wet ground, shade, soiling and reflections can look like faults.",
    ]
    if brief.limits.live_parts:
        said.append("Live parts: keep the distances that apply; only licensed persons open, touch or switch anything.")
    if brief.limits.people_near:
        said.append("People near: warn them, keep the distances that apply, and do not fly over uninvolved persons.")
    said.append(
        "Roofs: fragile or wet surfaces; go up only with the protection against falls that local rules ask for."
    )
    return said
