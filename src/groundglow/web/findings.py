"""Findings as rows of a table that the server filters and sorts; machine's words and people's beside each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from math import isfinite
from typing import Annotated, Any, Literal, get_args

from fastapi import Query

from groundglow.errors import InputError
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.records.decision import GRADES, Standing
from groundglow.records.finding import Finding, Findings, Support

__all__ = ["Row", "Table", "Wanted", "detail", "plain"]

Sort = Literal["number", "rise", "contrast", "size", "support", "question", "status", "decision", "grade"]
_BY: Mapping[str, Callable[[Row], Any]] = {
    "number": lambda r: r.finding.number,
    "rise": lambda r: r.finding.rise,
    "contrast": lambda r: abs(r.finding.contrast_noise),
    "size": lambda r: r.finding.area_m2 if r.finding.area_m2 is not None else r.finding.area_px,
    "support": lambda r: list(Support).index(r.finding.support),
    "question": lambda r: r.finding.question,
    "status": lambda r: r.finding.status,
    "decision": lambda r: r.standing.decision,
    "grade": lambda r: r.standing.grade,
}
SORTS = [*get_args(Sort), *(f"-{name}" for name in get_args(Sort))]
#: Fields of a finding that are told as they are.
SAME = (
    "id", "number", "question", "flight", "frame", "box", "shape_kind", "sign", "unit", "rise", "rise_low", "rise_high",
    "area_px", "area_m2", "size_m", "position_sd_m", "support", "support_reason", "status", "reason", "cause",
    "in_view", "contrast_noise",
)  # fmt: skip
#: What may be asked for by the fields of which only some values exist.
ALLOWED: Mapping[str, Sequence[str]] = {
    "status": ("found", "unconfirmed", "dismissed"), "support": tuple(str(s) for s in Support),
    "decision": ("open", "accepted", "rejected"), "grade": GRADES,
}  # fmt: skip
COUNTED = ("status", "question", "support", "flight")


@dataclass(frozen=True)
class Row:
    """One finding, what people made of it, all its words in lower case, and the row as it is told."""

    finding: Finding
    standing: Standing
    words: str
    told: Mapping[str, Any]


@dataclass(frozen=True)
class Table:
    """All findings of a job."""

    rows: tuple[Row, ...]
    counts: Mapping[str, Mapping[str, int]]

    @classmethod
    def of(cls, findings: Findings, standings: Mapping[str, Standing]) -> Table:
        """Join findings and what was decided on them."""
        rows = tuple(_row(f, standings.get(f.id, Standing())) for f in findings.items)
        counts = {name: dict(Counter(str(getattr(r.finding, name)) for r in rows)) for name in COUNTED}
        counts |= {name: dict(Counter(getattr(r.standing, name) for r in rows)) for name in ("decision", "grade")}
        return cls(rows, counts)

    def row(self, finding: str) -> Row | None:
        """A finding by its id."""
        return next((r for r in self.rows if r.finding.id == finding), None)


def _row(finding: Finding, standing: Standing) -> Row:
    said = (
        finding.id, str(finding.number), finding.question, finding.flight, finding.frame, finding.reason,
        finding.support_reason, finding.cause, standing.words, standing.grade, *(n.text for n in standing.notes),
    )  # fmt: skip
    return Row(finding, standing, " ".join(said).lower(), _plain(finding, standing))


class Wanted:
    """Which findings are wanted, and in which order."""

    def __init__(
        self,
        sort: Annotated[str, Query(description=f"One of {', '.join(SORTS)}.")] = "number",
        status: Annotated[str, Query(description="found, unconfirmed, dismissed; several with commas.")] = "",
        question: Annotated[str, Query(max_length=200)] = "",
        flight: Annotated[str, Query(max_length=200)] = "",
        frame: Annotated[str, Query(max_length=200, description="Seen in this frame.")] = "",
        support: Annotated[str, Query(description="supported, corrected, detected only, not supported.")] = "",
        decision: Annotated[str, Query(description="open, accepted, rejected; several with commas.")] = "",
        grade: Annotated[str, Query(max_length=200, description=f"One of {', '.join(GRADES)}.")] = "",
        least_rise: Annotated[float | None, Query(ge=0, le=1e6, description="Of the size of the rise.")] = None,
        text: Annotated[str, Query(max_length=200, description="In any of its words.")] = "",
        bbox: Annotated[str, Query(max_length=120, description="west,south,east,north in degrees.")] = "",
        number: Annotated[int | None, Query(ge=1, le=10_000_000, description="The one with this number.")] = None,
    ) -> None:
        self.sort = sort
        self._tests = [
            *_among("status", status, lambda r: r.finding.status),
            *_among("question", question, lambda r: r.finding.question, parted=False),
            *_among("flight", flight, lambda r: r.finding.flight, parted=False),
            *_among("support", support, lambda r: str(r.finding.support)),
            *_among("decision", decision, lambda r: r.standing.decision),
            *_among("grade", grade, lambda r: r.standing.grade, parted=False),
        ]
        self._tests += [partial(_seen_in, frame)] if frame else []
        self._tests += [partial(_rises, least_rise)] if least_rise is not None else []
        self._tests += [partial(_says, text.lower().split())] if text.strip() else []
        self._tests += [partial(_inside, _box(bbox))] if bbox else []
        self._tests += [lambda r: r.finding.number == number] if number is not None else []

    def of(self, table: Table) -> list[Row]:
        """The rows, in order; equal ones by number.

        Raises
        ------
        InputError
            When there is no such order.
        """
        if self.sort not in SORTS:
            raise InputError(f"sort is {self.sort!r}; allowed {', '.join(SORTS)}.")
        rows = [r for r in table.rows if all(test(r) for test in self._tests)]
        rows.sort(key=_BY["number"])
        rows.sort(key=_BY[self.sort.lstrip("-")], reverse=self.sort.startswith("-"))
        return rows


def _among(name: str, wanted: str, of: Callable[[Row], str], *, parted: bool = True) -> list[Callable[[Row], bool]]:
    if not wanted:
        return []
    some = {part.strip() for part in wanted.split(",") if part.strip()} if parted else {wanted}
    allowed = ALLOWED.get(name)
    wrong = sorted(some.difference(allowed)) if allowed else []
    if allowed and wrong:
        raise InputError(f"{name} is {wrong[0]!r}; allowed {', '.join(allowed)}.")
    return [lambda r: of(r) in some]


def _seen_in(frame: str, row: Row) -> bool:
    return row.finding.frame == frame or any(v.candidate.frame == frame for v in row.finding.views)


def _rises(least: float, row: Row) -> bool:
    return abs(row.finding.rise) >= least


def _says(words: Sequence[str], row: Row) -> bool:
    return all(word in row.words for word in words)


def _box(text: str) -> tuple[float, float, float, float]:
    try:
        west, south, east, north = (float(part) for part in text.split(","))
    except ValueError:
        raise InputError(f"bbox {text!r} is not written as west,south,east,north in degrees.") from None
    if not all(isfinite(v) and abs(v) <= 360 for v in (west, south, east, north)):
        raise InputError(f"bbox {text!r} holds what is no number of degrees; allowed -360 to 360.")
    return west, south, east, north


def _inside(box: tuple[float, float, float, float], row: Row) -> bool:
    f = row.finding
    if f.lon_deg is None or f.lat_deg is None:
        return False
    return box[0] <= f.lon_deg <= box[2] and box[1] <= f.lat_deg <= box[3]


def plain(row: Row) -> dict[str, Any]:
    """One row of the table."""
    return dict(row.told)


def _plain(f: Finding, standing: Standing) -> dict[str, Any]:
    found: dict[str, Any] = {name: getattr(f, name) for name in SAME}
    shift, suffix = (ZERO_CELSIUS, "_c") if f.unit == "K" else (0.0, "")
    found |= {f"{n}{suffix}": getattr(f, n) - shift for n in ("mean", "mean_low", "mean_high", "background")}
    place = [f.lon_deg, f.lat_deg] if f.lon_deg is not None and f.lat_deg is not None else None
    return found | {"place": place, "views": f.seen_in, "review": asdict(standing)}


def detail(row: Row) -> dict[str, Any]:
    """One finding with all its sights."""
    return plain(row) | {"views": [_view(row.finding, v) for v in row.finding.views]}


def _view(finding: Finding, view: Any) -> dict[str, Any]:
    c = view.candidate
    names = ("frame", "column", "row", "box", "outline", "rise", "rise_sd", "contrast_noise", "at_border", "masked")
    return {"flight": finding.flight, **{name: getattr(c, name) for name in names}, "x": view.x, "y": view.y}
