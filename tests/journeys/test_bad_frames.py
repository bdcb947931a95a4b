"""One bad frame never costs a flight: it is set aside with its reason, and everybody who asks is told."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
import pytest
import tifffile
from tests.journeys.conftest import groundglow

FLIGHTS = "visits/2026-04-16/flights"


def cut_short(path: Path) -> None:
    """As a card that was pulled out too early leaves it."""
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def other_size(path: Path) -> None:
    """As another camera writes it."""
    tifffile.imwrite(path, np.full((256, 320), 7000, dtype=np.uint16) + np.arange(320, dtype=np.uint16))


def no_numbers(path: Path) -> None:
    """As a program that failed half-way exports it."""
    values = tifffile.imread(path).astype(np.float32)
    values[: values.shape[0] // 2] = np.nan
    tifffile.imwrite(path, values)


def unreadable(path: Path) -> None:
    """As a broken card gives it back."""
    path.write_bytes(np.random.default_rng(1).bytes(50_000))


#: What is done to a frame of the eight-frame job, and words that its reason has to hold.
BROKEN: dict[str, tuple[Callable[[Path], None], tuple[str, ...]]] = {
    "overview/over_0021.tif": (cut_short, ("cut short",)),
    "overview/over_0024.tif": (other_size, ("320 x 256", "640 x 512")),
    "close/near_0009.tif": (no_numbers, ("50 %", "not numbers")),
    "close/near_0011.tif": (unreadable, ("tif",)),
}


@dataclass(frozen=True)
class Run:
    """A job with broken frames after its run, what the run printed, and what check says afterwards."""

    job: Path
    told: dict[str, Any]
    check: str

    def reason(self, frame: str) -> str:
        """Why a frame was set aside."""
        return str(self.told["set_aside"][f"2026-04-16/{frame}"])


@pytest.fixture(scope="module")
def run(small_demo: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Run:
    job = tmp_path_factory.mktemp("bad") / "job"
    shutil.copytree(small_demo[0], job)
    for frame, (damage, _) in BROKEN.items():
        flight, name = frame.split("/")
        damage(job / FLIGHTS / flight / "frames" / name)
    told = json.loads(groundglow("run", str(job), "--json", "--workers", "2").stdout)
    return Run(job, told, groundglow("check", str(job)).stdout)


def flat(text: str) -> str:
    """Text without the line breaks that a narrow terminal or a table's column brings."""
    return " ".join(text.split())


@pytest.mark.parametrize("frame", BROKEN)
def test_a_bad_frame_is_set_aside_with_its_own_reason(run: Run, frame: str) -> None:
    reason = run.reason(frame)
    assert all(word in reason for word in BROKEN[frame][1]), reason
    assert "Error" not in reason
    assert "Traceback" not in reason


def test_only_the_bad_frames_are_set_aside(run: Run) -> None:
    assert set(run.told["set_aside"]) == {f"2026-04-16/{frame}" for frame in BROKEN}
    frames = run.told["frames"]
    assert frames == {"2026-04-16/close": {"used": 1, "all": 3}, "2026-04-16/overview": {"used": 3, "all": 5}}


def test_the_rest_of_the_flight_goes_through_all_steps(run: Run) -> None:
    measured = {p.name.removesuffix(".tif") for p in (run.job / "out/measure").rglob("*.tif.tif")}
    assert measured == {"over_0020.tif", "over_0022.tif", "over_0023.tif", "near_0010.tif"}
    assert (run.job / "out/report/findings.csv").is_file()


def test_targets_in_good_frames_are_still_used(run: Run) -> None:
    """A board noted by frame and pixel corrects the flight; the one withheld agrees within its interval."""
    method = json.loads((run.job / "out/measure/2026-04-16/overview/method.json").read_text("utf-8"))
    assert any("targets used" in line and "board A" in line for line in method["lines"])
    checks = {row[0]: row[-1] for row in method["references"]}
    assert checks["board B (board; withheld as a check)"] == "yes"


def test_check_says_which_frames_and_why(run: Run) -> None:
    said = flat(run.check)
    assert "3 of 5 frames in use" in said
    for frame in BROKEN:
        assert f"set aside: 2026-04-16/{frame}: {flat(run.reason(frame))}" in said


def test_the_report_lists_them_with_the_reason(run: Run) -> None:
    pages = pypdfium2.PdfDocument(run.job / "out/report/report.pdf")
    text = flat("\n".join(page.get_textpage().get_text_range() for page in pages))
    assert "Frames set aside" in text
    for frame, (_, words) in BROKEN.items():
        assert frame.split("/")[1] in text
        assert all(word in text for word in words)


def test_frames_as_recorded_are_left_as_they_are(run: Run, small_demo: tuple[Path, Path]) -> None:
    for path in (small_demo[0] / FLIGHTS).rglob("*.tif"):
        there = run.job / path.relative_to(small_demo[0])
        broken = f"{path.parents[1].name}/{path.name}" in BROKEN
        assert (there.read_bytes() != path.read_bytes()) == broken
