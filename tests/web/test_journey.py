"""A person's way through the page: opens a finished job and answers each question; asks, reads, decides, takes away."""

from __future__ import annotations

import json
import re
from pathlib import Path

from playwright.sync_api import expect
from tests.web.conftest import Visitor

HOME = "/jobs/sallowmere"
SLUGS = (
    "can-it-be-seen", "how-and-when-do-we-fly", "did-we-get-it", "how-hot", "what-is-wrong", "what-do-we-tell-them",
)  # fmt: skip


def test_a_newcomer_opens_the_job_and_answers_each_question(newcomer: Visitor) -> None:
    page = newcomer.go("/")
    page.get_by_role("link", name=re.compile("Sallowmere")).click()
    expect(page.locator("#brief")).to_contain_text("show hot cells")
    expect(page.locator(".state[data-state=done]")).to_have_count(6)
    page.get_by_role("link", name="Can it be seen?").click()
    expect(page.locator("#answer")).to_contain_text(re.compile(r"^Yes: .* with \d+ of \d+ kits"))
    said = {
        "next": "lines at",
        "check": "every frame can be used",
        "measure": "measured, tied and levelled",
        "find": "depart from their surroundings",
        "report": "A report of",
    }
    for words in said.values():
        page.locator("a[rel=next]").click()
        expect(page.locator("#answer")).to_contain_text(words)
    page.get_by_role("link", name="The whole story").click()
    expect(page.locator("h1")).to_contain_text("Sallowmere")


def test_a_site_is_drawn_and_a_kit_is_ranked(newcomer: Visitor, jobs: Path) -> None:
    page = newcomer.go("/new")
    page.get_by_label("Title").fill("Warm joints at Reedholm yard (invented)")
    page.get_by_label("Name of the site").fill("Reedholm yard (invented)")
    page.get_by_label("Latitude, degrees").fill("47.31")
    page.get_by_label("Longitude, degrees").fill("20.93")
    page.get_by_label("Call it").fill("Warm joints")
    page.get_by_label("Smallest").fill("-1")
    expect(page.locator("#smallest-wrong")).to_contain_text("greater than 0")
    page.get_by_label("Smallest").fill("0.2")
    expect(page.locator("#smallest-wrong")).to_have_count(0)
    ground = page.locator("#map canvas")
    for at in ((300, 100), (600, 100), (600, 300), (300, 300)):
        ground.click(position={"x": at[0], "y": at[1]})
    expect(page.locator(".corner")).to_have_count(4)
    expect(page.locator("#area")).to_contain_text(" ha")
    page.get_by_label("Target").select_option(label="a cable clamp")
    page.get_by_label("Task").select_option("measure")
    page.get_by_label("Temperature to within").fill("8")
    page.get_by_label("Day of the flight").fill("2026-05-02")
    expect(page.locator("#sentence")).to_contain_text("Reedholm yard")
    page.get_by_role("button", name="Begin the job").click()
    expect(page).to_have_url(re.compile("/jobs/warm-joints-at-reedholm-yard"))
    made = next(p for p in jobs.iterdir() if p.name.startswith("warm-joints"))
    assert len(json.loads((made / "site.geojson").read_text())["features"]) == 1
    page.get_by_role("link", name="Can it be seen?").click()
    expect(page.locator("#kits .kit").first).to_contain_text("1. ")
    first = page.locator("#answer").inner_text()
    page.get_by_role("slider", name="Distance").fill("10")
    expect(page.locator("#answer")).not_to_have_text(first)
    expect(page.locator("#views")).to_be_visible()


def test_emissivity_is_moved_and_the_reading_of_a_finding_changes(newcomer: Visitor) -> None:
    page = newcomer.go(f"{HOME}/what-is-wrong")
    page.get_by_role("table").get_by_label("Finding 1", exact=True).click()
    page.get_by_role("link", name=re.compile("Read it in")).click()
    row = page.locator("#readings tbody tr").first
    expect(row).to_contain_text("finding 1")
    expect(row).to_contain_text("detected only")
    before = float(row.locator("td.number").first.inner_text().split()[0])
    expect(page.locator("#over .found")).not_to_have_count(0)
    page.get_by_role("slider", name="Emissivity").fill("0.7")
    expect(page.locator("#tried")).to_contain_text("as tried")
    expect(row).to_contain_text("about")
    about = float(row.locator("td.number").first.inner_text().split()[1])
    expect(row).not_to_contain_text("about")
    told = float(row.locator("td.number").first.inner_text().split()[0])
    assert abs(told - before) > 3.0
    assert abs(told - about) < 0.15 * abs(told - before) + 0.3
    page.get_by_role("button", name="Copy a link").click()
    expect(page).to_have_url(re.compile("emissivity=0.7"))
    page.reload()
    expect(row).to_contain_text("finding 1")
    expect(row).not_to_contain_text("about")
    assert float(row.locator("td.number").first.inner_text().split()[0]) == told


