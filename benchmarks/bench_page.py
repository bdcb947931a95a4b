"""The page in a browser: how soon it can be used, a reading under the cursor, emissivity moved.

Floors, in the same browser and run: an empty page that loads the same style sheet and scripts and runs none of them;
one that also fetches, all at once, the data (the frame's picture among them) that the page asks for before it can be
used; each can be used at the first picture of the screen after all of it has come; and putting one ready
picture of a frame's size on its canvas. A page can be used when its answer is written (and, for the frame, its picture
painted). Printed are medians of this machine and their ratios.

    python benchmarks/bench_page.py [JOB] [--rounds 9]

JOB is a finished job; left out, the demo is made first. Chromium is taken from /usr/bin/chromium.
"""

from __future__ import annotations

import argparse
import json
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Page, Route, sync_playwright

FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]  # fmt: skip
SLUGS = ("", "/can-it-be-seen", "/how-and-when-do-we-fly", "/did-we-get-it", "/how-hot", "/what-is-wrong",
         "/what-do-we-tell-them")  # fmt: skip
#: Notes when the answer stands: run before the page's own scripts.
WATCH = """
  const watch = () => {
    const at = document.querySelector("#answer, #brief");
    if (at && at.textContent.trim() !== "…") window.usable = performance.now();
    else requestAnimationFrame(watch);
  };
  requestAnimationFrame(watch);
"""
MOVED = """async ([name, rounds]) => {
  const times = [];
  const slider = document.querySelector(name);
  for (let k = 0; k < rounds * 10; k += 1) {
    slider.value = 0.6 + 0.3 * ((k * 0.37) % 1);
    const begun = performance.now();
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    times.push(performance.now() - begun);
    await new Promise((done) => requestAnimationFrame(done));
  }
  return times;
}"""
POINTED = """async (rounds) => {
  const times = [];
  const canvas = document.querySelector("#frame");
  for (let k = 0; k < rounds * 10; k += 1) {
    const box = canvas.getBoundingClientRect();
    const at = { clientX: box.left + ((k * 53) % box.width), clientY: box.top + ((k * 31) % box.height) };
    const begun = performance.now();
    canvas.dispatchEvent(new PointerEvent("pointermove", at));
    document.querySelector("#cursor").getBoundingClientRect();
    times.push(performance.now() - begun);
    await new Promise((done) => requestAnimationFrame(done));
  }
  return times;
}"""
BARE = """async (rounds) => {
  const times = [];
  const pen = document.createElement("canvas").getContext("2d", { alpha: false });
  pen.canvas.width = 640; pen.canvas.height = 512;
  const image = pen.createImageData(640, 512);
  const pixels = new Uint32Array(image.data.buffer);
  for (let k = 0; k < rounds * 10; k += 1) {
    const begun = performance.now();
    pixels.fill(0xff000000 + k);
    pen.putImageData(image, 0, 0);
    times.push(performance.now() - begun);
    await new Promise((done) => requestAnimationFrame(done));
  }
  return times;
}"""


