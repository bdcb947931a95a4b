"""``groundglow report``: what goes into the report, as options; they are kept in the job's ``report.toml``."""

from __future__ import annotations

import inspect
import os
from pathlib import Path
from typing import Annotated, Any, get_args

import typer

from groundglow.records.report import ReportOptions

__all__ = ["report"]

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
    """One option a field of the record, none said by default."""
    return [
        inspect.Parameter(
            name,
            inspect.Parameter.KEYWORD_ONLY,
            default=None,
            annotation=Annotated[
                bool | None if field.annotation is bool else str | None,
                typer.Option(*_flags(name, field.annotation), help=field.description, metavar=_metavar(field)),
            ],
        )
        for name, field in ReportOptions.model_fields.items()
    ]


def _flags(name: str, kind: Any) -> tuple[str, ...]:
    flag = name.replace("_", "-")
    return (f"--{flag}/--no-{flag}",) if kind is bool else (f"--{flag}",)


def _metavar(field: Any) -> str | None:
    if field.annotation is bool:
        return None
    allowed = [str(v) for v in get_args(field.annotation) if v] or [str(v) for v in _members(field.annotation)]
    return "|".join(allowed) or "TEXT"


def _members(kind: Any) -> list[Any]:
    return list(kind) if hasattr(kind, "__members__") else []


_own = inspect.signature(report, eval_str=True)
report.__signature__ = _own.replace(  # type: ignore[attr-defined]  # typer reads options from the signature
    parameters=[p for p in _own.parameters.values() if p.kind is not inspect.Parameter.VAR_KEYWORD] + _options()
)
