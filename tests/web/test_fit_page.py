"""Can it be seen: no plain yes above the brief's limit, nothing left of a refused question, every kit, own targets."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pypdfium2
import pytest
from playwright.sync_api import expect
from tests.web.conftest import Visitor
from tests.web.web_jobs import make_job, serving

KIT = """
[camera.van-640]
name = "The camera in the van"
source = "data sheet, 2026"
detector = "array-640"
lenses = ["l640-13"]
records = ["raw frames"]
rating = "IP54"
mount = "work gimbal"
netd_mk = 50
frame_rates_hz = [9, 30]
ranges_c = [[-20, 150]]
accuracy_k = 3
pattern_k = 0.15
drift_k = 0.4
mass_g = 320
"""
DESCRIBED = {"length": "0.4 m", "width": "0.4 m", "height": "0 m", "material": "water", "rise": "6 K", "task": "detect"}


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("shelf")


@pytest.fixture(scope="module")
def client(shelf: Path) -> Iterator[httpx.Client]:
    make_job(shelf / "mill", 1)  # its brief allows 60 m
    with serving(shelf) as (client, _):
        yield client


def test_above_the_briefs_limit_the_answer_says_so(client: httpx.Client) -> None:
    def over(distance: str, **more: object) -> str:
        said = {"question": {"target": "person", "distance": distance, **more}, "job": "mill", "top": 1}
        answer = client.post("/api/fit/try", json=said)
        assert answer.status_code == 200, answer.text
        words: str = answer.json()["over_limit"]
        return words

    assert over("75 m") == "75 m is above the 60 m that the brief allows"
    assert over("60 m") == ""
    assert over("75 m", view="side") == "", "a distance to the side is no height"
    assert over("75 m", highest="80 m") == "", "the question allows it itself"
    assert client.get("/api/jobs/mill/fit").json()["highest_m"] == 60.0


def test_the_clients_sheet_too_says_that_it_is_above_the_limit(client: httpx.Client) -> None:
    for distance, there in (("75 m", True), ("50 m", False)):
        said = {"question": {"target": "person", "distance": distance}, "job": "mill"}
        pages = pypdfium2.PdfDocument(client.post("/api/fit/sheet.pdf", json=said).content)
        text = " ".join(" ".join(page.get_textpage().get_text_bounded() for page in pages).split())
        assert ("75 m is above the 60 m that the brief allows" in text) is there


def test_a_target_is_described_and_every_kit_that_would_do_can_be_had(client: httpx.Client) -> None:
    said = {"question": DESCRIBED, "job": "mill", "top": 100}
    found = client.post("/api/fit/try", json=said).json()
    assert found["asked"]["target_m"] == [0.4, 0.4, 0.0]
    assert len(found["fit"]) == min(found["fit_count"], 100)


def test_ones_own_kit_is_listed_and_has_its_limits_card(client: httpx.Client, shelf: Path) -> None:
    (make_job(shelf / "van", 1) / "kit.toml").write_text(KIT, "utf-8")
    for job, there in (("van", True), ("mill", False)):
        kit = client.get("/api/kit", params={"job": job}).json()
        assert ("van-640" in [c["id"] for c in kit["cameras"]]) is there
        said = {"camera": "van-640", "lens": "l640-13", "job": job}
        assert client.post("/api/fit/card", json=said).status_code == (200 if there else 422)
    assert client.get("/api/kit", params={"job": "nope"}).status_code == 404


def test_the_pages_say_above_the_limit_drop_a_refused_answer_and_show_more(newcomer: Visitor, jobs: Path) -> None:
    make_job(jobs / "mill", 1)
    page = newcomer.go("/jobs/mill/can-it-be-seen")
    expect(page.locator("#answer")).to_contain_text("Yes: ")
    shown = page.locator("#kits .kit")
    expect(shown).to_have_count(8)
    page.get_by_role("button", name="more of the").click()
    expect(shown).not_to_have_count(8)
    assert shown.count() == int(page.locator("#answer").inner_text().split(" with ")[1].split(" of ")[0])
    page.get_by_role("slider", name="Distance").fill("80")
    expect(page.locator("#answer")).to_contain_text("Not within the limits: 80 m is above the 60 m")
    expect(page.locator(".slider output").first).to_contain_text("the limit is 60 m")
    page.get_by_label("With a probability of").fill("abc")
    page.get_by_label("With a probability of").press("Tab")
    expect(page.locator("#ask-wrong")).to_contain_text("probability")
    expect(page.locator("#answer")).to_contain_text("Not answered")
    expect(page.locator("#kits")).to_be_hidden()
    newcomer.said.clear()  # the browser notes the refusal
    page.get_by_label("With a probability of").fill("90 %")
    page.get_by_label("Target").select_option(label="one described below")
    page.get_by_label("Length").fill("0.5 m")
    page.get_by_label("Made of").select_option("water")
    expect(page.locator("#kits")).to_be_visible()
    expect(page.locator("#ask-wrong")).to_be_empty()


def test_a_new_job_describes_its_target(newcomer: Visitor, jobs: Path) -> None:
    page = newcomer.go("/new")
    page.get_by_label("Title").fill("Seep at the bank")
    page.get_by_label("Name of the site").fill("Bank (invented)")
    page.get_by_label("Call it").fill("Seep")
    page.get_by_label("Target").select_option(label="one described here")
    page.get_by_label("Length").fill("0.5 m")
    page.get_by_label("Made of").select_option("water")
    page.get_by_label("It is", exact=True).last.select_option("temperature")
    page.get_by_label("So much").fill("9 C")
    page.get_by_role("button", name="Begin the job").click()
    page.wait_for_url("**/jobs/seep-at-the-bank")
    brief = (jobs / "seep-at-the-bank" / "brief.toml").read_text("utf-8")
    assert 'material = "water"' in brief
    assert 'temperature = "9 C"' in brief
    assert "rise" not in brief
