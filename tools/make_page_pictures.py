"""Take the pictures of the page for README and docs, in a browser, from a finished demo job.

Run ``make demo`` first, then ``python tools/make_page_pictures.py demo-job``. The job is copied; the copy is asked what
can be seen and how to fly as well, and run to its end.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from benchmarks.bench_page import FLAGS, served
from tests.web.conftest import ASKED

from groundglow.job.chain import run_steps
from groundglow.job.folder import open_job

OUT = Path(__file__).resolve().parents[1] / "docs/pictures"
WIDE = {"width": 1080, "height": 900}
PHONE = {"width": 390, "height": 844}
COLOURS = 200


def asked_of_all(job: Path, folder: Path) -> Path:
    """A copy of a job with all six questions asked and answered."""
    copy = folder / "sallowmere"
    shutil.copytree(job, copy)
    brief = copy / "brief.toml"
    text = brief.read_text("utf-8")
    if "[[fit]]" not in text:
        brief.write_text(text.replace("[limits]", f"{ASKED}\n[limits]"), "utf-8")
    run_steps(open_job(copy), "report")
    return copy


def kept(png: bytes, name: str) -> None:
    """Written small: few colours, and no wider than a page shows it."""
    picture = Image.open(BytesIO(png)).convert("RGB")
    few = picture.quantize(COLOURS, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    few.save(OUT / f"page-{name}.png", optimize=True)
    print(f"page-{name}.png: {(OUT / f'page-{name}.png').stat().st_size / 1000:.0f} kB")


def settled(page: Page, address: str) -> None:
    """Open a page and wait until nothing more comes."""
    page.goto(address)
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(800)


def read(page: Page) -> None:
    """Two readings in the frame."""
    canvas = page.locator("#frame")
    box = canvas.bounding_box() or {"width": 640.0, "height": 512.0}
    wide, high = box["width"] / 640, box["height"] / 512
    page.get_by_label("Name", exact=True).fill("middle of the pond")
    canvas.click(position={"x": 312 * wide, "y": 236 * high})
    page.get_by_label("What it is").select_option("line")
    page.get_by_label("Name", exact=True).fill("across the pond")
    for x in (225, 540):
        canvas.click(position={"x": x * wide, "y": 305 * high})
    page.locator("#why-says").wait_for()
    page.wait_for_timeout(1500)


def nothing(page: Page) -> None:
    """The page as it opens."""


SHOTS: tuple[tuple[str, str, Callable[[Page], None], int], ...] = (
    ("story", "", nothing, 1180),
    ("fit", "/can-it-be-seen", nothing, 1500),
    ("plan", "/how-and-when-do-we-fly", nothing, 1000),
    ("check", "/did-we-get-it", nothing, 1250),
    ("measure", "/how-hot?flight=2026-04-16/overview&frame=over_0034.tif", read, 1290),
    ("find", "/what-is-wrong#3", nothing, 1000),
    ("report", "/what-do-we-tell-them", nothing, 1300),
)


def main(job: Path) -> None:
    """Take all pictures."""
    with tempfile.TemporaryDirectory() as folder:
        copy = asked_of_all(job, Path(folder))
        with served(copy) as base, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
            page = browser.new_page(viewport=WIDE)
            for name, slug, act, tall in SHOTS:
                settled(page, f"{base}/jobs/sallowmere{slug}")
                act(page)
                kept(_top(page, WIDE["width"], tall), name)
            settled(page, f"{base}/jobs/sallowmere/how-hot?flight=2026-04-16/overview&frame=over_0034.tif")
            read(page)
            budget = page.locator("#why").screenshot()
            kept(budget, "budget")
            for name, looks in (("phone", {"viewport": PHONE}), ("dark", {"viewport": WIDE, "color_scheme": "dark"})):
                other = browser.new_context(**looks).new_page()  # type: ignore[arg-type]
                settled(other, f"{base}/jobs/sallowmere/how-hot?flight=2026-04-16/overview&frame=over_0034.tif")
                kept(_top(other, looks["viewport"]["width"], 1000), name)  # type: ignore[index]
            browser.close()


def _top(page: Page, width: int, tall: int) -> bytes:
    page.evaluate("scrollTo(0, 0)")
    return page.screenshot(full_page=True, clip={"x": 0, "y": 0, "width": width, "height": tall})


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "demo-job"))
