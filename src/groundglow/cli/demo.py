"""``groundglow demo``: an invented site is flown, the whole job runs on it, and the result meets the hidden truth."""

from __future__ import annotations

import time
from concurrent.futures import Executor
from pathlib import Path
from typing import Any

from groundglow.cli.show import console, plain_table
from groundglow.errors import JobError
from groundglow.job.runner import pool
from groundglow.job.warm import warm_up

__all__ = ["run_demo"]


def truth_folder(job: Path) -> Path:
    """Where the truth lies: beside the job, never in it."""
    return job.with_name(f"{job.name}-truth")


def run_demo(folder: Path, *, seed: int, workers: int, quiet: bool) -> int:
    """Fly the invented site into ``folder`` (unless it is there already), run the job and show the score."""
    begun = time.perf_counter()
    new = not (folder / "brief.toml").is_file()
    if new and folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise JobError(f"{folder} exists and is no job of ours. Name a new folder: groundglow demo DIR.")
    with pool(workers) as executor:
        if new:
            _make(folder, seed, workers, executor)
        if not quiet:
            made = f"An invented site was flown (seed {seed}): {folder}; {time.perf_counter() - begun:.0f} s"
            console().print(made if new else f"{folder} holds a job already; it is brought up to date.")
        code = _run(folder, quiet, executor)
    if truth_folder(folder).is_dir() and not quiet:
        _show_score(folder, truth_folder(folder))
        console().print(f"Whole demo: {time.perf_counter() - begun:.0f} s")
    return code


def _make(folder: Path, seed: int, workers: int, executor: Executor | None) -> None:
    """Make the site here, while the processes that will work on the job start and compile."""
    if executor:
        warm_up(executor)
    from groundglow.job.demo import fly_demo

    fly_demo(folder, truth_folder(folder), seed=seed, workers=workers)


def _run(folder: Path, quiet: bool, executor: Executor | None) -> int:
    from groundglow.cli.work import run_until

    return run_until(folder, "report", workers=1, as_json=False, quiet=quiet, executor=executor)


def _show_score(folder: Path, truth: Path) -> None:
    from groundglow.simulate import score

    result: Any = score(folder / "out" / "find" / "findings.json", truth)
    screen = console()
    screen.print("\nAgainst the truth that the steps never saw:")
    table = plain_table(("planted at", "left"), ("faults", "right"), ("found", "right"))
    for level in result.levels:
        table.add_row(f"{level.multiple:g} x contrast-noise limit", str(level.planted), str(level.found))
    screen.print(table)
    for line in result.lines():
        screen.print(line)
