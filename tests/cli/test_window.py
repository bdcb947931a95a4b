"""``groundglow window``: pairs listed, one question, a job's questions, exit codes."""

import json

import pytest
from typer.testing import CliRunner

from groundglow.cli.main import app

DAY = ["--date", "2026-05-26", "--air-lowest", "9C", "--air-highest", "22C", "--wind", "2m/s", "--cloud", "10%"]
PLACE = ["--place", "47,8"]


def _run(*words):
    return CliRunner().invoke(app, ["window", *words])


def test_without_a_name_the_pairs_are_listed():
    assert "wet-on-dry-roof" in _run().stdout


def test_one_line_answers_within_80_columns(tmp_path):
    chart = tmp_path / "day.png"
    done = _run("roof", *PLACE, *DAY, "--level", "mine=2K", "--chart", str(chart))
    assert done.exit_code == 0
    assert max(len(line) for line in done.stdout.splitlines()) <= 80
    assert "crossover" in done.stdout
    assert "mine" in done.stdout
    assert chart.read_bytes().startswith(b"\x89PNG")


def test_json_has_windows_hours_and_levels_and_no_window_is_exit_code_one():
    done = _run("module", *PLACE, *DAY, "--rule", "most_wind_m_s=1", "--json")
    assert done.exit_code == 1
    found = json.loads(done.stdout)["questions"][0]
    assert found["windows"] == []
    assert len({hour["start"] for hour in found["hours"]}) == len(found["hours"]) >= 23
    assert any("wind 2.0 m/s; at most 1 m/s" in hour["closed_by"] for hour in found["hours"])


@pytest.mark.parametrize(
    ("words", "told"),
    [(["ghost"], "not known"), (["roof", *DAY], "place"), (["roof", *PLACE], "day"),
     (["roof", *PLACE, *DAY, "--wind", "3"], "unit"), (["roof", *PLACE, *DAY, "--rule", "x"], "NAME=VALUE")],
)  # fmt: skip
def test_what_cannot_be_read_is_said_with_exit_code_two(words, told):
    done = _run(*words)
    assert done.exit_code == 2
    assert told in done.output


def test_a_job_is_answered_for_the_pairs_of_its_brief(tmp_path):
    (tmp_path / "brief.toml").write_text(
        'title = "hall"\n[site]\nname = "hall"\nlat_deg = 47.0\nlon_deg = 8.0\n'
        '[[fit]]\ntarget = "wet-roof-patch"\ndate = "2026-05-26"\nair_lowest = "9 C"\nair_highest = "22 C"\n'
        'wind = "2 m/s"\n'
    )
    done = _run(str(tmp_path), "--cloud", "10%", "--json")
    assert done.exit_code == 0
    assert json.loads(done.stdout)["questions"][0]["pair"] == "wet-on-dry-roof"
