"""``groundglow report``: what goes into the report, as options; they are kept in the job's ``report.toml``."""

from __future__ import annotations

import inspect
import os
from pathlib import Path
from typing import Annotated, Any

import typer

__all__ = ["OPTIONS", "report"]

#: What `ReportOptions` holds: help, and what may be given; None is yes or no. A test holds the two together.
OPTIONS: dict[str, tuple[str, str | None]] = {
    "business": ("Business that hands the report over.", "TEXT"),
    "author": ("Who wrote it; else prepared_by of the brief.", "TEXT"),
    "reference": ("Reference number of the client or of one's own.", "TEXT"),
    "temperature": ("Unit of temperatures; rises are in K, or in °F.", "C|F|K"),
    "paper": ("Size of the pages.", "A4|Letter"),
    "least_grade": ("Leave out findings that people graded as less pressing.", "act at once|plan a repair|watch"),
    "ungraded": ("Findings that nobody graded.", None),
    "least_support": (
        "Leave out findings that are supported less.",
        "not supported|detected only|corrected|supported",
    ),
    "rejected": ("Among what was not kept: findings that people rejected.", None),
    "unconfirmed": ("Among what was not kept: findings seen once only.", None),
    "dismissed": ("Among what was not kept: what was looked at and dismissed.", None),
    "map": ("Map of the site.", None),
    "method": ("How the values were made, and where their doubt comes from.", None),
    "pictures": ("A part for each finding, with picture; else only the list.", None),
}

Json = Annotated[bool, typer.Option("--json", help="Print the result as JSON, nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of an error.")]


def report(
    job: Annotated[Path, typer.Argument(metavar="JOB", help="Folder of the job.")],
    workers: Annotated[int, typer.Option(min=0, help="Processes to work with; 0 takes one a core.")] = 0,
    defaults: Annotated[bool, typer.Option("--defaults", help="Forget the options of earlier reports.")] = False,
    as_json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
    **options: Any,
) -> int:
    """What do we tell them? The report, and the findings as tables and layers.

    What is said here of the report's contents and looks is kept in the job's report.toml, and holds for the page too.
    """
    from groundglow.cli.work import run_until
    from groundglow.job.folder import open_job
    from groundglow.job.reporting import change_options

    said = {name: value for name, value in options.items() if value is not None}
    if said or defaults:
        change_options(open_job(job), said, afresh=defaults)
    return run_until(job, "report", workers=workers or os.cpu_count() or 1, as_json=as_json, quiet=quiet)


def _options() -> list[inspect.Parameter]:
    """One option each, none said by default."""
    return [
        inspect.Parameter(
            name, inspect.Parameter.KEYWORD_ONLY, default=None, annotation=_annotation(name.replace("_", "-"), *told)
        )
        for name, told in OPTIONS.items()
    ]


def _annotation(flag: str, words: str, allowed: str | None) -> Any:
    if allowed is None:
        return Annotated[bool | None, typer.Option(f"--{flag}/--no-{flag}", help=words)]
    return Annotated[str | None, typer.Option(f"--{flag}", help=words, metavar=allowed)]


_own = inspect.signature(report, eval_str=True)
report.__signature__ = _own.replace(  # type: ignore[attr-defined]  # typer reads options from the signature
    parameters=[p for p in _own.parameters.values() if p.kind is not inspect.Parameter.VAR_KEYWORD] + _options()
)
