"""Five people ask what can be seen, and each leaves with a sheet of two pages."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from tests.journeys.conftest import groundglow
from typer.testing import CliRunner

from groundglow.cli.main import app


def ask(*arguments: str, code: int = 0) -> Any:
    """The command in this process: what it printed, after its exit code was looked at."""
    done = CliRunner().invoke(app, ["fit", *arguments])
    assert done.exit_code == code, done.output
    return done


def written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def pages(path: Path) -> list[str]:
    """Text of each page of a PDF, in one line."""
    with pypdfium2.PdfDocument(path) as document:
        return [" ".join(page.get_textpage().get_text_bounded().split()) for page in document]


def answers(job: Path, number: int = 1) -> dict[str, Any]:
    return json.loads((job / "out" / "fit" / f"fit-{number}.json").read_text())


def sheet(job: Path, number: int = 1) -> str:
    """Text of a job's sheet, which has two pages."""
    found = pages(job / "out" / "fit" / f"sheet-{number}.pdf")
    assert len(found) == 2
    return " ".join(found)


CLAMPS = """
title = "Clamps of the valley line"
client = "An invented grid"
asked_on = "2026-04-20"
[site]
name = "Valley line"
lon_deg = 11.5
lat_deg = 48.1
[limits]
live_parts = true
[[fit]]
name = "clamps"
target = "clamp"
task = "measure"
accuracy = "5 K"
distance = "25 m"
date = "2026-05-02"
"""


@pytest.fixture(scope="module")
def utility(tmp_path_factory: pytest.TempPathFactory) -> Path:
    job = tmp_path_factory.mktemp("utility")
    written(job, "brief.toml", CLAMPS)
    return job


def test_a_utility_asks_for_a_clamp_from_25_m(utility: Path) -> None:
    done = groundglow("fit", str(utility))
    found = answers(utility)
    assert found["fit"]
    for answer in found["fit"]:
        assert answer["distance_m"] == 25.0
        assert answer["interval_k"] <= 5.0
        assert answer["reach_m"]["measure"] >= 25.0
        assert answer["pixels"][1] >= 3.0
    assert {"hover", "pixels", "mount"} <= {r["kind"] for a in found["unfit"] for r in a["reasons"]}
    assert "licensed persons" in done.stdout
    text = sheet(utility)
    for words in ("clamp", "25 m", "licensed persons", found["fit"][0]["camera"]):
        assert words in text or words.startswith("demo-")


def test_asking_again_changes_nothing_and_does_nothing(utility: Path) -> None:
    ask(str(utility))
    before = {p.name: p.read_bytes() for p in (utility / "out" / "fit").iterdir()}
    ask(str(utility))
    assert {p.name: p.read_bytes() for p in (utility / "out" / "fit").iterdir()} == before
    status = CliRunner().invoke(app, ["status", str(utility)]).stdout
    assert "Can it be seen?" in status
    assert "done" in status
    whole = CliRunner().invoke(app, ["run", str(utility), "--workers", "1"])
    assert whole.exit_code == 0, whole.output
    assert "up to date" in whole.output


def test_the_command_line_and_the_job_give_the_same_answer(utility: Path) -> None:
    ask(str(utility))
    line = ask("--target", "clamp", "--task", "measure", "--accuracy", "5K", "--from", "25m", "--place", "48.1,11.5",
        "--date", "2026-05-02", "--live-parts", "--json", "--top", "1000",
    )  # fmt: skip
    asked = json.loads(line.stdout)["questions"][0]
    assert asked["fit"] == answers(utility)["fit"]


def test_a_rescue_team_asks_for_a_person_in_a_field_at_night(tmp_path: Path) -> None:
    out = tmp_path / "rescue.pdf"
    done = ask("--target", "casualty", "--area", "40ha", "--place", "47.2,9.8", "--date", "2026-10-03", "--hour", "22",
        "--air-lowest", "3C", "--air-highest", "13C", "--people-near", "--sheet", str(out), "--json",
    )  # fmt: skip
    found = json.loads(done.stdout)["questions"][0]
    best = found["fit"][0]
    assert best["probability"]["detect"] >= 0.9
    assert best["hours"][22]
    assert not best["hours"][13]
    assert best["effort"]["unit"] == "m2"
    assert best["effort"]["flights"] * best["effort"]["per_battery"] >= 40e4
    assert any("nobody is there" in c for c in found["cautions"])
    assert any("People are near" in c for c in found["cautions"])
    text = pages(out)
    assert len(text) == 2
    assert "nobody is there" in " ".join(text)


