"""How the page looks and reads to everybody: axe, narrow screens, dark, keyboard alone, no outside request."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect
from tests.web.conftest import Visitor, visitor
from tests.web.test_journey import HOME, SLUGS

PAGES = ("/", "/new", "/login", HOME, *(f"{HOME}/{slug}" for slug in SLUGS))
LOOKS = {"light": {}, "dark": {"runOnly": ["color-contrast"]}}


@pytest.fixture(params=list(LOOKS))
def looking(request: pytest.FixtureRequest, browser: Browser, served: str) -> Iterator[tuple[Visitor, str]]:
    found = visitor(browser, served, color_scheme=request.param)
    yield found, request.param
    found.page.context.close()


def serious(page: Page, tone: str) -> list[str]:
    """What axe calls serious or critical; in the dark only contrast can differ."""
    found = Axe().run(page, options={"resultTypes": ["violations"], **LOOKS[tone]}).response
    assert found["testEngine"]["name"] == "axe-core"
    kept = [v for v in found["violations"] if v["impact"] in ("serious", "critical")]
    return [f"{page.url}: {v['id']}: {v['nodes'][0]['html']}" for v in kept]


def settle(page: Page) -> None:
    page.wait_for_load_state("networkidle")
    for ring in ("#answer", "#brief"):
        if page.locator(ring).count():
            expect(page.locator(ring)).not_to_have_text("…")


def test_no_page_breaks_a_serious_rule_of_access(looking: tuple[Visitor, str]) -> None:
    somebody, tone = looking
    for path in PAGES:
        page = somebody.go(path)
        settle(page)
        assert not serious(page, tone)
    page = somebody.go(f"{HOME}/what-is-wrong#1")
    expect(page.locator("#one-title")).to_contain_text("1. ")
    assert not serious(page, tone)
    page.get_by_role("link", name=re.compile("Read it in")).click()
    expect(page.locator("#why-says")).to_contain_text("Most of the")
    assert not serious(page, tone)


def test_nothing_runs_over_the_edge_of_a_phone(browser: Browser, served: str) -> None:
    somebody = visitor(browser, served, viewport={"width": 390, "height": 844}, has_touch=True)
    for path in PAGES:
        page = somebody.go(path)
        settle(page)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), path
    page.context.close()


def test_the_tone_is_the_systems_until_somebody_chooses(browser: Browser, served: str) -> None:
    somebody = visitor(browser, served, color_scheme="dark")
    page = somebody.go("/")
    tone = page.locator("html")
    expect(tone).to_have_attribute("data-tone", "dark")
    page.get_by_role("button", name="Paper tone").click()
    expect(tone).to_have_attribute("data-tone", "light")
    page.reload()
    expect(tone).to_have_attribute("data-tone", "light")
    page.context.close()


def reach(page: Page, name: str, most: int = 80) -> None:
    """Tab until the focus is on an element whose accessible text holds a name."""
    for _ in range(most):
        page.keyboard.press("Tab")
        at = page.evaluate(
            "(({ariaLabel, labels, textContent}) => ariaLabel || labels?.[0]?.textContent || textContent)"
            "(document.activeElement)"
        )
        if name in (at or ""):
            return
    pytest.fail(f"Tab does not reach {name!r}")


def test_a_job_is_read_and_decided_by_keyboard_alone(newcomer: Visitor) -> None:
    page = newcomer.go(HOME)
    settle(page)
    reach(page, "How hot, and how surely?")
    page.keyboard.press("Enter")
    expect(page.locator("#answer")).to_contain_text("measured")
    reach(page, "Thermal picture")
    before = page.locator("#cursor").inner_text()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("Shift+ArrowUp")
    expect(page.locator("#cursor")).not_to_have_text(before)
    expect(page.locator("#cursor")).to_contain_text(re.compile(r"°C, between .* and .* °C"))
    page.keyboard.press("Enter")
    expect(page.locator("#readings tbody tr")).to_have_count(1)
    reach(page, "Emissivity")
    page.keyboard.press("ArrowLeft")
    expect(page.locator("#tried")).to_contain_text("as tried")
    reach(page, "What is wrong, and where?")
    page.keyboard.press("Enter")
    expect(page.locator("#matched")).to_contain_text("match")
    reach(page, "Finding 1")
    page.keyboard.press("Enter")
    expect(page.locator("#chosen")).to_be_focused()
    reach(page, "Your name")
    page.keyboard.type("A. Example")
    reach(page, "Reject")
    page.keyboard.press("Enter")
    expect(page.locator("#decided")).to_contain_text("rejected")
