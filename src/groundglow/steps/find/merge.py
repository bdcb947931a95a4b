"""Findings of one flight: sights of one thing joined, judged, placed, and matched to what was asked."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from groundglow.errors import InputError
from groundglow.model.doubt import COVERAGE_95
from groundglow.records.brief import Question
from groundglow.records.finding import Candidate, Finding, Findings, View
from groundglow.records.log import FlightLog
from groundglow.records.tie import Registration
from groundglow.steps.find.candidates import answers
from groundglow.steps.find.group import Group, group_areas, group_spots, polygon
from groundglow.steps.find.judge import judged
from groundglow.steps.find.place import Place, place_of, sizes
from groundglow.steps.find.search import ground_sampling, searches, sigmas_asked
from groundglow.steps.find.settings import FindSettings
from groundglow.steps.find.sight import Sight
from groundglow.steps.find.support import support

__all__ = ["CAUSE", "merge", "numbered"]

CAUSE = "departure, cause not judged"
#: A sight is looked at for a zone when it lies within this many standard uncertainties of the flight's position.
NEAR_ZONE = 3.0
STATUSES = ("found", "unconfirmed", "dismissed")


@dataclass(frozen=True)
class _Asked:
    """What merging needs besides the candidates."""

    sight: Sight
    questions: Sequence[Question]
    zones: Mapping[str, Any]
    unit: str


def merge(
    found: Mapping[str, Sequence[Candidate]],
    *,
    log: FlightLog,
    registration: Registration,
    questions: Sequence[Question],
    zones: Mapping[str, Any],
    settings: FindSettings,
    unit: str = "K",
) -> Findings:
    """Findings of one flight from the candidates of its frames.

    Parameters
    ----------
    found : mapping of str to sequence of Candidate
        Candidates of every frame that was searched, by frame name; a frame with none counts as one in
        which a thing was not seen.
    log : FlightLog
    registration : Registration
    questions : sequence of Question
    zones : mapping of str to shapely geometry
        In the flight's local metres.
    settings : FindSettings
    unit : str
        ``K`` or ``counts``: what the candidates are measured in.

    Returns
    -------
    Findings
        Found first, then unconfirmed, then dismissed; within each the strongest first.

    Raises
    ------
    InputError
        When a question names a zone that the site does not have.
    """
    notes = _checked_zones(questions, zones, log)
    asked = _Asked(Sight(log, registration, settings), questions, zones, unit)
    wanted = {frame: [c for c in some if _may_lie_in_a_zone(c, asked)] for frame, some in found.items()}
    groups = (*group_spots(wanted, asked.sight), *group_areas(wanted, asked.sight))
    made = [f for g in groups if (f := _finding(g, found, asked)) is not None]
    return Findings(numbered(made), notes)


def _checked_zones(questions: Sequence[Question], zones: Mapping[str, Any], log: FlightLog) -> tuple[str, ...]:
    wanted = sorted({q.zone for q in questions if q.zone is not None})
    if wanted and (not zones or log.metres_per_unit is None):
        return (f"{log.flight}: no places on the ground, so zones ({', '.join(wanted)}) limit nothing",)
    for name in wanted:
        if name not in zones:
            known = ", ".join(sorted(zones))
            raise InputError(f"a question names zone {name!r}; the site has {known}. Correct the brief or the outline.")
    return ()


def _finding(group: Group, found: Mapping[str, Sequence[Candidate]], asked: _Asked) -> Finding | None:
    """The finding of a group; None when it answers no question."""
    best = best_sight(group, asked.sight)
    place = place_of(group, best, asked.sight)
    question = next((q for q in asked.questions if _answers(q, best, group, place, asked)), None)
    if question is None:
        return None
    verdict = judged(group, best, asked.sight, found, sigmas=sigmas_asked(question, asked.sight.settings))
    area, size = sizes(best, asked.sight)
    level, reason = support(best, asked.unit, question.accuracy_k)
    half_mean, half_rise = COVERAGE_95 * best.value_sd, COVERAGE_95 * best.rise_sd
    return Finding(
        id=_identity(best, place, asked.sight.log.flight),
        number=0,
        question=question.name,
        flight=asked.sight.log.flight,
        shape_kind=best.shape_kind,
        sign=best.sign,
        unit=asked.unit,
        frame=best.frame,
        box=best.box,
        area_px=best.area_px,
        area_m2=area,
        size_m=size,
        lon_deg=place.lon,
        lat_deg=place.lat,
        x=place.x,
        y=place.y,
        position_sd_m=place.sd,
        peak=best.peak,
        mean=best.mean,
        mean_low=best.mean - half_mean,
        mean_high=best.mean + half_mean,
        background=best.background,
        rise=best.rise,
        rise_low=best.rise - half_rise,
        rise_high=best.rise + half_rise,
        contrast_noise=best.contrast_noise,
        support=level,
        support_reason=reason,
        status=verdict.status,
        reason=verdict.reason,
        cause=CAUSE,
        in_view=verdict.in_view,
        views=tuple(View(c, *(at or (None, None, None))) for c, at in zip(group, place.views, strict=True)),
    )


def best_sight(group: Group, sight: Sight) -> Candidate:
    """The sight to show: whole and supported before cut or masked, then the one nearest to the frame's middle.

    The strongest spot is not taken: of many sights it is the one that noise favoured. Of an area that may be cut
    out at several levels the one with the clearest border is; what no frame shows whole, where most of it is seen.
    """
    rows, columns = sight.log.shape

    def rank(c: Candidate) -> tuple[bool, bool, float, str]:
        away = float(np.hypot(c.column - (columns - 1) / 2, c.row - (rows - 1) / 2))
        area = -float(c.area_px) if c.at_border else -c.contrast_noise
        return c.at_border, bool(c.masked), area if c.shape_kind == "area" else away, c.frame

    return min(group, key=rank)


def _answers(question: Question, best: Candidate, group: Group, place: Place, asked: _Asked) -> bool:
    """Whether the best sight and at least half of all answer a question, and the place may lie in its zone.

    The middle of an area that lies in a zone is half its width away from the zone's border.
    """
    sight = asked.sight
    hits = [_answers_in_frame(question, c, sight, asked.unit) for c in (best, *group)]
    within = 0.0 if best.shape_kind == "spot" else -0.5 * (sizes(best, sight)[1] or 0.0)
    return hits[0] and 2 * sum(hits) >= len(hits) and _in_zone(question, place, asked.zones, beyond=within)


def _answers_in_frame(question: Question, candidate: Candidate, sight: Sight, unit: str) -> bool:
    gsd = ground_sampling(sight.log, candidate.frame)
    asked = searches((question,), sight.settings, shape=sight.log.shape, metres_per_pixel=gsd, unit=unit)
    return answers(candidate, asked[0], sight.settings)


def _may_lie_in_a_zone(candidate: Candidate, asked: _Asked) -> bool:
    """Whether a single sight lies in or near the zone of any question of its kind; it may reach over its border."""
    names = [q.zone for q in asked.questions if q.looking_for == candidate.shape_kind]
    zones = [asked.zones[name] for name in names if name is not None and name in asked.zones]
    reach = NEAR_ZONE * asked.sight.shared_position_sd
    if len(zones) < len(names) or candidate.frame not in asked.sight.ground or not np.isfinite(reach):
        return True
    corners = asked.sight.ground.to_ground(candidate.frame, np.array(candidate.outline))
    on_ground = polygon(corners * (asked.sight.log.metres_per_unit or 1.0))
    return on_ground.is_empty or any(zone.distance(on_ground) <= reach for zone in zones)


def _in_zone(question: Question, place: Place, zones: Mapping[str, Any], *, beyond: float = 0.0) -> bool:
    """Whether a place may lie in a question's zone: within it or nearer than two standard uncertainties and more."""
    zone = zones.get(question.zone) if question.zone is not None else None
    if zone is None or place.x is None or place.y is None:
        return True
    reach = max(2.0 * (place.sd or 0.0) + beyond, 0.0)
    return bool(zone.distance(shapely.Point(place.x, place.y)) <= reach)


def _identity(best: Candidate, place: Place, flight: str) -> str:
    """Digest of what it is and where, to a metre; by frame and pixel where there is no place."""
    kind = f"{best.shape_kind}{best.sign:+d}"
    if place.lon is not None and place.lat is not None:
        where = f"{round(place.lon * 1e5)}/{round(place.lat * 1e5)}"
    elif place.x is not None and place.y is not None:
        where = f"{round(place.x)}/{round(place.y)}"
    else:
        where = f"{flight}/{best.frame}/{round(best.column)}/{round(best.row)}"
    return hashlib.sha256(f"{kind}@{where}".encode()).hexdigest()[:8]


def numbered(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in order of status and strength, numbered from 1, with identities that differ."""
    ordered = sorted(findings, key=lambda f: (STATUSES.index(f.status), -f.contrast_noise, f.id, f.frame))
    used: dict[str, int] = {}
    out = []
    for number, finding in enumerate(ordered, start=1):
        count = used[finding.id] = used.get(finding.id, 0) + 1
        name = finding.id if count == 1 else f"{finding.id}-{count}"
        out.append(replace(finding, number=number, id=name))
    return tuple(out)
