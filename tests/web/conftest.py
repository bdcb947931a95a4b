"""A finished job in small, a server over a copy of it, and a browser that may not leave this machine."""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from playwright.sync_api import Browser, Page, expect, sync_playwright

from groundglow.job.chain import run_steps
from groundglow.job.folder import open_job
from groundglow.web.app import make_app
from groundglow.web.settings import Settings

#: Long enough for a busy machine; a page that answers is not waited for.
PATIENCE = 60_000
CHROMIUM = Path("/usr/bin/chromium")
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip
ASKED = """
[[fit]]
name = "a clamp of the yard"
target = "clamp"
task = "measure"
accuracy = "5 K"
distance = "25 m"
date = "2026-04-16"

[[plan]]
name = "the yard"
zone = "yard"
camera = "demo-640"
aircraft = "demo-quad-work"
sampling = "5 cm"
take_off = "47.3098, 20.9296"
"""


@pytest.fixture(scope="session")
def finished(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small demo with all six questions asked and answered; copy it, never write to it.

    Made once, whichever worker comes first: the others wait for it.
    """
    base = tmp_path_factory.getbasetemp()
    place = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "finished-job"
    job, made = place / "sallowmere", place / "made"
    try:
        place.mkdir()
    except FileExistsError:
        _wait_for(made)
        return job
    shutil.copytree(request.getfixturevalue("small_demo")[0], job)
    brief = job / "brief.toml"
    brief.write_text(brief.read_text("utf-8").replace("[limits]", f"{ASKED}\n[limits]"), "utf-8")
    run_steps(open_job(job), "report")
    made.touch()
    return job


def _wait_for(made: Path, most: float = 600.0) -> None:
    begun = time.monotonic()
    while not made.exists():
        if time.monotonic() - begun > most:
            pytest.fail("another worker did not finish the job that the journeys share")
        time.sleep(0.1)


@pytest.fixture(scope="module")
def jobs(finished: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of jobs that the tests of one module may change."""
    folder = tmp_path_factory.mktemp("jobs")
    shutil.copytree(finished, folder / finished.name)
    return folder


@pytest.fixture(scope="module")
def served(jobs: Path) -> Iterator[str]:
    """Address of a server over that folder."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = uvicorn.Server(
        uvicorn.Config(make_app(Settings(jobs, workers=1)), host="127.0.0.1", port=port, log_level="error")
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium as Debian packs it."""
    if not CHROMIUM.is_file():
        pytest.skip(f"{CHROMIUM} is not here; the journeys need it")
    expect.set_options(timeout=PATIENCE)
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=str(CHROMIUM), args=list(FLAGS))
        yield launched
        launched.close()


@dataclass
class Visitor:
    """Somebody at a page; what the browser said and asked for is kept."""

    page: Page
    base: str
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def go(self, path: str) -> Page:
        """Open an address of the server."""
        self.page.goto(self.base + path)
        return self.page

    def hear(self) -> None:
        """Write down console, faults and requests; the driver's remarks on software drawing are none of the page's."""
        self.page.on("console", lambda m: self._say(m.type, m.text))
        self.page.on("pageerror", lambda e: self.said.append(f"error: {e}"))
        self.page.on("request", lambda r: self.asked.append(r.url))

    def _say(self, kind: str, text: str) -> None:
        if kind in ("error", "warning") and "GL Driver Message" not in text:
            self.said.append(f"{kind}: {text}")


def visitor(browser: Browser, base: str, **looks: Any) -> Visitor:
    """A new visitor with a window of their own."""
    looks.setdefault("viewport", {"width": 1280, "height": 900})
    page = browser.new_context(**looks).new_page()
    page.set_default_timeout(PATIENCE)
    found = Visitor(page, base)
    found.hear()
    return found


@pytest.fixture
def newcomer(browser: Browser, served: str) -> Iterator[Visitor]:
    """Somebody who has never been here; afterwards: nothing left this machine, nothing was complained of."""
    found = visitor(browser, served)
    yield found
    found.page.context.close()
    outside = [u for u in found.asked if not u.startswith((served, "data:", "blob:"))]
    assert not outside
    assert not found.said
