"""Numbers beside rings and names of zones: none lies over another, whatever lies close together."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page, expect
from tests.web.conftest import Visitor
from tests.web.test_journey import HOME

PLACED = """async rings => {
  const { placed } = await import('/static/frame/labels.js');
  return placed(rings, { width: 640, height: 512, size: 14 });
}"""
RECTANGLES = "nodes => nodes.map(n => n.getBoundingClientRect()).map(r => [r.left, r.top, r.right, r.bottom])"


def over(a: Any, b: Any) -> float:
    """Area that two boxes [left, top, right, bottom] share."""
    return max(0.0, min(a[2], b[2]) - max(a[0], b[0])) * max(0.0, min(a[3], b[3]) - max(a[1], b[1]))


def boxes(page: Page, rings: list[dict[str, float]]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate(PLACED, rings)
    return found


def sides(label: dict[str, Any]) -> tuple[float, float, float, float]:
    b = label["box"]
    return b["left"], b["top"], b["right"], b["bottom"]


def test_a_lone_number_stands_beside_its_ring_without_a_leader(newcomer: Visitor) -> None:
    page = newcomer.go("/")
    (label,) = boxes(page, [{"number": 7, "cx": 300, "cy": 200, "r": 10}])
    assert label["leader"] is None
    left, _, _, bottom = sides(label)
    assert np.hypot(left - 300, bottom - 200) == pytest.approx(10 + 0.1 * 14, abs=0.1)


@pytest.mark.parametrize("seed", range(6))
def test_numbers_of_crowded_rings_do_not_overlap_and_stay_in_the_picture(newcomer: Visitor, seed: int) -> None:
    page = newcomer.go("/")
    of = np.random.default_rng(seed)
    heart = of.uniform((0, 0), (640, 512))
    rings = [
        {"number": i + 1, "cx": float(x), "cy": float(y), "r": float(of.uniform(6, 14))}
        for i, (x, y) in enumerate(np.clip(of.normal(heart, 45, (12, 2)), 2, (638, 510)))
    ]
    found = boxes(page, rings)
    assert not [over(sides(a), sides(b)) for a, b in itertools.combinations(found, 2) if over(sides(a), sides(b)) > 0]
    for label, ring in zip(found, rings, strict=True):
        left, top, right, bottom = sides(label)
        assert left >= 0 <= top
        assert right <= 640
        assert bottom <= 512
        if label["leader"]:
            start = np.hypot(label["leader"]["x1"] - ring["cx"], label["leader"]["y1"] - ring["cy"])
            assert start == pytest.approx(ring["r"]), "a leader begins at its own ring"


def test_numbers_in_the_picture_of_a_frame_are_clear_of_each_other(newcomer: Visitor) -> None:
    page = newcomer.go(f"{HOME}/what-is-wrong#1")
    page.get_by_role("link", name="Read it in").click()
    expect(page.locator("#over .found text")).not_to_have_count(0)
    drawn = page.locator("#over .found text").evaluate_all(RECTANGLES)
    inner = [(a + 1, b + 3, c - 1, d - 3) for a, b, c, d in drawn]  # a line of type is higher than its figures
    assert not [1 for a, b in itertools.combinations(inner, 2) if over(a, b) > 0]


def test_names_of_zones_are_clear_of_the_findings_on_the_map(newcomer: Visitor) -> None:
    page = newcomer.go(f"{HOME}/what-is-wrong")
    expect(page.locator("#map .ring")).not_to_have_count(0)
    expect(page.locator("#map .zone")).not_to_have_count(0)
    rings = page.locator("#map .ring").evaluate_all(RECTANGLES)
    names = page.locator("#map .zone").evaluate_all(RECTANGLES)
    covered = [sum(over(name, ring) for ring in rings) for name in names]
    assert max(covered) < 4.0, "square pixels of the screen"
    assert not [1 for a, b in itertools.combinations(names, 2) if over(a, b) > 4]
