"""What a person decided about a finding: one decision, and where a finding stands after all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

__all__ = ["ACTIONS", "GRADES", "Action", "Decision", "Remark", "Standing", "standings", "undone"]

Action = Literal["accept", "reject", "regrade", "reword", "note", "undo"]
ACTIONS: tuple[Action, ...] = get_args(Action)
#: What a person may say of how pressing it is; advice, for whoever is licensed to act.
GRADES = ("act at once", "plan a repair", "watch", "no action")


@dataclass(frozen=True)
class Decision:
    """One line of ``findings.review.csv``.

    Parameters
    ----------
    decision : int
        Number of the line, from 1.
    at : str
        ISO 8601, UTC.
    by : str
        Who decided.
    finding : str
        Id of the finding; for an undo, of the finding whose decision is undone.
    number : int
        The finding's number when it was decided on.
    action : str
    value : str
        Grade, words or note; empty for accept, reject and undo.
    note : str
        Why, if said.
    undoes : int or None
        Decision that an undo takes back.
    """

    decision: int
    at: str
    by: str
    finding: str
    number: int
    action: Action
    value: str = ""
    note: str = ""
    undoes: int | None = None


@dataclass(frozen=True)
class Remark:
    """A note beside a finding."""

    text: str
    by: str
    at: str


@dataclass(frozen=True)
class Standing:
    """Where a finding stands: ``decision`` open, accepted or rejected; ``by`` and ``at`` of the last decision."""

    decision: Literal["open", "accepted", "rejected"] = "open"
    grade: str = ""
    words: str = ""
    notes: tuple[Remark, ...] = ()
    by: str = ""
    at: str = ""


def undone(decisions: Iterable[Decision]) -> set[int]:
    """Numbers of decisions that do not count: undone, and not brought back by undoing the undo.

    Examples
    --------
    >>> one = Decision(1, "", "A", "f", 1, "accept")
    >>> two = Decision(2, "", "A", "f", 1, "undo", undoes=1)
    >>> undone([one, two]), undone([one, two, Decision(3, "", "A", "f", 1, "undo", undoes=2)])
    ({1}, {2})
    """
    gone: set[int] = set()
    for d in sorted(decisions, key=lambda d: -d.decision):
        if d.action == "undo" and d.undoes is not None and d.decision not in gone:
            gone.add(d.undoes)
    return gone


def standings(decisions: Iterable[Decision]) -> dict[str, Standing]:
    """Where each finding stands that anybody decided on, by its id."""
    known = tuple(decisions)
    gone = undone(known)
    found: dict[str, Standing] = {}
    for d in known:
        if d.decision not in gone and d.action != "undo":
            found[d.finding] = _after(found.get(d.finding, Standing()), d)
    return found


def _after(before: Standing, d: Decision) -> Standing:
    decided: Mapping[str, Literal["accepted", "rejected"]] = {"accept": "accepted", "reject": "rejected"}
    said = d.value if d.action == "note" else d.note
    return Standing(
        decided.get(d.action, before.decision),
        d.value if d.action == "regrade" else before.grade,
        d.value if d.action == "reword" else before.words,
        (*before.notes, Remark(said, d.by, d.at)) if said else before.notes,
        d.by,
        d.at,
    )
