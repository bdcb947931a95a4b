"""Files dropped on the page: frames of a flight, and the site of a new job; what is wrong is told, nothing is lost."""

from __future__ import annotations

import base64
import io
import json
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import tifffile
from playwright.sync_api import Page, expect
from tests.web.conftest import Visitor
from tests.web.test_rest import KML
from tests.web.web_jobs import SITE, make_job

#: Makes what a drag from the desktop carries.
CARRIED = """files => {
  const carried = new DataTransfer();
  for (const [name, content] of files) {
    carried.items.add(new File([Uint8Array.from(atob(content), c => c.charCodeAt(0))], name));
  }
  return carried;
}"""


def drop(page: Page, files: Sequence[tuple[str, bytes]]) -> None:
    """Let files fall on the page's field for them."""
    given = [[name, base64.b64encode(content).decode()] for name, content in files]
    carried = page.evaluate_handle(CARRIED, given)
    page.dispatch_event("#drop", "dragover", {"dataTransfer": carried})
    expect(page.locator("#drop")).to_have_class(re.compile("over"))
    page.dispatch_event("#drop", "drop", {"dataTransfer": carried})
    expect(page.locator("#drop")).not_to_have_class(re.compile("over"))


def frame(seed: int, shape: tuple[int, int] = (48, 64)) -> bytes:
    """A TIFF of counts with some structure."""
    stream = io.BytesIO()
    counts = np.random.default_rng(seed).normal(7000, 30, shape).astype(np.uint16)
    tifffile.imwrite(stream, counts)
    return stream.getvalue()


def begin(page: Page, name: str) -> None:
    """Say what the frames are: counts, and nobody knows where."""
    page.get_by_label("Day of the visit").fill("2026-05-02")
    page.get_by_label("Name of the flight").fill(name)
    page.get_by_label("Poses come from").select_option("none")


def test_dropped_frames_come_in_and_a_bad_one_is_set_aside_with_its_reason(newcomer: Visitor, jobs: Path) -> None:
    make_job(jobs / "dropped", 1)
    page = newcomer.go("/jobs/dropped/did-we-get-it")
    begin(page, "first")
    good = [(f"f{i:02}.tif", frame(i)) for i in range(6)]
    drop(page, [*good, ("odd.tif", frame(9, (20, 30))), ("short.tif", frame(8)[:-900])])
    expect(page.locator("#chosen")).to_have_text("8 files chosen")
    seen: list[str] = []
    page.expose_function("heard", lambda words: seen.append(words))
    page.evaluate(
        "new MutationObserver(() => heard(document.querySelector('#brought').textContent))"
        ".observe(document.querySelector('#brought'), { childList: true })"
    )
    page.get_by_role("button", name="Bring it in and look").click()
    expect(page.locator("#brought")).to_contain_text("7 files came. Not taken:")
    expect(page.locator("#brought li")).to_contain_text(re.compile(r"^short\.tif: cut short"))
    assert "Sending f00.tif, 1 of 8" in seen
    assert "Sending short.tif, 8 of 8" in seen
    expect(page.locator("#sent")).to_be_hidden()
    folder = jobs / "dropped" / "visits" / "2026-05-02" / "flights" / "first" / "frames"
    assert sorted(p.name for p in folder.iterdir()) == [*(name for name, _ in good), "odd.tif"]
    assert (folder / "f03.tif").read_bytes() == good[3][1], "what came is what was dropped"
    page.locator("#making").get_by_role("button").click()
    expect(page.locator("#making")).to_contain_text("Done.")
    expect(page.locator("#aside")).to_contain_text("odd.tif")
    expect(page.locator("#aside")).to_contain_text("20")
    expect(page.locator("#contacts img")).to_have_count(7)
    newcomer.said[:] = [s for s in newcomer.said if "422" not in s]  # the refused file, as the browser tells it


def test_sending_is_stopped_and_what_came_stays(newcomer: Visitor, jobs: Path) -> None:
    make_job(jobs / "halted", 1)
    page = newcomer.go("/jobs/halted/did-we-get-it")
    begin(page, "first")
    page.route("**/frames/*", lambda route: (page.wait_for_timeout(60), route.continue_())[1])
    drop(page, [(f"f{i:02}.tif", frame(i)) for i in range(40)])
    page.get_by_role("button", name="Bring it in and look").click()
    page.get_by_role("button", name="Stop sending").click()
    expect(page.locator("#brought")).to_contain_text(re.compile(r"Stopped: \d+ of 40 files came and stay"))
    came = int(re.findall(r"\d+", page.locator("#brought").inner_text())[0])
    assert 0 < came < 40
    folder = jobs / "halted" / "visits" / "2026-05-02" / "flights" / "first" / "frames"
    assert len(list(folder.iterdir())) == came


def test_looking_at_frames_is_stopped_and_goes_on_later(newcomer: Visitor, jobs: Path) -> None:
    make_job(jobs / "stopped", 1)
    page = newcomer.go("/jobs/stopped/did-we-get-it")
    begin(page, "first")
    drop(page, [(f"f{i:02}.tif", frame(i)) for i in range(12)])
    page.get_by_role("button", name="Bring it in and look").click()
    expect(page.locator("#brought")).to_contain_text("It is in.")
    page.locator("#making").get_by_role("button").click()
    page.get_by_role("button", name="Stop; keep what is finished").click()
    expect(page.locator("#making")).to_contain_text("Stopped; what was finished is kept.")
    page.locator("#making").get_by_role("button").click()
    expect(page.locator("#making")).to_contain_text("Done.")
    expect(page.locator("#contacts img")).to_have_count(12)


@pytest.mark.parametrize("kind", ["geojson", "kml"])
def test_a_dropped_site_appears_and_a_broken_one_is_refused_and_nothing_is_lost(newcomer: Visitor, kind: str) -> None:
    content = {"geojson": json.dumps(SITE), "kml": KML}[kind].encode()
    broken = {"geojson": content[:-30], "kml": content.replace(b"</Polygon>", b"")}[kind]
    page = newcomer.go("/new")
    expect(page.locator("#map canvas")).to_be_visible()
    page.get_by_label("Title").fill("Warm joints")
    page.get_by_label("Name of the site").fill("Reedholm (invented)")
    drop(page, [(f"site.{kind}", content)])
    expect(page.locator("#area")).to_have_text(re.compile({"geojson": r"^0\.84 ha", "kml": r"^0\.42 ha"}[kind]))
    where = page.get_by_label("Latitude, degrees").input_value()
    assert where.startswith("47.3")
    drop(page, [(f"torn.{kind}", broken)])
    expect(page.locator("#site-wrong .fault")).to_contain_text(re.compile(r"^the (GeoJSON|KML) file.*Export it again"))
    expect(page.locator("#area")).to_contain_text(" ha")
    for label, value in (
        ("Title", "Warm joints"),
        ("Name of the site", "Reedholm (invented)"),
        ("Latitude, degrees", where),
    ):
        expect(page.get_by_label(label)).to_have_value(value)
    drop(page, [(f"site.{kind}", content)])
    expect(page.locator("#site-wrong .fault")).to_have_count(0)
    newcomer.said[:] = [s for s in newcomer.said if "422" not in s]  # the refused file, as the browser tells it
