"""How long the server takes to filter, sort and tell 5,000 findings, as a ratio to telling one small answer.

    python benchmarks/bench_web.py

The floor is ``/api/about`` of the same server in the same run: all that a request costs which does no work.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import httpx

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.web.web_jobs import make_job, serving

QUERIES = {
    "one page of 100, by number": "limit=100",
    "filtered by three things, sorted by rise": "limit=100&status=found,unconfirmed&least_rise=3&text=seen&sort=-rise",
    "a rectangle on the map": "limit=100&bbox=20.9,47.2,20.9025,47.4",
    "500 rows at once": "limit=500&sort=-contrast",
}
TIMES = 30


def seconds(client: httpx.Client, url: str) -> float:
    """Median of some requests, the first ones left out."""
    found = []
    for _ in range(TIMES + 3):
        begun = time.perf_counter()
        client.get(url).raise_for_status()
        found.append(time.perf_counter() - begun)
    return median(found[3:])


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        make_job(Path(folder) / "mill", 5000)
        with serving(Path(folder)) as (client, _):
            floor = seconds(client, "/api/about")
            print(f"floor, an answer without work: {1e3 * floor:.1f} ms")
            for name, query in QUERIES.items():
                took = seconds(client, f"/api/jobs/mill/findings?{query}")
                print(f"{name:<45} {took / floor:6.1f} x floor  {1e3 * took:7.1f} ms")


if __name__ == "__main__":
    main()
