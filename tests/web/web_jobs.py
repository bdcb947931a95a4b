"""Jobs by hand for the page's tests: a brief, a drawn site, findings; nothing flown, so that they are made at once."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx

from groundglow.records.finding import Candidate, Finding, Findings, Support, View

SEEN = ("once", "twice", "thrice", "often", "always")
TOKEN = "a-token-of-the-tests"
BRIEF = """
title = "Invented roof"
[site]
name = "Mill roof (invented)"
lon_deg = 20.9
lat_deg = 47.3
outline = "site.geojson"
[[question]]
name = "Leaks"
zone = "roof"
[[question]]
name = "Vents"
[limits]
highest_m = 60.0
"""
SITE = {
    "type": "FeatureCollection",
    "features": [
        {
            "type": "Feature",
            "properties": {"name": "roof"},
            "geometry": {
                "type": "Polygon",
                "coordinates": [[[20.9, 47.3], [20.901, 47.3], [20.901, 47.301], [20.9, 47.301], [20.9, 47.3]]],
            },
        }
    ],
}


def finding(number: int, **said: Any) -> Finding:
    """An invented finding; several in a row differ in all that one can sort by."""
    rise = 1.0 + (number * 37 % 100) / 10
    candidate = Candidate(
        f"f{number % 40:03}.tif", "spot", 1, 10.0, 12.0, (8, 10, 13, 15), 20, 300.0, 299.0, 290.0, rise, 0.2, 1.0, 8.0,
        False, "", ((8.0, 10.0), (13.0, 10.0), (13.0, 15.0)),
    )  # fmt: skip
    made: dict[str, Any] = {
        "id": f"{number:08x}", "number": number, "question": ("Leaks", "Vents")[number % 2], "flight": "v1/f1",
        "shape_kind": "spot", "sign": 1, "unit": "K", "frame": candidate.frame, "box": candidate.box, "area_px": 20,
        "area_m2": 0.1 * number, "size_m": 0.3, "lon_deg": 20.9 + 1e-6 * number, "lat_deg": 47.3, "x": 0.0, "y": 0.0,
        "position_sd_m": 2.0, "peak": 300.0, "mean": 299.0, "mean_low": 297.0, "mean_high": 301.0, "background": 290.0,
        "rise": rise, "rise_low": rise - 0.4, "rise_high": rise + 0.4, "contrast_noise": 5.0 + number % 7,
        "support": list(Support)[number % 4], "support_reason": "", "reason": f"seen {SEEN[number % 5]}",
        "status": ("found", "unconfirmed", "dismissed")[number % 3], "cause": "departure, cause not judged",
        "in_view": 8, "views": (View(candidate, 1.0, 2.0, 2.0),) * 4,
    }  # fmt: skip
    return Finding(**(made | said))


def make_job(folder: Path, count: int = 60) -> Path:
    """A job with invented findings."""
    folder.mkdir(parents=True)
    (folder / "brief.toml").write_text(BRIEF, "utf-8")
    (folder / "site.geojson").write_text(json.dumps(SITE), "utf-8")
    place = folder / "out" / "find" / "findings.json"
    place.parent.mkdir(parents=True)
    place.write_text(Findings(tuple(finding(i) for i in range(1, count + 1)), ()).to_json(), "utf-8")
    return folder


@contextmanager
def serving(root: Path, *options: str, **environment: str) -> Iterator[tuple[httpx.Client, subprocess.Popen[str]]]:
    """``groundglow serve`` in a process of its own, as a person starts it, and a client for it."""
    import os

    command = [sys.executable, "-m", "groundglow", "serve", str(root), "--port", "0", *options]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, text=True, env={**os.environ, **environment, "PYTHONUNBUFFERED": "1"}
    )
    try:
        line = process.stdout.readline() if process.stdout else ""
        assert "http://" in line, f"the server said {line!r}"
        base = line[line.index("http://") :].strip().rstrip("/")
        with httpx.Client(base_url=base, timeout=60.0, trust_env=False) as client:
            _answers(client)
            yield client, process
    finally:
        process.terminate()
        try:
            process.wait(30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        if process.stdout:
            process.stdout.close()


def _answers(client: httpx.Client) -> None:
    for _ in range(300):
        try:
            client.get("/api/about")
            return
        except httpx.TransportError:
            time.sleep(0.1)
    raise AssertionError("the server does not answer")
