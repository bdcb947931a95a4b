"""Did we get it: what nobody looked at is not called good; runs say what they count and not where the disk has them."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import expect
from tests.web.conftest import Visitor
from tests.web.test_drop import frame
from tests.web.web_jobs import make_job, serving

SPEC = {"name": "first", "values": {"kind": "counts", "unit": "counts"}, "calibration": {"form": "none"},
        "poses": {"source": "none"}}  # fmt: skip
FLIGHT = "flights/2026-05-02/first"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("shelf")


@pytest.fixture(scope="module")
def client(shelf: Path) -> Iterator[httpx.Client]:
    with serving(shelf) as (client, _):
        yield client


def bring(client: httpx.Client, job: str, frames: int) -> None:
    """A flight of counts comes in."""
    said = {"visit": "2026-05-02", "flight": "first", "spec": SPEC}
    made = client.post(f"/api/jobs/{job}/flights", json=said)
    assert made.status_code == 201, made.text
    for i in range(frames):
        put = client.put(f"/api/jobs/{job}/{FLIGHT}/frames/f{i}.tif", content=frame(i))
        assert put.status_code == 201, put.text


def run(client: httpx.Client, job: str, until: str) -> dict[str, Any]:
    """A run to its end."""
    url = f"/api/jobs/{job}/runs/{client.post(f'/api/jobs/{job}/runs', json={'until': until}).json()['id']}"
    for _ in range(600):
        found: dict[str, Any] = client.get(url).json()
        if found["state"] != "running":
            return found
        time.sleep(0.1)
    raise AssertionError("the run does not end")


def test_a_flight_says_why_it_was_not_looked_at(client: httpx.Client, shelf: Path) -> None:
    make_job(shelf / "fresh", 1)
    bring(client, "fresh", 3)
    before = client.get(f"/api/jobs/fresh/{FLIGHT}").json()
    assert (before["log"], before["frames"]) == (None, 0)
    assert "not looked at since it came in" in before["not_looked_at"]
    assert run(client, "fresh", "check")["state"] == "done"
    after = client.get(f"/api/jobs/fresh/{FLIGHT}").json()
    assert (after["not_looked_at"], after["frames"]) == ("", 3)


def test_a_failed_check_is_told_where_the_flight_is_without_the_place_on_the_disk(
    client: httpx.Client, shelf: Path
) -> None:
    make_job(shelf / "faulty", 1)
    bring(client, "faulty", 0)
    for _ in range(2):
        failed = run(client, "faulty", "check")
        assert failed["state"] == "failed", failed
        assert str(shelf) not in failed["message"]
        found = client.get(f"/api/jobs/faulty/{FLIGHT}").json()
        assert found["not_looked_at"]
        assert str(shelf) not in found["not_looked_at"]
        spec = shelf / "faulty" / "visits" / "2026-05-02" / "flights" / "first" / "flight.toml"
        spec.write_text("values = 1\n", "utf-8")
    assert "flight.toml" in found["not_looked_at"]


def test_a_run_names_what_it_counts(client: httpx.Client, shelf: Path) -> None:
    make_job(shelf / "counted", 1)
    bring(client, "counted", 3)
    ended = run(client, "counted", "check")
    with client.stream("GET", f"/api/jobs/counted/runs/{ended['id']}/events") as stream:
        lines = "".join(line for line in stream.iter_lines() if line.startswith("data:"))
    assert '"total": 3, "counted": "frame"' in lines
    assert '"total": 1, "counted": "flight"' in lines


def test_the_page_calls_nothing_good_that_nobody_looked_at(newcomer: Visitor, jobs: Path) -> None:
    make_job(jobs / "unseen", 1)
    with httpx.Client(base_url=newcomer.base, trust_env=False) as client:
        bring(client, "unseen", 2)
    page = newcomer.go("/jobs/unseen")
    expect(page.locator("#check .answer")).to_have_text("1 flight recorded, not looked at yet.")
    page = newcomer.go("/jobs/unseen/did-we-get-it")
    expect(page.locator("#answer")).to_contain_text("2026-05-02/first: not looked at: its frames")
    expect(page.locator("#aside-part")).to_be_hidden()
    page.wait_for_load_state("networkidle")
    assert not [u for u in newcomer.asked if "/frames" in u and "/static/" not in u], "nothing is fetched in vain"
    page.get_by_role("button", name="Look at every frame").click()
    expect(page.locator("#answer")).to_contain_text("every frame can be used")
