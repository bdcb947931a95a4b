"""How well findings agree with the truth of a simulated job: found, missed, false, and where.

Findings of one flight are matched to planted faults one to one, by the pictures alone: a pair may match when
the signs agree and the finding lies on the fault in at least half of the frames that show it (by the true
poses); the pairs nearest in the pictures win. Stated places take no part in this, so that their errors can be
judged afterwards without having been chosen.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import linear_sum_assignment

from groundglow.frames.places import LocalPlane
from groundglow.records.finding import Finding, Findings
from groundglow.simulate.truth_reading import Truth, read_truth

__all__ = ["Level", "Score", "score"]

#: Pixels by which a finding may miss a thing in a picture and still lie on it.
_NEAR_PX = 3.0
_NEAR_M = 8.0
#: Radius that holds 95 % of a circular normal law, in standard deviations of each axis: sqrt(-2 ln 0.05).
_RADIUS_95 = 2.4477468
_NEVER = 1e6
NOTHING = "nothing there"
#: True departures that look like faults; finding them is no error. Clamps, bushings and boxes in health are.
_NO_ERROR = ("junction box", "soiling", "shade")


@dataclass(frozen=True)
class Level:
    """Spots planted and found at one multiple of the contrast-noise limit."""

    multiple: float
    planted: int
    found: int


@dataclass(frozen=True)
class Score:
    """Agreement with the truth.

    Parameters
    ----------
    levels : tuple of Level
        From the faintest on; only faults that at least one frame shows.
    areas : dict of kind to bool
        Whether the wet roof patch and the warm inflow were found.
    false_finds : dict of reason to count
        Findings that are no fault: ``sun mirrored``, ``cloud mirrored``, ``bird``, ``fixture`` in health,
        ``second finding`` of a fault already matched in that flight, ``nothing there``.
    no_error : dict of kind to count
        Findings on junction boxes, soiling and shade.
    false_per_hectare : float
    share_within_8_m, share_within_95 : float
        Share of matched places within 8 m, and within the radius of 95 % that the finding states; NaN without any.
    matches : tuple of (fault, finding id)
    """

    levels: tuple[Level, ...]
    areas: dict[str, bool]
    false_finds: dict[str, int]
    no_error: dict[str, int]
    false_per_hectare: float
    share_within_8_m: float
    share_within_95: float
    matches: tuple[tuple[str, str], ...]

    def lines(self) -> list[str]:
        """What a person wants to read beside the table of levels."""
        return [
            *(f"{kind}: {'found' if found else 'missed'}" for kind, found in self.areas.items()),
            f"false finds: {_listed(self.false_finds)}; {self.false_per_hectare:.1f} a hectare",
            f"true departures that are no fault: {_listed(self.no_error)}",
            f"places within 8 m: {_percent(self.share_within_8_m)}",
            f"places within their own 95 %: {_percent(self.share_within_95)}",
        ]


def _listed(counts: dict[str, int]) -> str:
    return ", ".join(f"{n} {what}" for what, n in counts.items()) or "none"


def _percent(share: float) -> str:
    return "none placed" if np.isnan(share) else f"{100 * share:.0f} %"


def score(findings: Path, truth: Path) -> Score:
    """Compare ``findings.json`` with a truth folder.

    Parameters
    ----------
    findings : Path
        Only findings of status ``found`` count.
    truth : Path
        As `groundglow.simulate.demo.make_demo` wrote it.

    Raises
    ------
    FileError
        When ``truth`` is no such folder.
    """
    known = read_truth(truth)
    found = Findings.from_json(findings.read_text("utf-8")).found
    by_flight = {name: [f for f in found if f.flight == name] for name in sorted({f.flight for f in found})}
    pairs = [pair for some in by_flight.values() for pair in _matched(known, some)]
    matched = {id(f) for _, f in pairs}
    reasons = Counter(_reason(known, f, pairs) for f in found if id(f) not in matched)
    wrong = {r: n for r, n in sorted(reasons.items()) if r not in _NO_ERROR}
    errors = [e for e in (_error(known, fault, f) for fault, f in pairs) if e is not None]
    return Score(
        levels=_levels(known, {fault["id"] for fault, _ in pairs}),
        areas=_areas(known, {fault["id"] for fault, _ in pairs}),
        false_finds=wrong,
        no_error={r: n for r, n in sorted(reasons.items()) if r in _NO_ERROR},
        false_per_hectare=sum(wrong.values()) / known.site["hectares"],
        share_within_8_m=_share([metres <= _NEAR_M for metres, _ in errors]),
        share_within_95=_share([metres <= _RADIUS_95 * sd for metres, sd in errors if sd is not None]),
        matches=tuple(sorted((fault["id"], f.id) for fault, f in pairs)),
    )


def _share(hits: list[bool]) -> float:
    return float(np.mean(hits)) if hits else float("nan")


def _views(finding: Finding) -> list[tuple[str, str, float, float]]:
    seen = [(finding.flight, v.candidate.frame, v.candidate.column, v.candidate.row) for v in finding.views]
    left, top, right, bottom = finding.box
    return seen or [(finding.flight, finding.frame, (left + right - 1) / 2, (top + bottom - 1) / 2)]


def _away(truth: Truth, thing: dict[str, Any], finding: Finding) -> float:
    """Mean distance in px over the views that lie on a thing; infinite when fewer than half of them do."""
    away = np.array([truth.distance_px(thing, view) for view in _views(finding)])
    near = away <= _NEAR_PX
    return float(away[near].mean()) if 2 * near.sum() >= near.size else float("inf")


def _error(truth: Truth, fault: dict[str, Any], finding: Finding) -> tuple[float, float | None] | None:
    """Distance in m between stated and true place, and the stated standard uncertainty."""
    if finding.lon_deg is None or finding.lat_deg is None:
        return None
    x, y = LocalPlane(truth.origin).to_local(finding.lon_deg, finding.lat_deg)
    return float(np.hypot(x - fault["x"], y - fault["y"])), finding.position_sd_m


def _cost(truth: Truth, fault: dict[str, Any], finding: Finding) -> float:
    if fault["sign"] != finding.sign or fault["form"] != finding.shape_kind:
        return _NEVER
    away = _away(truth, fault, finding)
    return away if np.isfinite(away) else _NEVER


def _matched(truth: Truth, findings: list[Finding]) -> list[tuple[dict[str, Any], Finding]]:
    """Pairs of fault and finding of one flight, one to one, with the least total distance in the pictures."""
    cost = np.array([[_cost(truth, fault, f) for f in findings] for fault in truth.faults])
    rows, columns = linear_sum_assignment(cost)
    picked = zip(rows, columns, strict=True)
    return [(truth.faults[r], findings[c]) for r, c in picked if cost[r, c] < _NEVER]


def _reason(truth: Truth, finding: Finding, pairs: list[tuple[dict[str, Any], Finding]]) -> str:
    """What an unmatched finding lies on."""
    again = any(f.flight == finding.flight and _cost(truth, fault, finding) < _NEVER for fault, f in pairs)
    if again:
        return "second finding"
    standing, shade = truth.decoys["standing"], truth.decoys["shade"]
    return _lies_on(truth, finding, standing) or _moving(truth, finding) or _lies_on(truth, finding, shade) or NOTHING


def _lies_on(truth: Truth, finding: Finding, things: list[dict[str, Any]]) -> str:
    away = [_away(truth, thing, finding) for thing in things]
    nearest = int(np.argmin(away))
    return str(things[nearest]["kind"]) if np.isfinite(away[nearest]) else ""


def _moving(truth: Truth, finding: Finding) -> str:
    """The moving thing that at least half of the views show; it is at another place in each frame."""
    hits: Counter[str] = Counter()
    for view in _views(finding):
        hits.update({t["kind"] for t in truth.decoys["moving"] if truth.distance_px(t, view) <= _NEAR_PX})
    most = hits.most_common(1)
    return str(most[0][0]) if most and 2 * most[0][1] >= len(_views(finding)) else ""


def _shown(fault: dict[str, Any]) -> bool:
    return any(fault["seen"].values())


def _levels(truth: Truth, found: set[str]) -> tuple[Level, ...]:
    spots = [f for f in truth.faults if f["form"] == "spot" and _shown(f)]
    at = {level: [f["id"] for f in spots if f["level"] == level] for level in sorted({f["level"] for f in spots})}
    return tuple(Level(level, len(ids), sum(i in found for i in ids)) for level, ids in at.items())


def _areas(truth: Truth, found: set[str]) -> dict[str, bool]:
    return {f["kind"]: f["id"] in found for f in truth.faults if f["form"] == "area" and _shown(f)}
