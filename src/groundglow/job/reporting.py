"""The options of a job's report: ``report.toml`` beside the brief, so that changing them makes nothing else stale."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from groundglow.frames.specs import read_toml
from groundglow.job.folder import JobFolder
from groundglow.job.ledger import one_writer
from groundglow.job.tomltext import replace_text, rewritten
from groundglow.records.report import ReportOptions

__all__ = ["change_options", "options_of", "report_file", "write_options"]


def report_file(job: JobFolder) -> Path:
    """Where the options lie; without the file all are as they come."""
    return job.root / "report.toml"


def options_of(job: JobFolder) -> ReportOptions:
    """The options of a job's report.

    Raises
    ------
    FileError, InputError
        When the file cannot be read, or holds what is no option.
    """
    path = report_file(job)
    return ReportOptions.parse(read_toml(path), str(path)) if path.is_file() else ReportOptions()


def write_options(job: JobFolder, options: ReportOptions) -> ReportOptions:
    """Write options in the place of the job's own, comments kept; unless a run holds the job.

    Raises
    ------
    JobError
        When a run is at work on the job.
    """
    path = report_file(job)
    said = options.model_dump(mode="json", exclude_defaults=True)
    with one_writer(job.root):
        if said or path.is_file():
            replace_text(path, rewritten(path.read_text("utf-8-sig") if path.is_file() else "", said))
    return options


def change_options(job: JobFolder, said: Mapping[str, Any], *, afresh: bool = False) -> ReportOptions:
    """Change some options, or with ``afresh`` start from how they come.

    Raises
    ------
    InputError
        When an option is unknown or its value is not allowed; the file stays as it was.
    """
    before = {} if afresh else options_of(job).model_dump(mode="json")
    return write_options(job, ReportOptions.parse(before | dict(said), "options of the report"))
