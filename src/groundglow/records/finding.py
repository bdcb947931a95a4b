"""Departures from the surroundings: a candidate in one frame, a finding merged over frames."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from enum import StrEnum

__all__ = [
    "Candidate",
    "Finding",
    "Findings",
    "Support",
    "View",
    "candidate_from_dict",
    "candidates_from_json",
    "candidates_to_json",
]


class Support(StrEnum):
    """How far a reading is to be trusted, worst first."""

    NOT_SUPPORTED = "not supported"
    DETECTED_ONLY = "detected only"
    CORRECTED = "corrected"
    SUPPORTED = "supported"


@dataclass(frozen=True)
class Candidate:
    """A departure in one frame.

    Parameters
    ----------
    frame : str
    shape_kind : str
        ``spot`` or ``area``.
    sign : int
        +1 warmer, -1 cooler than its surroundings.
    column, row : float
        Centre in pixels (peak of a spot, centroid of an area).
    box : tuple of int
        Left, top, right, bottom in pixels; right and bottom are outside.
    area_px : int
    peak, mean, background : float
        K or counts.
    rise : float
        Mean over the core of the departure minus background, K or counts, signed.
    rise_sd : float
        Its standard uncertainty by the signed sensitivities, independent part included.
    value_sd : float
        Standard uncertainty of ``mean`` itself, all three parts.
    contrast_noise : float
        Departure over the robust noise and clutter around it (sigmas).
    at_border : bool
        Cut by the frame's border.
    masked : str
        Empty, or why its pixels are not supported (saturated, out of range ...).
    outline : tuple of (column, row)
        Polygon of its border in pixels, at most some 40 points.
    """

    frame: str
    shape_kind: str
    sign: int
    column: float
    row: float
    box: tuple[int, int, int, int]
    area_px: int
    peak: float
    mean: float
    background: float
    rise: float
    rise_sd: float
    value_sd: float
    contrast_noise: float
    at_border: bool
    masked: str
    outline: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class View:
    """One frame's sight of a finding: the candidate and where on the ground it puts it."""

    candidate: Candidate
    x: float | None
    y: float | None
    position_sd: float | None


@dataclass(frozen=True)
class Finding:
    """One thing that departs from its surroundings, seen in one frame or several.

    ``rise_low``/``rise_high`` and ``mean_low``/``mean_high`` are 95 % intervals. ``area_m2`` and places
    are None where geometry does not allow them. ``cause`` never claims more than was judged.
    ``status`` is ``found``, ``unconfirmed`` (one sight only, nothing to check it against) or
    ``dismissed`` (``reason`` says why: moves with the camera, not seen again ...). ``in_view`` counts the
    frames in which the place could have been seen.
    """

    id: str
    number: int
    question: str
    flight: str
    shape_kind: str
    sign: int
    unit: str
    frame: str
    box: tuple[int, int, int, int]
    area_px: int
    area_m2: float | None
    size_m: float | None
    lon_deg: float | None
    lat_deg: float | None
    x: float | None
    y: float | None
    position_sd_m: float | None
    peak: float
    mean: float
    mean_low: float
    mean_high: float
    background: float
    rise: float
    rise_low: float
    rise_high: float
    contrast_noise: float
    support: Support
    support_reason: str
    status: str
    reason: str
    cause: str
    in_view: int
    views: tuple[View, ...]

    @property
    def seen_in(self) -> int:
        """Frames that show it; one frame may see it twice, as an area and as a spot."""
        return len({view.candidate.frame for view in self.views})


@dataclass(frozen=True)
class Findings:
    """Findings of a job: those found, and those looked at and not kept, each with its reason."""

    items: tuple[Finding, ...]
    notes: tuple[str, ...]

    @property
    def found(self) -> tuple[Finding, ...]:
        """Findings with status ``found``."""
        return tuple(f for f in self.items if f.status == "found")

    def of_status(self, status: str) -> tuple[Finding, ...]:
        """Findings with this status."""
        return tuple(f for f in self.items if f.status == status)

    def to_json(self) -> str:
        """Text form with a fixed order of keys."""
        return json.dumps(asdict(self), indent=1, sort_keys=True, allow_nan=False)

    @classmethod
    def from_json(cls, text: str) -> Findings:
        """The findings that `to_json` wrote."""
        raw = json.loads(text)
        return cls(tuple(_finding(f) for f in raw["items"]), tuple(raw["notes"]))


def _finding(raw: dict[str, object]) -> Finding:
    views = tuple(View(**{**v, "candidate": candidate_from_dict(v["candidate"])}) for v in raw["views"])  # type: ignore[attr-defined]
    fixed = {"views": views, "support": Support(raw["support"]), "box": tuple(raw["box"])}  # type: ignore[arg-type]
    return Finding(**{**raw, **fixed})  # type: ignore[arg-type]


def candidate_from_dict(raw: dict[str, object]) -> Candidate:
    """A candidate from its plain form."""
    outline = tuple((float(c), float(r)) for c, r in raw["outline"])  # type: ignore[attr-defined]
    return Candidate(**{**raw, "box": tuple(raw["box"]), "outline": outline})  # type: ignore[arg-type]


def candidates_to_json(candidates: Iterable[Candidate]) -> str:
    """Text form of a frame's candidates."""
    return json.dumps([asdict(c) for c in candidates], indent=1, sort_keys=True, allow_nan=False)


def candidates_from_json(text: str) -> tuple[Candidate, ...]:
    """The candidates that `candidates_to_json` wrote."""
    return tuple(candidate_from_dict(c) for c in json.loads(text))
