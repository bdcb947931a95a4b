"""The command line as a person meets it: quick help, plain errors, exit codes, nothing overwritten."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from groundglow.cli.main import app

COMMANDS = ("demo", "new", "fit", "plan", "run", "check", "measure", "find", "report", "status", "serve")


def call(*arguments: str):
    return CliRunner().invoke(app, list(arguments))


def test_help_names_the_commands_that_work_and_no_other() -> None:
    text = call("--help").output
    listed = [line.split()[0] for line in text.splitlines() if line.startswith("  ") and line.split()[0] in text]
    assert [c for c in COMMANDS if c not in listed] == []
    assert "map" not in listed


def test_help_starts_without_the_heavy_libraries() -> None:
    code = (
        "import sys, contextlib; from groundglow.cli.main import app\n"
        "with contextlib.suppress(SystemExit): app(['--help'])\n"
        "print(sorted({'numpy', 'numba', 'cv2', 'rasterio', 'scipy', 'pydantic'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_every_line_of_help_fits_80_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for arguments in (("--help",), *((c, "--help") for c in COMMANDS)):
        assert max(len(line) for line in call(*arguments).output.splitlines()) <= 80


def test_a_folder_that_is_no_job_ends_with_code_2_and_a_plain_line(tmp_path: Path) -> None:
    done = call("run", str(tmp_path))
    assert done.exit_code == 2
    assert "holds no brief.toml" in done.output
    assert "Traceback" not in done.output


def test_a_new_job_has_a_brief_that_parses_and_says_what_is_missing(tmp_path: Path) -> None:
    job = tmp_path / "job"
    assert call("new", str(job)).exit_code == 0
    done = call("run", str(job))
    assert done.exit_code == 2
    assert "no flight yet" in done.output


def test_new_never_overwrites(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("x")
    done = call("new", str(tmp_path))
    assert done.exit_code == 2
    assert "not empty" in done.output
    assert (tmp_path / "mine.txt").read_text() == "x"


def test_status_of_a_new_job_says_that_all_is_missing(tmp_path: Path) -> None:
    job = tmp_path / "job"
    call("new", str(job))
    done = call("status", str(job), "--json")
    assert done.exit_code == 0
    assert {s["state"] for s in json.loads(done.output)} == {"missing"}


def test_a_broken_brief_is_told_with_file_and_line(tmp_path: Path) -> None:
    job = tmp_path / "job"
    call("new", str(job))
    flight = job / "visits/2026-01-01/flights/one"
    (flight / "frames").mkdir(parents=True)
    (flight / "frames/a.png").write_bytes(b"")
    (flight / "flight.toml").write_text('[values]\nkind = "counts"\n[poses]\nsource = "none"\n')
    (job / "brief.toml").write_text('title = "x"\nsite = \n')
    done = call("check", str(job))
    assert done.exit_code == 2
    assert "brief.toml" in done.output
    assert "line 2" in done.output