@contextmanager
def served(job: Path) -> Iterator[str]:
    """A server of its own over the job."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "groundglow", "serve", str(job), "--port", str(port)]
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    base = f"http://127.0.0.1:{port}"
    try:
        _wait(base)
        yield base
    finally:
        process.terminate()
        process.wait(20)


def _wait(base: str) -> None:
    for _ in range(600):
        try:
            urllib.request.urlopen(f"{base}/api/about").read()
            return
        except OSError:
            time.sleep(0.1)
    raise SystemExit("the server does not answer")


def usable(page: Page, address: str) -> float:
    """Milliseconds until the answer of a page stands."""
    page.goto(address)
    return waited(page, "window.usable ?? 0")


def waited(page: Page, noted: str) -> float:
    """The moment that a page notes, once it has."""
    for _ in range(6000):
        found = page.evaluate(noted)
        if found:
            return float(found)
        time.sleep(0.01)
    raise SystemExit(f"{page.url} notes nothing")


def empty(page: Page, address: str, scripts: list[str], data: list[str]) -> float:
    """Milliseconds until an empty page with the same style sheet, scripts and data has loaded."""
    links = "".join(f'<link rel="modulepreload" href="{s}">' for s in scripts)
    fetched = f"Promise.all({json.dumps(data)}.map((d) => fetch(d).then((r) => r.arrayBuffer())))"
    loaded = "new Promise((done) => addEventListener('load', done))"
    drawn = "requestAnimationFrame(() => { window.ready = performance.now(); })"
    noted = f"<script>Promise.all([{loaded}, {fetched}]).then(() => {drawn})</script>"
    html = (
        '<!doctype html><meta charset="utf-8"><link rel="stylesheet" href="/static/css/page.css">'
        f'<script src="/static/core/tone.js"></script>{links}{noted}<p>An empty page.</p>'
    )

    def fulfil(route: Route) -> None:
        route.fulfill(body=html, content_type="text/html")

    page.route(re.compile("/empty$"), fulfil)
    page.goto(re.sub(r"/jobs/.*", "/empty", address))
    return waited(page, "window.ready ?? 0")


def loading(page: Page, base: str, job: str, rounds: int) -> None:
    """Each page against its empty twin, scripts and data warm."""
    for slug in SLUGS:
        asked: list[str] = []
        address = f"{base}/jobs/{job}{slug}"
        page.on("request", lambda r, kept=asked: kept.append(r.url) if r.method == "GET" else None)
        usable(page, address)
        data = sorted({u for u in asked if ("/api/" in u and "/events" not in u) or u.endswith(".json")})
        page.wait_for_load_state("networkidle")
        scripts = sorted({u for u in asked if u.endswith(".js") and "/vendor/" not in u and "tone.js" not in u})
        sides = [
            (usable(page, address), empty(page, address, scripts, []), empty(page, address, scripts, data))
            for _ in range(rounds)
        ]
        mine, bare, full = (statistics.median(side) for side in zip(*sides, strict=True))
        print(
            f"{slug or '/ (the story)':26} {mine:6.0f} ms; {mine / bare:5.2f} times an empty page ({bare:.0f} ms), "
            f"{mine / full:5.2f} times one with its data ({full:.0f} ms)"
        )


def moving(page: Page, base: str, job: str, rounds: int) -> None:
    """Reading and repainting against putting a ready picture on the canvas."""
    usable(page, f"{base}/jobs/{job}/how-hot")
    page.wait_for_load_state("networkidle")
    floor = statistics.median(page.evaluate(BARE, rounds))
    print(f"{'a ready picture painted (floor)':32} {floor:7.2f} ms")
    for words, times in (
        ("a reading under the cursor", page.evaluate(POINTED, rounds)),
        ("emissivity moved, repainted", page.evaluate(MOVED, ["#try-emissivity", rounds])),
    ):
        middle, worst = statistics.median(times), sorted(times)[int(0.95 * len(times))]
        print(f"{words:32} {middle:7.2f} ms   95 % within {worst:6.2f} ms   {middle / floor:5.1f} times")


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("job", type=Path, nargs="?", help="left out: the demo is made first")
    parser.add_argument("--rounds", type=int, default=9)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        job = given.job or _demo(Path(folder) / "demo-job")
        measure(job.resolve(), given.rounds)


def _demo(job: Path) -> Path:
    subprocess.run([sys.executable, "-m", "groundglow", "demo", str(job), "--quiet"], check=True)
    return job


def measure(job: Path, rounds: int) -> None:
    """Open the pages of a job and print."""
    with served(job) as base, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.add_init_script(WATCH)
        loading(page, base, job.name, rounds)
        moving(page, base, job.name, rounds)
        browser.close()


if __name__ == "__main__":
    main()
