"""`groundglow report`: its options are those of the record, are kept in the job, and are refused in words."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest
from tests.web.web_jobs import make_job
from typer.testing import CliRunner

from groundglow.cli.main import app
from groundglow.cli.report import OPTIONS
from groundglow.job.folder import open_job
from groundglow.job.reporting import change_options, options_of
from groundglow.records.finding import Support
from groundglow.records.report import ReportOptions


def test_options_of_the_command_line_are_those_of_the_record() -> None:
    fields = ReportOptions.model_fields
    assert list(OPTIONS) == list(fields)
    for name, (words, allowed) in OPTIONS.items():
        kind = fields[name].annotation
        assert words == fields[name].description
        assert (allowed is None) == (kind is bool)
        choices = [str(v) for v in (Support if kind is Support else get_args(kind)) if v]
        assert allowed in (None, "|".join(choices) or "TEXT")


def test_what_is_said_is_kept_before_the_run_and_forgotten_when_asked(tmp_path: Path) -> None:
    job = make_job(tmp_path / "mill", 1)
    run = CliRunner().invoke(app, ["report", str(job), "--paper", "Letter", "--no-map", "--least-grade", "watch"])
    assert run.exit_code == 2
    assert "has no flight yet" in run.output, "the options are kept all the same"
    kept = options_of(open_job(job))
    assert (kept.paper, kept.map, kept.least_grade) == ("Letter", False, "watch")
    assert (job / "report.toml").read_text("utf-8").count("=") == 3, "only what was said is written"
    CliRunner().invoke(app, ["report", str(job), "--temperature", "F"])
    assert options_of(open_job(job)) == ReportOptions(paper="Letter", map=False, least_grade="watch", temperature="F")
    CliRunner().invoke(app, ["report", str(job), "--defaults", "--reference", "R-7"])
    assert options_of(open_job(job)) == ReportOptions(reference="R-7")


def test_a_wrong_option_is_refused_and_the_kept_ones_stay(tmp_path: Path) -> None:
    job = make_job(tmp_path / "mill", 1)
    change_options(open_job(job), {"paper": "Letter"})
    run = CliRunner().invoke(app, ["report", str(job), "--paper", "A3"])
    assert run.exit_code == 2
    assert "paper: input should be 'A4' or 'Letter', found 'A3'" in run.output
    assert options_of(open_job(job)).paper == "Letter"


@pytest.mark.parametrize("text", ["paper = ", "papr = 'A4'"])
def test_a_faulty_file_of_options_is_told_with_its_name(tmp_path: Path, text: str) -> None:
    job = make_job(tmp_path / "mill", 1)
    (job / "report.toml").write_text(text, "utf-8")
    run = CliRunner().invoke(app, ["report", str(job), "--no-map"])
    assert run.exit_code == 2
    assert "report.toml" in run.output
