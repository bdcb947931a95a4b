"""What is wrong, and where? What the page and its routes say of words, decisions, links and what is not shown."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, Page, expect
from tests.web.conftest import visitor
from tests.web.web_jobs import make_job, serving

URL = "/api/jobs/mill/findings"
PAGE = "/jobs/mill/what-is-wrong"


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("find")
    make_job(root / "mill", 9)
    make_job(root / "many", 1300)
    return root


@pytest.fixture(scope="module")
def client(root: Path) -> Iterator[httpx.Client]:
    with serving(root) as (client, _):
        yield client


@pytest.fixture
def page(browser: Browser, client: httpx.Client) -> Iterator[Page]:
    somebody = visitor(browser, str(client.base_url).rstrip("/"))
    somebody.page.goto(somebody.base + "/")
    yield somebody.page
    assert not [s for s in somebody.said if "Failed to load resource" not in s], "frames of these jobs are invented"
    somebody.page.context.close()


def opened(page: Page, client: httpx.Client, path: str) -> Page:
    page.goto("about:blank")
    page.goto(str(client.base_url).rstrip("/") + path)
    return page


def decide(client: httpx.Client, number: int, **said: Any) -> httpx.Response:
    return client.post(f"{URL}/{number:08x}/decisions", json={"by": "B. Example", **said})


def message(answer: httpx.Response, status: int) -> str:
    assert answer.status_code == status, answer.text
    told: str = answer.json()["error"]["message"]
    return told


@pytest.mark.parametrize(
    ("asked", "allowed"),
    [
        ({"grade": "huge"}, "act at once, plan a repair, watch, no action"),
        ({"status": "lost"}, "found, unconfirmed, dismissed"),
        ({"decision": "open,maybe"}, "open, accepted, rejected"),
        ({"support": "somewhat"}, "supported"),
        ({"bbox": "nan,47,21,48"}, "allowed -360 to 360"),
        ({"bbox": "20,47,inf,48"}, "allowed -360 to 360"),
    ],
)
def test_what_can_never_match_is_refused_with_what_is_allowed(
    client: httpx.Client, asked: dict[str, str], allowed: str
) -> None:
    for url in (URL, f"{URL}.geojson"):
        told = message(client.get(url, params=asked), 422)
        assert next(iter(asked)) in told
        assert allowed in told


def test_a_finding_is_had_by_its_number(client: httpx.Client) -> None:
    found = client.get("/api/jobs/many/findings", params={"number": 1234}).json()
    assert [f["number"] for f in found["items"]] == [1234]
    assert client.get("/api/jobs/many/findings", params={"number": 1301}).json()["total"] == 0


def test_who_decides_on_an_outdated_view_is_told_who_decided_what_meanwhile(client: httpx.Client, root: Path) -> None:
    assert decide(client, 1, action="accept", seen=0).status_code == 201
    assert decide(client, 1, action="regrade", value="watch", seen=1).status_code == 201
    before = (root / "mill" / "findings.review.csv").read_bytes()
    late = message(decide(client, 1, action="reject", by="A. Example", seen=1), 409)
    assert "B. Example graded it “watch”" in late
    assert "accepted" not in late, "what was seen is not told again"
    undo = client.post("/api/jobs/mill/decisions/1/undo", json={"by": "A. Example", "seen": 1})
    assert "B. Example graded it" in message(undo, 409)
    assert (root / "mill" / "findings.review.csv").read_bytes() == before
    assert decide(client, 2, action="accept", seen=0).status_code == 201, "decisions about others do not count"
    assert decide(client, 1, action="note", value="left out: as ever").status_code == 201
    assert decide(client, 1, action="note", value="seen", seen=3).status_code == 201
    assert "seen" in message(decide(client, 1, action="accept", seen=-1), 422)


def test_a_persons_words_stand_in_the_table_and_title_with_the_machines_beside_them(
    client: httpx.Client, page: Page
) -> None:
    opened(page, client, f"{PAGE}#3")
    page.get_by_label("Your name").fill("A. Example")
    page.get_by_label("In your words").fill("Loose ridge tile")
    page.get_by_role("button", name="Keep the words").click()
    expect(page.locator("#decided")).to_contain_text("reworded")
    expect(page.locator("#one-title")).to_contain_text("3. Loose ridge tile: ")
    expect(page.locator("#detail")).to_contain_text("Vents")
    expect(page.locator("tr.chosen")).to_contain_text("Loose ridge tile")
    expect(page.locator("tr.chosen")).to_contain_text("looked for: Vents")
    expect(page.locator("#map .ring[aria-label='Finding 3, Loose ridge tile']")).to_have_count(1)
    expect(page.locator("#map [aria-label='Map marker']")).to_have_count(0)


def test_a_late_decision_is_refused_beside_the_buttons_and_what_was_typed_stays(
    client: httpx.Client, page: Page
) -> None:
    opened(page, client, f"{PAGE}#6")
    page.get_by_label("Your name").fill("A. Example")
    page.get_by_label("Note", exact=True).fill("a bird")
    assert decide(client, 6, action="accept").status_code == 201
    page.get_by_role("button", name="Reject", exact=True).click()
    expect(page.locator("#review [role=alert]")).to_contain_text("B. Example accepted it")
    expect(page.locator("#history")).to_contain_text("B. Example accepted")
    expect(page.get_by_label("Note", exact=True)).to_have_value("a bird")
    expect(page.locator("#fault")).to_be_empty()
    page.get_by_role("button", name="Reject", exact=True).click()
    expect(page.locator("#decided")).to_contain_text("rejected")
    expect(page.locator("#review [role=alert]")).to_be_empty()
    expect(page.locator("#history")).to_contain_text("A. Example rejected: a bird")


def test_no_grade_can_be_kept_and_what_is_undone_is_named(client: httpx.Client, page: Page) -> None:
    opened(page, client, f"{PAGE}#9")
    page.get_by_label("Your name").fill("A. Example")
    page.get_by_role("button", name="Keep the grade").click()
    expect(page.locator("#decided")).to_contain_text("no grade to take back")
    for grade in ("watch", "plan a repair"):
        page.get_by_label("Grade").select_option(grade)
        page.get_by_role("button", name="Keep the grade").click()
        expect(page.locator("#history")).to_contain_text(f"graded “{grade}”")
    page.get_by_label("Grade").select_option(label="none")
    page.get_by_role("button", name="Keep the grade").click()
    expect(page.locator("#history")).to_contain_text("A. Example took back: graded “plan a repair”")
    expect(page.locator("#history")).to_contain_text("A. Example took back: graded “watch”")
    assert client.get(f"{URL}/{9:08x}").json()["review"]["grade"] == ""
    page.locator("#history li", has_text="took back: graded “watch”").get_by_role("button", name="undo").click()
    expect(page.locator("#history")).to_contain_text("A. Example brought back: graded “watch”")
    assert client.get(f"{URL}/{9:08x}").json()["review"]["grade"] == "watch"


def test_a_finding_far_down_the_list_is_opened_and_the_map_says_what_it_leaves_out(
    client: httpx.Client, page: Page
) -> None:
    opened(page, client, "/jobs/many/what-is-wrong#1200")
    expect(page.locator("#one-title")).to_contain_text("1200. ")
    expect(page.locator("#matched")).to_have_text("433 findings match.")
    expect(page.locator("#drawn")).to_contain_text("The map shows 400 of them")
    page.locator("#question").select_option("Leaks")
    expect(page.locator("#drawn")).to_be_empty()
    page.evaluate("location.hash = '#1301'")
    expect(page.locator("#fault")).to_contain_text("no finding 1301")


def test_the_map_is_passed_by_a_link(client: httpx.Client, page: Page) -> None:
    opened(page, client, PAGE)
    expect(page.locator("#map .ring")).not_to_have_count(0)
    past = page.get_by_role("link", name="Past the map")
    past.focus()
    expect(past).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.locator("#list")).to_be_focused()


def test_who_may_only_look_is_offered_nothing_to_undo(
    browser: Browser, root: Path, client: httpx.Client, tmp_path: Path
) -> None:
    assert decide(client, 4, action="reject", value="").status_code == 201
    with serving(root, "--read-only") as (looking, _):
        somebody = visitor(browser, str(looking.base_url).rstrip("/"))
        page = somebody.go(f"{PAGE}#4")
        expect(page.locator("#history")).to_contain_text("B. Example rejected")
        expect(page.locator("#one-title")).to_contain_text(re.compile(r"4\. Leaks"))
        expect(page.locator("#history button")).to_have_count(0)
        expect(page.locator("#review")).to_be_hidden()
        page.context.close()