def test_a_finding_is_reviewed_and_the_report_is_downloaded(newcomer: Visitor, jobs: Path) -> None:
    page = newcomer.go(f"{HOME}/what-is-wrong")
    page.get_by_role("table").get_by_label("Finding 2", exact=True).click()
    page.get_by_role("button", name="Accept", exact=True).click()
    expect(page.locator("#decided")).to_contain_text("Say your name first")
    page.get_by_label("Your name").fill("A. Example")
    page.get_by_label("Note", exact=True).fill("Seen on site; to be opened by the operator.")
    page.get_by_role("button", name="Accept", exact=True).click()
    expect(page.locator("#decided")).to_contain_text("accepted")
    page.get_by_label("Grade").select_option("watch")
    page.get_by_role("button", name="Keep the grade").click()
    expect(page.locator("tr.chosen")).to_contain_text("accepted, watch")
    page.locator("#history").get_by_role("button", name="undo").last.click()
    expect(page.locator("tr.chosen")).not_to_contain_text("watch")
    written = (jobs / "sallowmere" / "findings.review.csv").read_text("utf-8")
    assert "A. Example" in written
    assert "accept" in written
    page.locator("a[rel=next]").click()
    page.get_by_role("button", name=re.compile("Make it again")).click()
    expect(page.locator("#making")).to_contain_text("Done.", timeout=60_000)
    with page.expect_download() as waiting:
        page.get_by_role("link", name="report.pdf").click()
    assert Path(waiting.value.path()).read_bytes()[:5] == b"%PDF-"
    first = page.get_by_alt_text("Page 1 of the report; the PDF holds its text")
    first.scroll_into_view_if_needed()
    expect(first).to_be_visible()


def test_an_option_of_the_report_is_changed_and_the_pages_follow(newcomer: Visitor, jobs: Path) -> None:
    page = newcomer.go(f"{HOME}/what-do-we-tell-them")
    expect(page.locator("#answer")).to_contain_text("A report of")
    pages = page.locator("#pages img")
    before, first = pages.count(), pages.first.get_attribute("src")
    page.get_by_label("Reference number").fill("R-17")
    expect(page.locator("#kept")).to_contain_text("the pages below are new")
    page.get_by_label("a part for each finding").uncheck()
    expect(pages).not_to_have_count(before)
    assert pages.count() < before
    expect(pages.first).not_to_have_attribute("src", first or "")
    expect(page.locator("#kept")).to_contain_text("the pages below are new")
    assert 'reference = "R-17"' in (jobs / "sallowmere" / "report.toml").read_text("utf-8")
    page.reload()
    expect(page.get_by_label("Reference number")).to_have_value("R-17")
    expect(page.get_by_label("a part for each finding")).not_to_be_checked()


def test_a_page_asks_once_for_what_its_head_names(newcomer: Visitor) -> None:
    """The browser fetches the first data beside the scripts; named wrongly it would be fetched in vain, or twice."""
    page = newcomer.page
    for slug in ("", *(f"/{s}" for s in SLUGS)):
        asked: list[str] = []
        page.on("request", lambda r, kept=asked: kept.append(r.url))
        page.goto(f"{newcomer.base}{HOME}{slug}")
        expect(page.locator("#answer, #brief").first).not_to_have_text("…")
        page.wait_for_load_state("networkidle")
        named = page.evaluate("[...document.querySelectorAll('link[rel=preload]')].map((l) => l.href)")
        assert named, slug
        used = page.evaluate("performance.getEntriesByType('resource').map((e) => e.name)")
        assert {n: used.count(n) for n in named} == dict.fromkeys(named, 1), slug
        assert all(asked.count(n) == 1 for n in named), slug
