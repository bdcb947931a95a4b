"""How and when do we fly: handles of what the shown plan flies; a tried plan can be had itself."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import expect
from tests.web.conftest import Visitor
from tests.web.web_jobs import SITE, make_job, serving

ASKED = """
[[plan]]
name = "the whole"
over = "flights.geojson"
zone = "whole"
camera = "demo-640"
aircraft = "demo-quad-work"
sampling = "10 cm"
"""
SQUARE = [[20.9, 47.3], [20.9, 47.302], [20.903, 47.302], [20.903, 47.3], [20.9, 47.3]]


def feature(name: str, use: str, geometry: dict[str, Any]) -> dict[str, Any]:
    return {"type": "Feature", "properties": {"name": name, "use": use}, "geometry": geometry}


FLIGHTS = {
    "type": "FeatureCollection",
    "features": [
        feature("part", "survey", {"type": "Polygon", "coordinates": SITE["features"][0]["geometry"]["coordinates"]}),  # type: ignore[index]
        feature("whole", "survey", {"type": "Polygon", "coordinates": [SQUARE]}),
        feature("track", "take-off", {"type": "Point", "coordinates": [20.9, 47.3]}),
    ],
}


def planned(folder: Path) -> Path:
    """A job that asks for a plan over a file of its own."""
    make_job(folder, 1)
    brief = folder / "brief.toml"
    brief.write_text(brief.read_text("utf-8").replace("[limits]", f"{ASKED}\n[limits]"), "utf-8")
    (folder / "flights.geojson").write_text(json.dumps(FLIGHTS), "utf-8")
    return folder


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("shelf")


@pytest.fixture(scope="module")
def client(shelf: Path) -> Iterator[httpx.Client]:
    planned(shelf / "yard")
    with serving(shelf) as (client, _):
        yield client


def test_a_plan_tells_what_it_flies_over(client: httpx.Client, shelf: Path) -> None:
    (plan,) = client.get("/api/jobs/yard/plan").json()["plans"]
    assert [f["properties"]["name"] for f in plan["site"]["features"]] == ["part", "whole", "track"]
    for number, over in enumerate(("../../secret.geojson", "none.geojson", ".", "brief.toml")):
        job = planned(shelf / f"odd{number}")
        brief = job / "brief.toml"
        brief.write_text(brief.read_text("utf-8").replace("flights.geojson", over), "utf-8")
        answer = client.get(f"/api/jobs/odd{number}/plan")
        assert answer.status_code == 200, answer.text
        assert answer.json()["plans"][0]["site"] is None


def test_files_of_a_tried_plan_are_of_that_plan(client: httpx.Client, shelf: Path) -> None:
    question = client.get("/api/jobs/yard/plan").json()["plans"][0]["question"] | {"name": "tried"}
    said = {"question": question, "job": "yard"}
    shown = client.post("/api/plan/try", json=said).json()
    had = client.post("/api/plan/try/plan-tried.geojson", json=said)
    assert had.status_code == 200, had.text
    assert had.json()["features"] == shown["lines"]["features"]
    kml = client.post("/api/plan/try/plan-tried.kml", json=said).text
    assert "opengis.net/kml/2.2" in kml
    rows = client.post("/api/plan/try/waypoints-tried.csv", json=said).text.splitlines()
    assert len(rows) > 2 * len(shown["plan"]["lines"])
    card = client.post("/api/plan/try/card-tried.pdf", json=said)
    assert card.content[:5] == b"%PDF-"
    finer = client.post("/api/plan/try/plan-tried.json", json=said | {"question": question | {"sampling": "3 cm"}})
    assert finer.json()["sampling_m"] == pytest.approx(0.03, rel=1e-6)
    assert shown["plan"]["sampling_m"] > 0.03
    unknown = client.post("/api/plan/try/plan-tried.exe", json=said)
    assert unknown.status_code == 404
    assert "plan-tried.kml" in unknown.json()["error"]["message"]
    assert not list((shelf / "yard" / "out").glob("plan*")), "nothing was written into the job"


def test_a_dragged_corner_tries_the_plans_own_area_and_its_files_can_be_had(newcomer: Visitor, jobs: Path) -> None:
    planned(jobs / "yard")
    page = newcomer.go("/jobs/yard/how-and-when-do-we-fly")
    page.get_by_role("button", name="Make the plans of the brief").click()
    expect(page.locator("#files")).to_contain_text("card-1.pdf")
    expect(page.locator(".corner")).to_have_count(4)
    expect(page.get_by_role("button", name="Make the plans of the brief")).to_have_count(0)
    page.get_by_text("Corners in numbers").click()
    assert "20.9030000" in page.get_by_label("Latitude, longitude; one corner a line").input_value(), "the whole"
    own = page.locator("#answer").inner_text()
    page.locator(".corner").nth(2).press("ArrowUp")
    expect(page.locator("#answer")).to_contain_text("Tried here, not kept:")
    assert own.split(" lines")[0] == page.locator("#answer").inner_text().split(": ")[1].split(" lines")[0]
    expect(page.locator("#files-part h3")).to_have_text("Files of the plan as the job has it")
    with page.expect_download() as waiting:
        page.locator("#tried").get_by_role("button", name="KML").click()
    assert "the whole (tried)" in Path(waiting.value.path()).read_text("utf-8")
    page.get_by_role("button", name="Back to the plan as the job has it").click()
    expect(page.locator("#answer")).to_have_text(own)
    expect(page.locator("#tried")).to_be_empty()
