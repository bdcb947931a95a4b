"""``groundglow fit`` at the command line: one-line questions, checks of a kit, plain errors, 80 columns."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from groundglow.cli.main import app

PERSON = ("fit", "--target", "person", "--from", "80m", "--camera", "demo-640", "--lens", "l640-13")


def call(*arguments: str) -> Any:
    return CliRunner().invoke(app, list(arguments))


def test_a_one_line_question_is_answered_with_what_is_taken_for_granted() -> None:
    done = call(*PERSON)
    assert done.exit_code == 0
    for words in ("A person standing to be detected with 90 % from 80 m", "Yes.", "6.8 x 4.1", "place or date unknown"):
        assert words in done.stdout
    assert "never means that" in done.stdout


def test_what_cannot_be_seen_ends_with_code_1_and_the_reason() -> None:
    done = call("fit", "--target", "person", "--from", "300m", "--camera", "demo-640")
    assert done.exit_code == 1
    assert "No." in done.stdout
    assert "pixels: detecting with 90 % at 300 m takes" in done.stdout
    assert "it fails" not in done.stdout
    assert "would do" in done.stdout


def test_feet_are_read_and_shown() -> None:
    done = call("fit", "--target", "person", "--from", "260ft", "--camera", "demo-640", "--units", "ft")
    assert done.exit_code == 0
    assert "from 260 ft" in done.stdout


def test_json_holds_the_same_answer_and_nothing_else() -> None:
    found = json.loads(call(*PERSON, "--json").stdout)["questions"][0]
    assert found["fit_count"] == 1
    answer = found["fit"][0]
    assert answer["pixels"] == pytest.approx([0.5 * 13 / (80 * 0.012), 0.3 * 13 / (80 * 0.012)])
    assert answer["footprint_m"] == pytest.approx([640 * 0.012 / 13 * 80, 512 * 0.012 / 13 * 80])
    assert answer["probability"]["detect"] > 0.9 > answer["probability"]["recognise"]
    assert found["asked"]["sources"]["length_m"].endswith("common practice, no source")


def test_piped_output_has_no_colour_and_fits_80_columns() -> None:
    for arguments in (PERSON, ("fit", "--matrix"), ("fit", "--target", "clamp", "--from", "25m")):
        text = call(*arguments).stdout
        assert "\x1b" not in text
        assert max(len(line) for line in text.splitlines()) <= 80


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("fit",), "Nothing was asked"),
        (
            ("fit", "--target", "person", "--from", "80"),
            "--from: '80' has no unit; write for example '80 m' or '260 ft'",
        ),
        (("fit", "--target", "person", "--frame-rate", "9"), "--frame-rate: '9' has no unit"),
        (("fit", "--target", "person", "--along", "3"), "--along: '3' has no unit"),
        (("fit", "--target", "person", "--air-lowest", "3"), "--air-lowest: '3' has no unit"),
        (("fit", "--target", "person", "--nearest", "6km"), "nearest 6000 m is beyond 5000 m"),
        (("fit", "--target", "persn", "--from", "80m"), "did you mean 'person'"),
        (("fit", "--target", "person", "--from", "-80m"), "is below zero"),
        (("fit", "--target", "person", "--nearest", "90m", "--highest", "50m"), "limits contradict each other"),
        (("fit", "--target", "person", "--from", "80m", "--camera", "demo-64"), "did you mean 'demo-640'"),
        (
            ("fit", "--target", "person", "--from", "80m", "--camera", "demo-640", "--lens", "l640-8"),
            "does not fit camera",
        ),
        (("fit", "--target", "person", "--from", "80m", "--place", "0,0"), "lies in the sea"),
        (("fit", "--target", "person", "--from", "80m", "--place", "48"), "with a comma between"),
        (("fit", "--target", "person", "--from", "80m", "--place", "148,11"), "lat_deg"),
        (("fit", "--target", "person", "--task", "see", "--from", "80m"), "task"),
        (("fit", "--target", "person", "--from", "9km"), "5000 m"),
        (("fit", "--target", "wet-roof", "--from", "50m"), "say lon_deg, lat_deg and date"),
        (("fit", "--card"), "--card needs a kit"),
        (("fit", "--target", "person", "--from", "80m", "--units", "yd"), "allowed m or ft"),
    ],
)
def test_a_bad_question_ends_with_code_2_and_a_plain_line(arguments: tuple[str, ...], said: str) -> None:
    done = call(*arguments)
    assert done.exit_code == 2, done.output
    assert said in done.output
    assert "Traceback" not in done.output


def test_a_faulty_kit_file_is_told_fault_by_fault(tmp_path: Path) -> None:
    kit = tmp_path / "kit.toml"
    kit.write_text('[lens.x]\nname = "x"\nsource = "s"\nfocal_mm = -13\nf_number = 1\ntransmission = 0.9\nsize = 3\n')
    done = call("fit", "--check-kit", str(kit))
    assert done.exit_code == 2
    assert "lens.x.focal_mm: is -13 mm; allowed above 0" in done.output
    assert "'size' is not known" in done.output
    found = json.loads(call("fit", "--check-kit", str(kit), "--json").stdout)
    assert found["sound"] is False
    assert len(found["faults"]) == 2
    assert call("fit", "--target", "person", "--from", "80m", "--kit", str(kit)).exit_code == 2


BRIEF = 'title = "t"\n[site]\nname = "s"\n{site}\n[[fit]]\nname = "q"\ntarget = "clamp"\n{asked}\n'
LAND = """{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"name": "land"}, "geometry":
{"type": "Polygon", "coordinates": [[[12, 47], [14, 47], [14, 49], [12, 49], [12, 47]]]}}]}"""
HERE = "lon_deg = 11.5\nlat_deg = 48.1"


@pytest.mark.parametrize(
    ("site", "asked", "said"),
    [
        (
            "",
            'nearest = "80 m"\nhighest = "60 m"',
            "the limits contradict each other: nearest 80 m is above highest 60 m",
        ),
        ("", 'distance = "25"', "distance: '25' has no unit"),
        ("", "distance = 25", "distance: 25.0 has no unit"),
        ("lon_deg = 0.0\nlat_deg = 0.0", 'distance = "25 m"', "lies in the sea off Africa"),
        (HERE, 'distance = "25 m"\nland = "land.geojson"', "outside of the land that you gave: in the water"),
        ("", 'distanse = "25 m"', "did you mean distance?"),
    ],
)
def test_a_bad_brief_ends_with_code_2_and_says_in_which_file(tmp_path: Path, site: str, asked: str, said: str) -> None:
    (tmp_path / "land.geojson").write_text(LAND)
    brief = tmp_path / "brief.toml"
    brief.write_text(BRIEF.format(site=site, asked=asked))
    for named in (tmp_path, brief):
        done = call("fit", str(named))
        assert done.exit_code == 2, done.output
        assert said in done.output
        assert "brief.toml: " in done.output
        assert "Traceback" not in done.output


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        ("focal_mm = -13", "lens.x.focal_mm: is -13 mm; allowed above 0 to 1000 mm"),
        ("focal_mm = { value = 13, source = 's' }", "lens.x.focal_mm: unit is missing: write unit = 'mm'"),
    ],
)
def test_a_bad_kit_ends_with_code_2_wherever_it_is_named(tmp_path: Path, fault: str, said: str) -> None:
    kit = tmp_path / "kit.toml"
    kit.write_text(f'[lens.x]\nname = "x"\nsource = "s"\n{fault}\nf_number = 1\ntransmission = 0.9\n')
    for arguments in (("fit", "--check-kit", str(kit)), ("fit", "--matrix", "--kit", str(kit))):
        done = call(*arguments)
        assert done.exit_code == 2
        assert said in done.output


@pytest.mark.parametrize(
    "arguments",
    [
        ("--target", "clamp", "--task", "measure", "--accuracy", "5K", "--from", "25m"),
        ("--target", "fire", "--task", "measure", "--accuracy", "20K", "--from", "40m", "--area", "3ha"),
        ("--target", "person", "--from", "80m", "--camera", "demo-640", "--ground-height", "300m"),
        ("--matrix",),
        ("--card", "--camera", "demo-360-look"),
    ],
)  # fmt: skip
def test_feet_leave_no_metric_unit_behind(arguments: tuple[str, ...]) -> None:
    said = " ".join(call("fit", *arguments, "--units", "ft").stdout.split())
    assert " ft" in said or " oz" in said
    assert not re.search(r"\d (?:m|cm|m/s|m²|ha|km²?|°C|K|k?g)(?![\w/²])", said)


def test_the_commented_kit_of_a_new_job_is_sound(tmp_path: Path) -> None:
    call("new", str(tmp_path / "job"))
    assert call("fit", "--check-kit", str(tmp_path / "job" / "kit.toml")).exit_code == 0


def test_the_examples_in_the_commented_kit_are_sound_once_the_marks_are_off(tmp_path: Path) -> None:
    call("new", str(tmp_path / "job"))
    kit = tmp_path / "job" / "kit.toml"
    lines = kit.read_text().splitlines()
    kit.write_text(
        "\n".join(line[2:] if line.startswith("# ") and ("=" in line or "[" in line) else line for line in lines[4:])
    )
    done = call("fit", "--check-kit", str(kit))
    assert done.exit_code == 0, done.output
    assert "owned: my-camera + my-25 + demo-quad-work" in done.output


def test_the_matrix_gives_reasons() -> None:
    done = call("fit", "--matrix", "--wind", "3m/s")
    assert done.exit_code == 0
    assert "no: mount, needs a heavy gimbal; payload, 1420 g, lifts 300 g" in " ".join(done.stdout.split())


def test_a_brief_without_a_question_of_fit_says_so(tmp_path: Path) -> None:
    brief = tmp_path / "brief.toml"
    brief.write_text('title = "t"\n[site]\nname = "s"\n[[question]]\nname = "q"\n')
    done = call("fit", str(brief))
    assert done.exit_code == 2
    assert "asks nothing of fit" in done.output


def test_several_briefs_get_the_smallest_set_of_kits(tmp_path: Path) -> None:
    for name, block in {
        "a": 'target = "clamp"\ntask = "measure"\naccuracy = "5 K"\ndistance = "25 m"',
        "b": 'target = "person"\ndistance = "60 m"',
    }.items():
        text = f'title = "{name}"\n[site]\nname = "s"\n[[fit]]\nname = "{name}"\n{block}\n'
        (tmp_path / f"{name}.toml").write_text(text)
    done = call("fit", str(tmp_path / "a.toml"), str(tmp_path / "b.toml"), "--json")
    assert done.exit_code == 0
    found = json.loads(done.stdout)["smallest_set"]
    assert len(found["kits"]) == 1
    assert set(found["serves"]) == {"a", "b"}
    assert found["smallest"] is True
