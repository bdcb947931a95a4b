"""How hot, and how surely? Links that ask for what is not there, readings under any name, frames turned in haste."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from urllib.parse import urlencode

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.web.conftest import Visitor, visitor
from tests.web.test_journey import HOME

Link = list[tuple[str, str]]


def link(*asked: tuple[str, str]) -> str:
    return f"{HOME}/how-hot?{urlencode(asked)}"


@pytest.fixture(scope="module")
def flown(finished: Path) -> tuple[str, list[str]]:
    """Key of the flight with the most frames, and these in order."""
    from groundglow.job.folder import open_job
    from groundglow.job.inputs import log_of
    from groundglow.job.plans.check import log_path

    job = open_job(finished)
    used = {f.key: [e.name for e in log_of(log_path(job, f)).entries if e.used] for f in job.flights()}
    return max(used.items(), key=lambda item: len(item[1]))


def no_temperature(page: Page) -> None:
    """Nothing was read: no row, and the answer holds no temperature."""
    expect(page.locator("#readings tbody tr")).to_have_count(0)
    expect(page.locator("main")).not_to_contain_text(re.compile(r"\d °C"), use_inner_text=True)


def test_a_place_outside_of_the_picture_is_not_read(newcomer: Visitor, flown: tuple[str, list[str]]) -> None:
    flight, (frame, *_) = flown
    asked: Link = [("read", "far|point|5000,100"), ("read", "out|line|1,1,1,5000"), ("read", "near|point|40,30")]
    page = newcomer.go(link(("flight", flight), ("frame", frame), *asked))
    rows = page.locator("#readings tbody tr")
    expect(rows.nth(2)).to_contain_text(re.compile(r"[\d.]+ °C"))
    expect(rows.nth(2)).not_to_contain_text("about")
    for i in (0, 1):
        expect(rows.nth(i)).to_contain_text("outside the picture, whose columns are 0 to ")
        expect(rows.nth(i)).not_to_contain_text("°C")
    rows.nth(0).get_by_role("button", name="far", exact=True).click()
    expect(page.locator("#why")).to_be_hidden()


@pytest.mark.parametrize("asked", [("frame", "nonsense"), ("flight", "x")])
def test_a_frame_or_flight_that_is_not_there_is_said_and_nothing_is_read(
    newcomer: Visitor, asked: tuple[str, str]
) -> None:
    page = newcomer.go(link(asked, ("read", "a|point|40,30")))
    expect(page.locator("#answer")).to_contain_text(f"There is no {asked[0]} “{asked[1]}”")
    no_temperature(page)
    assert not [u for u in newcomer.asked if u.endswith("/reading")]
    page.get_by_role("button", name=re.compile("^Open ")).click()
    expect(page.locator("#answer")).to_contain_text("measured, tied and levelled")
    expect(page.locator("#readings tbody tr")).to_have_count(0)
    assert "?" not in page.url


def test_a_frame_that_was_set_aside_is_said_to_be(
    browser: Browser, served: str, jobs: Path, flown: tuple[str, list[str]]
) -> None:
    from groundglow.job.folder import open_job
    from groundglow.job.plans.check import log_path

    copy = jobs / "aside"
    shutil.copytree(jobs / "sallowmere", copy)
    job = open_job(copy)
    path = log_path(job, next(f for f in job.flights() if f.key == flown[0]))
    log = json.loads(path.read_text("utf-8"))
    entry = next(e for e in log["entries"] if e["name"] == flown[1][0])
    entry["reason"] = "blurred by 3 px"
    path.write_text(json.dumps(log), "utf-8")
    somebody = visitor(browser, served)
    page = somebody.go(f"/jobs/aside/how-hot?{urlencode({'flight': flown[0], 'frame': flown[1][0]})}")
    expect(page.locator("#answer")).to_contain_text("is set aside: blurred by 3 px")
    no_temperature(page)
    page.context.close()


def test_a_link_that_tries_something_says_so_and_refuses_what_no_slider_reaches(newcomer: Visitor) -> None:
    page = newcomer.go(link(("emissivity", "0.5"), ("cloud", "7"), ("air_c", "warm")))
    for part in ("#answer", "#tried"):
        expect(page.locator(part)).to_contain_text("Shown as tried")
    expect(page.locator("#left-out")).to_contain_text("“7” is not tried: it has to lie between 0.00 and 1.00")
    expect(page.locator("#left-out")).to_contain_text("“warm” is not tried")
    expect(page.get_by_role("slider", name="Emissivity")).to_have_value("0.5")
    page.get_by_role("button", name="Back to what the job knows").click()
    expect(page.locator("#answer")).not_to_contain_text("tried")
    newcomer.go(link(("emissivity", "9")))
    expect(page.locator("#answer")).to_contain_text("measured, tied and levelled.")
    expect(page.locator("#left-out")).to_contain_text("Emissivity “9” is not tried")
    expect(page.locator("#answer")).not_to_contain_text("tried")
    newcomer.go(link(("emissivity", "0.5"), ("surface", "77")))
    expect(page.locator("#left-out")).to_contain_text("Surface 77 is not in this frame")
    expect(page.locator("#answer")).not_to_contain_text("tried")


def test_a_reading_may_have_any_name_and_a_faulty_one_costs_no_other(newcomer: Visitor) -> None:
    names = ("a=b", "a,b", "a|b", "", "twice", "twice", "50 %")
    asked: Link = [("read", f"{name}|point|{40 + i},30") for i, name in enumerate(names)]
    page = newcomer.go(link(*asked, ("read", "none|point|1"), ("read", "thin|polygon|5,5,5,5,5,5")))
    rows = page.locator("#readings tbody tr")
    expect(rows).to_have_count(len(names) + 1)
    for i, name in enumerate(("a=b", "a,b", "a|b", "place", "twice", "twice 2", "50 %")):
        expect(rows.nth(i).locator("th")).to_have_text(name)
        expect(rows.nth(i)).to_contain_text("to ")
        expect(rows.nth(i)).not_to_contain_text("about")
        expect(rows.nth(i)).to_contain_text("1 pixel")
    expect(rows.nth(7)).to_contain_text("no pixel")
    expect(page.locator("#left-out")).to_contain_text("“none|point|1” is no reading")
    page.get_by_role("button", name="Copy a link").click()
    expect(page).to_have_url(re.compile("read=a%7Cb%7Cpoint"))
    page.reload()
    expect(rows.nth(2).locator("th")).to_have_text("a|b")
    newcomer.said[:] = [s for s in newcomer.said if "422" not in s]  # the thin area was refused, and said so


def test_pages_turned_in_haste_all_count(newcomer: Visitor, flown: tuple[str, list[str]]) -> None:
    flight, frames = flown
    page = newcomer.go(link(("flight", flight), ("frame", frames[0])))
    expect(page.locator("#answer")).to_contain_text(frames[0])
    page.locator("#frame").focus()
    assert len(frames) > 4
    for _ in range(4):
        page.keyboard.press("PageDown")
        page.wait_for_timeout(50)
    page.keyboard.press("PageUp")
    expect(page.locator("#answer")).to_contain_text(frames[3])
    expect(page.locator("#name")).to_have_value(frames[3])
    page.wait_for_timeout(500)
    expect(page.locator("#answer")).to_contain_text(frames[3])


def test_readings_and_charts_fit_a_phone(browser: Browser, served: str) -> None:
    somebody = visitor(browser, served, viewport={"width": 390, "height": 844}, has_touch=True)
    page = somebody.go(link(("read", "a place|point|40,30")))
    expect(page.locator("#budget svg text").first).to_be_attached()
    expect(page.locator("#readings tbody tr")).to_contain_text("1 pixel")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    least = page.locator("#budget svg, #method svg").evaluate_all(
        "charts => Math.min(...charts.map(c => 12 * c.getBoundingClientRect().width / c.viewBox.baseVal.width))"
    )
    assert least >= 11.0, "12 px type as the chart is scaled"
    over = page.locator("#budget svg").evaluate(
        "c => Math.max(...[...c.querySelectorAll('text')].map(t => t.getBBox().x + t.getBBox().width)) "
        "- c.viewBox.baseVal.width"
    )
    assert over <= 0.0
    page.context.close()


def test_rings_agree_with_the_list_of_frames(newcomer: Visitor, flown: tuple[str, list[str]]) -> None:
    page = newcomer.go(link(("flight", flown[0])))
    expect(page.locator("#answer")).to_contain_text("measured")
    options = page.locator("#name option").all_inner_texts()
    seen = {t.split(":")[0]: re.findall(r"\d+", t.split("finding")[1]) for t in options if "finding" in t}
    assert seen
    for frame, numbers in list(seen.items())[:3]:
        page.locator("#name").select_option(frame)
        expect(page.locator("#answer")).to_contain_text(frame)
        expect(page.locator("#over .found")).to_have_count(len(numbers))
        assert sorted(page.locator("#over .found text").all_text_contents()) == sorted(numbers)
