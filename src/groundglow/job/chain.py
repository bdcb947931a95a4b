"""The chain of steps: run what is not up to date, in order; or only say what would have to be done."""

from __future__ import annotations

import time
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass

from groundglow.errors import GroundglowError, JobError
from groundglow.job.folder import JobFolder
from groundglow.job.inputs import brief_of
from groundglow.job.ledger import Ledger, one_writer
from groundglow.job.plans import PLANS
from groundglow.job.runner import Item, Runner, Tally, Watcher, pool

__all__ = ["ALONE", "STEPS", "StepResult", "StepState", "run_steps", "step_states"]

STEPS = tuple(PLANS)
#: Steps that come before any flight, and that no later step waits for.
ALONE = ("fit", "plan")


@dataclass(frozen=True)
class StepResult:
    """How one step went: items done, items kept, reasons of those set aside, why it was due, seconds."""

    step: str
    done: int
    kept: int
    set_aside: dict[str, str]
    why: str
    seconds: float


@dataclass(frozen=True)
class StepState:
    """Whether a step's outputs are there and true: ``done``, ``stale`` or ``missing``; why, and since when."""

    step: str
    state: str
    why: str
    items: int
    made_at: str


def run_steps(
    job: JobFolder,
    last: str = "report",
    *,
    workers: int = 1,
    watcher: Watcher | None = None,
    executor: Executor | None = None,
) -> tuple[StepResult, ...]:
    """Bring all steps up to ``last`` up to date.

    What is asked of fit or plan is answered when that is ``last``, and before a whole run when the brief asks it.

    Parameters
    ----------
    job : JobFolder
    last : str
    workers : int
        Processes; they live until all steps are done.
    watcher : Watcher, optional
    executor : Executor, optional
        A pool that is open already; then ``workers`` is not looked at.

    Raises
    ------
    JobError
        When the job has no flight, or another run is at work on it.
    """
    due = _due(job, last)
    if not job.flights() and not set(due) <= set(ALONE):
        raise JobError(
            f"{job.root} has no flight yet: put frames and a flight.toml into visits/DATE/flights/NAME/, "
            "then run again."
        )
    with _writing(job) as ledger, nullcontext(executor) if executor else pool(workers) as processes:
        runner = Runner(job, ledger, processes, watcher)
        return tuple(_run_step(job, runner, step) for step in due)


def _due(job: JobFolder, last: str) -> tuple[str, ...]:
    """The steps of a run, in order."""
    if last in ALONE:
        return (last,)
    flown = tuple(step for step in STEPS[: STEPS.index(last) + 1] if step not in ALONE)
    asked = tuple(step for step in ALONE if last == STEPS[-1] and _asked(job, step))
    return asked if asked and not job.flights() else (*asked, *flown)


def _asked(job: JobFolder, step: str) -> bool:
    """Whether the brief asks a step that comes before any flight."""
    return bool(getattr(brief_of(job), step))


def _run_step(job: JobFolder, runner: Runner, step: str) -> StepResult:
    begun = time.perf_counter()
    keys: set[str] = set()
    for batch in PLANS[step](job, runner.ledger):
        keys |= {item.key for item in batch}
        runner.do(batch)
    runner.prune(step, keys)
    tally = runner.tallies.get(step, Tally())
    return StepResult(step, tally.done, tally.kept, tally.set_aside, tally.why, time.perf_counter() - begun)


def step_states(job: JobFolder) -> tuple[StepState, ...]:
    """The state of each step, without doing anything."""
    with _reading(job) as ledger:
        runner = Runner(job, ledger, None, None)
        states: list[StepState] = []
        for step in STEPS:
            if step in ALONE and not _asked(job, step):
                continue
            before = next((s.step for s in states if s.state != "done" and s.step not in ALONE), "")
            states.append(_state(job, runner, step, before))
        return tuple(states)


def _state(job: JobFolder, runner: Runner, step: str, before: str) -> StepState:
    made = runner.ledger.entries(step)
    made_at = max((e.made_at for e in made), default="")
    if before:
        return StepState(step, "stale" if made else "missing", f"{before} comes first", len(made), made_at)
    items = 0
    try:
        for batch in PLANS[step](job, runner.ledger):
            items += len(batch)
            due = next(((item, why) for item in batch if (why := runner.why_not(item))), None)
            if due:
                return StepState(step, "stale" if made else "missing", _why(*due), len(made), made_at)
    except GroundglowError as error:  # a flight without frames yet: the step cannot run, the job can still be looked at
        why = str(error).replace(f"{job.root}/", "")
        return StepState(step, "stale" if made else "missing", why, len(made), made_at)
    return StepState(step, "done" if items else "missing", "" if items else "nothing to work on", items, made_at)


def _why(item: Item, why: str) -> str:
    return f"{item.key}: {why}" if why == "not made yet" else why


@contextmanager
def _writing(job: JobFolder) -> Iterator[Ledger]:
    with one_writer(job.root):
        for left in job.out.rglob(".part-*"):
            left.unlink()
        ledger = Ledger(job.ledger, job.root)
        try:
            yield ledger
        finally:
            ledger.close()


@contextmanager
def _reading(job: JobFolder) -> Iterator[Ledger]:
    ledger = Ledger(job.ledger, job.root)
    try:
        yield ledger
    finally:
        ledger.close()
