"""``groundglow fit`` on briefs: jobs are written into their folders, files are answered as they stand."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from groundglow.cli.show import ProgressWatcher, console
from groundglow.errors import InputError
from groundglow.job.chain import run_steps
from groundglow.job.fit import asks_of_brief, fit_of_job
from groundglow.job.folder import open_job
from groundglow.kit.fleet import Fleet
from groundglow.records.fit import Ask
from groundglow.steps.fit import FitFindings

__all__ = ["answers_of_briefs"]

Given = Mapping[str, Any]


def answers_of_briefs(given: Given, fleet: Fleet, answered: Callable[[Ask], FitFindings]) -> list[FitFindings]:
    """Answers to all questions of the folders and files that were named, under names of their own."""
    _nothing_beside(given)
    found: list[FitFindings] = []
    for path in given["briefs"]:
        if path.is_dir():
            found += _job(given, path)
        else:
            found += [answered(ask) for ask in asks_of_brief(path, fleet)]
    return _named_apart(found)


def _job(given: Given, path: Path) -> list[FitFindings]:
    """The step writes its files into the job; the answers are told here."""
    job = open_job(path)
    if given["kit"] is not None or given["use_table"] is not None:
        raise InputError("A job has its own kit.toml and place_of_use.toml; leave --kit and --use-table out.")
    with ProgressWatcher(given["quiet"] or given["as_json"]) as watcher:
        run_steps(job, "fit", watcher=watcher)
    if not (given["quiet"] or given["as_json"]):
        for sheet in sorted((job.out / "fit").glob("*.pdf")):
            console().print(f"sheet: {sheet}", soft_wrap=True)
    return fit_of_job(job)


def _named_apart(found: Sequence[FitFindings]) -> list[FitFindings]:
    """Questions of several briefs with names of their own."""
    names = [f.ask.name for f in found]
    return [
        f if names.count(f.ask.name) == 1 else replace(f, ask=replace(f.ask, name=f"{f.ask.name} ({i})"))
        for i, f in enumerate(found, start=1)
    ]


def _nothing_beside(given: Given) -> None:
    said = [name for name in ("target", "distance", "length") if given[name] is not None]
    if said:
        option = "--from" if said[0] == "distance" else f"--{said[0]}"
        raise InputError(
            f"{option} is for a question on the command line; the questions of a brief stand in its [[fit]]."
        )