OUTLINE = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {"name": "park"},
            "geometry": {
                "type": "Polygon",
                "coordinates": [[[7.0, 44.0], [7.003, 44.0], [7.003, 44.002], [7.0, 44.002], [7.0, 44.0]]],
            },
        }
    ],
}


def test_a_solar_owner_asks_for_cells(tmp_path: Path) -> None:
    written(tmp_path, "park.geojson", json.dumps(OUTLINE))
    text = """
title = "Cells of the park"
[site]
name = "Sun park"
outline = "park.geojson"
[[fit]]
name = "hot cells"
target = "cell"
task = "measure"
accuracy = "2 K"
date = "2026-07-01"
cloud = "10 %"
"""
    written(tmp_path, "brief.toml", text)
    ask(str(tmp_path))
    found = answers(tmp_path)
    assert found["asked"]["work"]["shape"] == "area"
    best = found["fit"][0]
    assert best["hours"][12]
    assert not any(best["hours"][h] for h in (0, 1, 2, 3, 22, 23))
    assert best["pixels"][1] >= 3.0
    assert best["effort"]["flights"] >= 1
    assert "Roofs" in sheet(tmp_path)


def test_a_buyer_abroad_has_a_frame_rate_limit(tmp_path: Path) -> None:
    text = """
title = "A camera to take along"
[site]
name = "Somewhere"
[[fit]]
name = "cattle"
target = "cattle"
distance = "60 m"
air_lowest = "2 C"
air_highest = "12 C"
highest_frame_rate = "9 Hz"
bought_in = "Northland"
used_in = "Southland"
end_user = "a farmer"
end_use = "counting cattle"
temporary = true
"""
    written(tmp_path, "brief.toml", text)
    table = '[[row]]\nfrom = "Northland"\nto = "Southland"\noutcome = "no"\nsource = "own note"\ndate = 2026-01-01\n'
    written(tmp_path, "place_of_use.toml", table)
    ask(str(tmp_path))
    found = answers(tmp_path)
    assert found["fit"]
    assert all(a["frame_rate_hz"] <= 9 for a in found["fit"])
    assert all("your table says no" in " ".join(a["place_of_use"]) for a in found["fit"])
    too_fast = [a for a in found["unfit"] if a["camera"] == "demo-960-far"]
    assert too_fast
    assert all("frame rate" in {r["kind"] for r in a["reasons"]} for a in too_fast)
    assert not any("place" in r["kind"] for a in found["unfit"] for r in a["reasons"])
    text = sheet(tmp_path)
    assert "competent authority" in text


def test_an_owner_of_one_kit_asks_what_it_can_do_and_what_the_next_one_buys(tmp_path: Path) -> None:
    owned = '[[owned]]\ncamera = "demo-360-read"\nlens = "l360-10"\naircraft = "demo-quad-small"\n'
    kit = written(tmp_path, "kit.toml", owned)
    card = json.loads(ask("--card", "--kit", str(kit), "--json").stdout)["cards"][0]
    reach = {(row["target"], row["task"]): row["reach_m"] for row in card["rows"]}
    assert reach["person-lying", "detect"]["night, dry"] > reach["person-lying", "identify"]["night, dry"] > 0
    assert reach["photovoltaic-cell", "detect"]["night, dry"] == 0
    out = tmp_path / "owner.pdf"
    asked = ask("--target", "cell", "--task", "measure", "--accuracy", "2K", "--area", "2ha", "--place", "44,7",
        "--date", "2026-07-01", "--kit", str(kit), "--sheet", str(out), "--json",
    )  # fmt: skip
    steps = json.loads(asked.stdout)["questions"][0]["upgrades"]
    assert steps
    assert all(s["owned"].startswith("demo-360-read") and s["gain"] > 1.0 for s in steps)
    assert len(pages(out)) == 2


def test_a_brief_in_the_sea_is_refused_with_a_plain_line(tmp_path: Path) -> None:
    written(
        tmp_path,
        "brief.toml",
        CLAMPS.replace("lon_deg = 11.5", "lon_deg = 0.0").replace("lat_deg = 48.1", "lat_deg = 0.0"),
    )
    done = ask(str(tmp_path), code=2)
    assert "lies in the sea" in done.stderr
    assert "Traceback" not in done.stderr
