"""What routes read of a job, kept while its files are unchanged."""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from typing import Any

from groundglow.frames.reading import PICTURE_REASON
from groundglow.job.chain import StepState, step_states
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import is_relative, log_of
from groundglow.job.plans.check import log_path
from groundglow.job.plans.find import findings_path
from groundglow.job.review import decisions_of, review_file
from groundglow.records.brief import FitQuestion, PlanQuestion
from groundglow.records.decision import Decision, standings
from groundglow.records.finding import Findings
from groundglow.records.flight import FlightSpec
from groundglow.records.log import FlightLog
from groundglow.steps.measure.live import NOT_OF_COUNTS
from groundglow.web.context import Context
from groundglow.web.findings import Row, Table
from groundglow.web.kept import tree_mark
from groundglow.web.refusals import Refusal
from groundglow.web.telling import file_told

__all__ = [
    "asked_told",
    "decisions",
    "finding_row",
    "findings_in",
    "findings_table",
    "first_frame",
    "flight_log",
    "json_of",
    "no_table",
    "states_of",
]

#: Seconds after which files that lie outside a job (frames read in place) are looked at again.
FRESH = 30.0


def decisions(here: Context, job: JobFolder) -> tuple[Decision, ...]:
    """What people decided, oldest first."""
    return here.kept.get((job.root, "review"), (review_file(job),), lambda: decisions_of(job))


def findings_table(here: Context, job: JobFolder) -> Table:
    """Findings of a job with what people made of them; an empty table before the step has run."""
    path = findings_path(job)
    files = (path, review_file(job))

    def join() -> Table:  # read after the files' state was noted, so that nothing newer is ever taken for older
        items = here.kept.get((job.root, "find"), (path,), lambda: _findings(job))
        return Table.of(items, standings(decisions(here, job)))

    return here.kept.get((job.root, "table"), files, join)


def _findings(job: JobFolder) -> Findings:
    path = findings_path(job)
    return Findings.from_json(path.read_text("utf-8")) if path.is_file() else Findings((), ())


def finding_row(here: Context, job: JobFolder, finding: str) -> Row:
    """A finding by its id."""
    row = findings_table(here, job).row(finding)
    if row is None:
        raise Refusal(404, f"There is no finding {finding!r} in this job.", "JobError")
    return row


def findings_in(here: Context, job: JobFolder, flight: FlightFolder) -> dict[str, list[int]]:
    """Numbers of the findings that each frame of a flight shows; not of what is unconfirmed or dismissed."""
    by_frame: dict[str, list[int]] = {}
    for row in findings_table(here, job).rows:
        f = row.finding
        if f.flight == flight.key and f.status == "found":
            for name in {v.candidate.frame for v in f.views}:
                by_frame.setdefault(name, []).append(f.number)
    return by_frame


def first_frame(here: Context, job: JobFolder, flight: FlightFolder) -> str | None:
    """Frame at which reading a flight begins: the first that shows a finding, else the first that can be used."""
    log = flight_log(job, flight)
    used = [e.name for e in log.entries if e.used] if log else []
    seen = findings_in(here, job, flight)
    return next((name for name in used if name in seen), used[0] if used else None)


def no_table(spec: FlightSpec) -> str:
    """Why a browser need not ask for tables of a flight's frames; empty where it may."""
    if spec.values.kind == "picture":
        return PICTURE_REASON
    return NOT_OF_COUNTS if is_relative(spec) else ""


def flight_log(job: JobFolder, flight: FlightFolder) -> FlightLog | None:
    """Log of a flight, once it has been checked."""
    path = log_path(job, flight)
    return log_of(path) if path.is_file() else None


def states_of(here: Context, job: JobFolder) -> tuple[StepState, ...]:
    """How steps stand; worked out again only when a file of the job has changed."""
    state = (tree_mark(job.root), int(time.monotonic() / FRESH))
    return here.kept.get((job.root, "states"), (), lambda: step_states(job), state)


def json_of(here: Context, path: Any) -> Any:
    """A JSON file of a job's outputs; None when it is not made yet."""
    return here.kept.get(path, (path,), lambda: json.loads(path.read_text("utf-8")) if path.is_file() else None)


def asked_told(
    here: Context,
    job: JobFolder,
    step: str,
    asked: Sequence[FitQuestion | PlanQuestion],
    *,
    called: tuple[str, str],
    files: Sequence[str],
) -> list[dict[str, Any]]:
    """What a brief asks of a step and what came of it; ``called``: a question without a name, and the outcome."""
    out, (plain, outcome) = job.out / step, called
    return [
        {
            "number": i,
            "name": q.name or f"{plain} {i}",
            "question": q.model_dump(mode="json", exclude_unset=True),
            outcome: json_of(here, out / f"{step}-{i}.json"),
            "files": [file_told(job, p) for f in files if (p := out / f.format(i)).is_file()],
        }
        for i, q in enumerate(asked, 1)
    ]
