"""Findings of several flights of one visit: what an overview and a close pass both saw is one finding.

All places of a flight share an error of metres, and so do those of the other flight: the two lie apart by a
common shift. It is sought among the differences between like things, and believed when it brings several of
them together; without it, only what has no rival within the stated doubt is joined.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from math import hypot, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

from groundglow.frames.places import LocalPlane
from groundglow.records.finding import Finding, Findings
from groundglow.records.log import Origin
from groundglow.steps.find.merge import numbered

__all__ = ["merge_flights"]

Array = NDArray[np.float64]

#: What adjusted footprints and heights of things leave between two flights, one standard deviation, m.
LEFT_M = 0.4
#: Things a common shift must bring together to be believed, and how much one counts against the doubt of places.
LEAST_COMMON, WORTH = 3, 3.0
#: 95 % of a circular normal law lie within this many standard deviations of each axis: sqrt(-2 ln 0.05).
RADIUS_95 = 2.448
#: One thing at two heights: the smaller picture dilutes size and rise.
SIZE_RATIO, RISE_RATIO = 3.0, 6.0


def merge_flights(made: Sequence[Findings], sigmas: Mapping[str, float]) -> Findings:
    """One list of findings from those of single flights.

    Parameters
    ----------
    made : sequence of Findings
        From `merge`, one a flight, in a fixed order.
    sigmas : mapping of question to float
        Strength asked for. Two weak sights of two flights do not make a find: what is weak because it is but
        the ground's own unevenness is as weak in both.

    Returns
    -------
    Findings
        What two flights of a visit saw is one finding: of the better sight, placed by both.
    """
    visits: dict[str, list[list[Finding]]] = defaultdict(list)
    for findings in made:
        by_flight: dict[str, list[Finding]] = defaultdict(list)
        for f in findings.items:
            by_flight[f.flight].append(f)
        for flight, some in sorted(by_flight.items()):
            visits[flight.rsplit("/", 1)[0]].append(some)
    merged = [f for _, flights in sorted(visits.items()) for f in _one_visit(flights, sigmas)]
    return Findings(numbered(merged), tuple(n for findings in made for n in findings.notes))


def _one_visit(flights: Iterable[list[Finding]], sigmas: Mapping[str, float]) -> list[Finding]:
    total: list[Finding] = []
    for flight in flights:
        total = _two(total, flight, sigmas) if total else list(flight)
    return total


def _two(one: list[Finding], other: list[Finding], sigmas: Mapping[str, float]) -> list[Finding]:
    """Findings of both; what both have once."""
    a, b = ([f for f in some if _may_match(f)] for some in (one, other))
    pairs = _pairs(a, b) if a and b else []
    joined = {id(f) for pair in pairs for f in pair}
    rest = [f for f in (*one, *other) if id(f) not in joined]
    return [_joined(f, g, sigmas) for f, g in pairs] + rest


def _may_match(finding: Finding) -> bool:
    return finding.status != "dismissed" and finding.lon_deg is not None and finding.position_sd_m is not None


def _places(findings: Sequence[Finding], plane: LocalPlane) -> Array:
    lon, lat = (np.array([getattr(f, name) for f in findings]) for name in ("lon_deg", "lat_deg"))
    return np.column_stack(plane.to_local(lon, lat))


def _pairs(a: list[Finding], b: list[Finding]) -> list[tuple[Finding, Finding]]:
    plane = LocalPlane(Origin(float(a[0].lon_deg or 0.0), float(a[0].lat_deg or 0.0), 0.0))
    apart = _places(b, plane)[None] - _places(a, plane)[:, None]
    like = np.array([[_alike(f, g) for g in b] for f in a])
    sd = sqrt(_median_sd(a) ** 2 + _median_sd(b) ** 2)
    shift, common = _common_shift(apart, like, sd)
    if common >= LEAST_COMMON:
        gate = np.array([[_gate(f, g) for g in b] for f in a])
        return [(a[i], b[j]) for i, j in _assigned(np.hypot(*(apart - shift).T).T, like, gate)]
    near = like & (np.hypot(apart[..., 0], apart[..., 1]) <= RADIUS_95 * sd)
    alone = near & (near.sum(axis=1, keepdims=True) == 1) & (near.sum(axis=0, keepdims=True) == 1)
    return [(a[i], b[j]) for i, j in zip(*np.nonzero(alone), strict=True)]


def _median_sd(findings: Sequence[Finding]) -> float:
    return float(np.median([f.position_sd_m or 0.0 for f in findings]))


def _alike(a: Finding, b: Finding) -> bool:
    same = (a.sign, a.shape_kind, a.question) == (b.sign, b.shape_kind, b.question)
    size = (a.size_m or 1.0) / (b.size_m or 1.0)
    rise = a.rise / b.rise if b.rise else np.inf
    return same and 1 / SIZE_RATIO <= size <= SIZE_RATIO and 1 / RISE_RATIO <= rise <= RISE_RATIO


def _gate(a: Finding, b: Finding) -> float:
    """How far two places may lie apart once the shift is out, m; centres of areas wander."""
    if a.shape_kind == "spot":
        return RADIUS_95 * LEFT_M
    return max(RADIUS_95 * LEFT_M, 0.5 * max(a.size_m or 0.0, b.size_m or 0.0))


def _common_shift(apart: Array, like: NDArray[np.bool_], sd: float) -> tuple[Array, int]:
    """The shift that brings most like things together, weighed against the doubt of places, and how many."""
    tries = apart[like & (np.hypot(apart[..., 0], apart[..., 1]) <= RADIUS_95 * max(sd, LEFT_M))]
    best, found = np.zeros(2), (-np.inf, 0)
    for shift in tries:
        square = ((apart - shift) ** 2).sum(axis=2)
        fit = np.where(like, np.exp(-square / (2 * LEFT_M**2)), 0.0).max(axis=1)
        worth = WORTH * float(fit.sum()) - 0.5 * float(shift @ shift) / max(sd, LEFT_M) ** 2
        if worth > found[0]:
            best, found = shift, (worth, int((fit > 0.1).sum()))
    near = like & (np.hypot(*np.moveaxis(apart - best, -1, 0)) <= LEFT_M)
    return (np.median(apart[near], axis=0) if near.any() else best), found[1]


def _assigned(away: Array, like: NDArray[np.bool_], gate: Array) -> list[tuple[int, int]]:
    """One-to-one pairs of least total distance among those within their gates."""
    good = like & (away <= gate)
    rows, columns = linear_sum_assignment(np.where(good, away, 1e6))
    return [(int(i), int(j)) for i, j in zip(rows, columns, strict=True) if good[i, j]]


def _joined(a: Finding, b: Finding, sigmas: Mapping[str, float]) -> Finding:
    """The better of two sights of one thing, placed by both, with what the other flight says of it.

    Found when one flight found it, or when both saw it strong enough and only views were wanting.
    """
    kept, other = sorted((a, b), key=lambda f: (f.status != "found", -f.area_px, f.flight))
    place: dict[str, Any] = _mean_place(kept, other)
    also = f"also {other.reason.split(':')[0]} of {other.flight.rsplit('/', 1)[-1]}"
    strong = min(a.contrast_noise, b.contrast_noise) >= sigmas[kept.question]
    status = "found" if strong else kept.status
    return replace(kept, status=status, reason=f"{kept.reason}; {also}", **place)


def _mean_place(kept: Finding, other: Finding) -> dict[str, float | None]:
    """Place from both flights, whose errors are independent, weighted by their doubts."""
    plane = LocalPlane(Origin(float(kept.lon_deg or 0.0), float(kept.lat_deg or 0.0), 0.0))
    shift = _places([other], plane)[0] - _places([kept], plane)[0]
    one, two = (max(f.position_sd_m or 0.0, 1e-3) for f in (kept, other))
    share = one**2 / (one**2 + two**2)
    lon, lat = plane.to_geographic(*(share * shift))
    return {
        "x": None if kept.x is None else kept.x + share * float(shift[0]),
        "y": None if kept.y is None else kept.y + share * float(shift[1]),
        "lon_deg": float(lon),
        "lat_deg": float(lat),
        "position_sd_m": one * two / hypot(one, two),
    }
