"""Pixels of a frame as the server sends them, and a page that is moved before all of them have come."""

from __future__ import annotations

import re
import threading

import httpx
import numpy as np
from playwright.sync_api import Route, expect
from tests.web.conftest import Visitor

from groundglow.web.binary import unpacked

JOB = "sallowmere"


def _a_measured_frame(base: str) -> str:
    """Address of the first measured frame of the job."""
    told = httpx.get(f"{base}/api/jobs/{JOB}").json()
    for flight in told["flight_list"]:
        at = f"{base}/api/jobs/{JOB}/flights/{flight['key']}/frames"
        for frame in httpx.get(at, params={"limit": 500}).json()["items"]:
            if frame["measured"]:
                return f"{at}/{frame['frame']}/pixels"
    raise AssertionError("no frame of the job is measured")


def test_coded_numbers_are_the_numbers_to_half_a_step_and_half_the_bytes(served: str) -> None:
    at = _a_measured_frame(served)
    asked = {"arrays": "value,sd,mask,departure,surface"}
    plain, coded = (httpx.get(at, params={**asked, "coded": c}).content for c in ("false", "true"))
    (_, real), (head, codes) = unpacked(plain), unpacked(coded)
    assert len(coded) < 0.6 * len(plain)
    for told in head["arrays"]:
        name, step = told["name"], told["scale"]
        if name in ("mask", "surface"):
            assert np.array_equal(codes[name], real[name])
            continue
        none = ~np.isfinite(real[name])
        assert np.array_equal(codes[name] == 0, none), name
        off = np.abs(told["add"] + step * codes[name].astype(float) - real[name])[~none]
        assert off.max() <= 0.5 * step + 1e-4, name  # float32 near 300 K steps by 3e-5
        assert step < 0.002, f"{name}: a step of {step} K is no longer below what is printed"


def test_what_is_moved_before_the_recorded_pixels_came_is_shown_once_they_have(newcomer: Visitor) -> None:
    page, held = newcomer.page, threading.Event()
    waiting: list[Route] = []

    def hold(route: Route) -> None:
        if held.is_set():
            route.continue_()
        else:
            waiting.append(route)

    page.route(re.compile("arrays=signal"), hold)
    newcomer.go(f"/jobs/{JOB}/how-hot")
    expect(page.locator("#answer")).to_contain_text("measured")
    expect(page.locator("#cursor")).to_contain_text("between")
    before = page.locator("#cursor strong").inner_text()
    page.get_by_role("slider", name="Emissivity").fill("0.6")
    expect(page.locator("#cursor strong")).to_have_text(before)
    assert waiting, "the recorded pixels were asked for before the frame stood"
    held.set()
    for route in waiting:
        route.continue_()
    expect(page.locator("#cursor strong")).not_to_have_text(before)
