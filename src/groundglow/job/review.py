"""What people decided about findings: ``findings.review.csv`` beside the brief, only ever added to.

The machine's findings stay as they are in ``out/find/findings.json``; this file says what people made of them, so that
both can always be told apart. A decision is taken back by a further line, never by removing one.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import astuple, fields
from datetime import UTC, datetime
from pathlib import Path

from groundglow.errors import InputError, JobError
from groundglow.job.append import append_made, whole_lines
from groundglow.job.folder import JobFolder
from groundglow.records.decision import ACTIONS, GRADES, Action, Decision, Standing, standings, undone

__all__ = ["decide", "decisions_of", "review_file", "standings_of", "undo"]

COLUMNS = tuple(f.name for f in fields(Decision))
#: Signs at the start of a cell that a spreadsheet takes for a formula.
FORMULA = ("=", "+", "-", "@")
LONGEST = 2000
_DID: Mapping[Action, str] = {
    "accept": "accepted it", "reject": "rejected it", "regrade": "graded it", "reword": "reworded it",
    "note": "noted", "undo": "took a decision back",
}  # fmt: skip


def review_file(job: JobFolder) -> Path:
    """Where decisions lie."""
    return job.root / "findings.review.csv"


def decisions_of(job: JobFolder) -> tuple[Decision, ...]:
    """All decisions, oldest first.

    Raises
    ------
    InputError
        When a line of the file is none of ours.
    """
    return _parsed(review_file(job), whole_lines(review_file(job)))


def standings_of(job: JobFolder) -> dict[str, Standing]:
    """Where findings stand that somebody decided on, by id."""
    return standings(decisions_of(job))


def decide(
    job: JobFolder, finding: tuple[str, int], action: Action, *, by: str, value: str = "", note: str = "",
    seen: int | None = None,
) -> Decision:  # fmt: skip
    """Add one decision; it is on disk when this returns.

    Parameters
    ----------
    job : JobFolder
    finding : tuple of str, int
        Its id and its number.
    action : str
        accept, reject, regrade, reword or note.
    by : str
        Name of whoever decides.
    value : str
        Grade, words or note.
    note : str
        Why.
    seen : int, optional
        How many decisions about the finding whoever decides has seen.

    Raises
    ------
    InputError
        For a name or value that is missing, too long or none of those allowed.
    JobError
        When somebody decided since; nothing is written.
    """
    texts = {"by": by, "value": value, "note": note}
    by, value, note = (_checked(name, text) for name, text in texts.items())
    _check(action, by, value)
    path = review_file(job)

    def line(before: list[str]) -> str:
        if seen is not None:
            _nothing_new(_parsed(path, before), finding[0], seen)
        return _line(Decision(len(before), _now(), by, *finding, action, value, note))

    return _decision(path, append_made(path, line, head=",".join(COLUMNS)))


def undo(job: JobFolder, number: int, *, by: str, seen: int | None = None) -> Decision:
    """Take a decision back by a further one; undoing an undo brings the decision back.

    Raises
    ------
    JobError
        When there is no such decision, it is taken back already, or somebody decided about the same finding since
        ``seen`` decisions were seen.
    """
    name = _checked("by", by)
    if not name:
        raise InputError("by is empty: say who takes the decision back.")
    path = review_file(job)

    def line(before: list[str]) -> str:
        known = _parsed(path, before)
        of = next((d for d in known if d.decision == number), None)
        if of is None:
            raise JobError(f"There is no decision {number} to take back; there are {len(known)}.")
        if seen is not None:
            _nothing_new(known, of.finding, seen)
        if number in undone(known):
            raise JobError(f"Decision {number} is taken back already.")
        return _line(Decision(len(before), _now(), name, of.finding, of.number, "undo", undoes=number))

    if not path.exists():
        raise JobError("Nothing was decided yet, so there is nothing to take back.")
    return _decision(path, append_made(path, line, head=",".join(COLUMNS)))


def _nothing_new(known: tuple[Decision, ...], finding: str, seen: int) -> None:
    """Refuse what rests on fewer decisions than there are, and say who decided what meanwhile."""
    newer = [d for d in known if d.finding == finding][seen:]
    if newer:
        told = "; ".join(f"{d.by} {_DID[d.action]}{f' “{d.value}”' if d.value else ''} at {d.at}" for d in newer[-3:])
        raise JobError(f"Somebody decided meanwhile: {told}. Nothing was written; look again, then decide.")


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")


def _checked(name: str, text: str) -> str:
    text = " ".join(text.split())
    if len(text) > LONGEST:
        raise InputError(f"{name} has {len(text)} characters; allowed {LONGEST}.")
    if any(not c.isprintable() for c in text):
        raise InputError(f"{name} holds signs that cannot be printed; write plain text.")
    return text


def _check(action: str, by: str, value: str) -> None:
    if action not in ACTIONS or action == "undo":
        raise InputError(f"action is {action!r}; allowed {', '.join(a for a in ACTIONS if a != 'undo')}.")
    if not by:
        raise InputError("by is empty: say who decides, so that it can be told later.")
    if action == "regrade" and value not in GRADES:
        raise InputError(f"value is {value!r}, which is no grade; allowed {', '.join(GRADES)}.")
    if action in ("reword", "note") and not value:
        raise InputError(f"value is empty: a {action} needs its words.")


def _line(decision: Decision) -> str:
    stream = io.StringIO()
    cells = ["" if v is None else str(v) for v in astuple(decision)]
    csv.writer(stream, lineterminator="").writerow([f"'{c}" if c.startswith(("'", *FORMULA)) else c for c in cells])
    return stream.getvalue()


def _parsed(path: Path, lines: list[str]) -> tuple[Decision, ...]:
    return tuple(_decision(path, line, i) for i, line in enumerate(lines) if i)


def _decision(path: Path, line: str, number: int | None = None) -> Decision:
    cells = [c.removeprefix("'") for c in next(csv.reader([line]), [])]
    raw = dict(zip(COLUMNS, cells, strict=False))
    try:
        decision, finding = int(raw["decision"]), int(raw["number"])
        undoes = int(raw["undoes"]) if raw["undoes"] else None
        action: Action = next(a for a in ACTIONS if a == raw["action"])
    except (KeyError, ValueError, StopIteration) as error:
        where = "" if number is None else f", line {number + 1}"
        raise InputError(f"{path}{where}: {line[:80]!r} is no decision; put the file back as it was.") from error
    return Decision(
        decision, raw["at"], raw["by"], raw["finding"], finding, action, raw["value"], raw["note"], undoes
    )  # fmt: skip
