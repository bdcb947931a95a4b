"""Commands that work on one job: start it, run its steps, say how it stands."""

from __future__ import annotations

import json
from concurrent.futures import Executor
from dataclasses import asdict
from pathlib import Path
from typing import Any

from groundglow.cli.show import ProgressWatcher, console, findings_table, steps_table
from groundglow.job.chain import ALONE, StepResult, run_steps, step_states
from groundglow.job.folder import JobFolder, open_job
from groundglow.job.outcome import Outcome, read_outcome
from groundglow.job.start import new_job

__all__ = ["run_until", "show_status", "start_job"]


def start_job(folder: Path) -> int:
    """Make a new job folder and say what to do next."""
    made = new_job(folder)
    screen = console()
    screen.print(f"A new job lies in {folder}. Next:")
    for line in (
        f"1. write into {made.brief.name} what is asked;",
        "2. put an outing into visits/DATE (conditions.csv, references.csv);",
        "3. put its frames and flight.toml into visits/DATE/flights/NAME;",
        f"4. groundglow run {folder}",
    ):
        screen.print(f"  {line}")
    return 0


def run_until(
    path: Path, last: str, *, workers: int, as_json: bool, quiet: bool, executor: Executor | None = None
) -> int:
    """Run a job up to one step, over new processes or those of a pool that is open, and show how it went."""
    job = open_job(path)
    with ProgressWatcher(quiet or as_json) as watcher:
        results = run_steps(job, last, workers=workers, watcher=watcher, executor=executor)
    outcome = read_outcome(job, last)
    if as_json:
        console().print_json(json.dumps(_as_plain(job, results, outcome)))
    elif not quiet:
        _show(results, outcome, last)
    return 0


def _as_plain(job: JobFolder, results: tuple[StepResult, ...], outcome: Outcome) -> dict[str, Any]:
    return {"job": str(job.root), "steps": [asdict(r) for r in results], **outcome.plain()}


def _show(results: tuple[StepResult, ...], outcome: Outcome, last: str) -> None:
    screen = console()
    screen.print(steps_table([_row(r) for r in results]))
    if any(r.step not in ALONE for r in results):
        for line in outcome.lines(last):
            screen.print(line)
    if last in ("find", "report"):
        show_findings(outcome)


def _row(result: StepResult) -> tuple[str, str, str, str]:
    state = f"done, {result.done} new" if result.done else "up to date"
    return result.step, state, f"{result.seconds:.1f} s", result.why


def show_findings(outcome: Outcome) -> None:
    """The findings as a table, strongest first, and where the report lies."""
    screen = console()
    if outcome.findings:
        screen.print()
        screen.print(findings_table(outcome.findings, outcome.reviews))
    if len(outcome.findings) > 20:
        screen.print(f"... and {len(outcome.findings) - 20} more in the report.")
    for name, at in outcome.files.items():
        screen.print(f"{name}: {at}", soft_wrap=True)


def show_status(path: Path, *, as_json: bool) -> int:
    """State of each step: done, stale or missing; since when; why."""
    states = step_states(open_job(path))
    if as_json:
        console().print_json(json.dumps([asdict(s) for s in states]))
        return 0
    rows = [(s.step, s.state, s.made_at.replace("+00:00", "Z")[:16].replace("T", " "), s.why) for s in states]
    console().print(steps_table(rows))
    return 0
