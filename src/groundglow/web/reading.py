"""What routes read of a job, kept while its files are unchanged."""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from typing import Any

from groundglow.job.chain import StepState, step_states
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import log_of
from groundglow.job.plans.check import log_path
from groundglow.job.plans.find import findings_path
from groundglow.job.reporting import report_file
from groundglow.job.review import decisions_of, review_file
from groundglow.records.brief import FitQuestion, PlanQuestion
from groundglow.records.decision import Decision, standings
from groundglow.records.finding import Findings
from groundglow.records.log import FlightLog
from groundglow.web.context import Context
from groundglow.web.findings import Row, Table
from groundglow.web.refusals import Refusal
from groundglow.web.telling import file_told

__all__ = ["asked_told", "decisions", "finding_row", "findings_table", "flight_log", "json_of", "states_of"]

#: Seconds for which what was asked of a job's files is taken as true.
FRESH = 5.0


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


def flight_log(job: JobFolder, flight: FlightFolder) -> FlightLog | None:
    """Log of a flight, once it has been checked."""
    path = log_path(job, flight)
    return log_of(path) if path.is_file() else None


def states_of(here: Context, job: JobFolder) -> tuple[StepState, ...]:
    """How steps stand; asked of the files at most every few seconds, or when the ledger or the brief has changed."""
    moment = int(time.monotonic() / FRESH)
    ledger = job.ledger.with_name(f"{job.ledger.name}-wal")
    files = (job.brief, job.ledger, ledger, review_file(job), report_file(job))
    return here.kept.get((job.root, "states", moment), files, lambda: step_states(job))


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
