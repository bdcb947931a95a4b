"""Many at once, and a server that is killed: no error, and nothing that was answered for is lost."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from pathlib import Path

import httpx
import pytest
from tests.web.web_jobs import make_job, serving

from groundglow.job.folder import open_job
from groundglow.job.ledger import writer_of
from groundglow.job.review import decide, decisions_of, review_file

READS = (
    "/api/jobs", "/api/jobs/mill", "/api/jobs/mill/findings?limit=100&sort=-rise", "/api/jobs/mill/findings/00000007",
    "/api/jobs/mill/findings?status=found&text=seen", "/api/jobs/mill/decisions", "/api/jobs/mill/brief",
    "/api/jobs/mill/files/findings.review.csv",
)  # fmt: skip


def _busy(client: httpx.Client, seconds: float, readers: int, writers: int) -> tuple[Counter[int], list[int]]:
    """Readers and writers at once; statuses, and numbers of the decisions that were answered for."""
    ends, statuses, answered = time.monotonic() + seconds, Counter[int](), list[int]()
    lock = threading.Lock()

    def read(start: int) -> None:
        with httpx.Client(base_url=client.base_url, timeout=60.0, trust_env=False) as own:
            for i in range(start, sys.maxsize):
                if time.monotonic() > ends:
                    return
                status = own.get(READS[i % len(READS)]).status_code
                with lock:
                    statuses[status] += 1

    def write(start: int) -> None:
        with httpx.Client(base_url=client.base_url, timeout=60.0, trust_env=False) as own:
            for i in range(start, sys.maxsize, writers):
                if time.monotonic() > ends:
                    return
                said = {"action": "note", "value": f"note {i}", "by": f"writer {start}"}
                made = own.post(f"/api/jobs/mill/findings/{i % 60 + 1:08x}/decisions", json=said)
                with lock:
                    statuses[made.status_code] += 1
                    answered.append(made.json()["decision"])

    threads = [threading.Thread(target=read, args=(i,)) for i in range(readers)]
    threads += [threading.Thread(target=write, args=(i,)) for i in range(writers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return statuses, answered


def _all_kept(job: Path, answered: list[int]) -> None:
    kept = decisions_of(open_job(job))
    assert [d.decision for d in kept] == list(range(1, len(kept) + 1)), "numbered without a gap or a double"
    assert sorted(answered) == [d.decision for d in kept]


def _crowd(tmp_path: Path, seconds: float, readers: int) -> None:
    make_job(tmp_path / "mill", 60)
    (tmp_path / "mill" / "findings.review.csv").write_text("", "utf-8")
    with serving(tmp_path) as (client, _):
        statuses, answered = _busy(client, seconds, readers, 4)
        shown = client.get("/api/jobs/mill/decisions").json()["total"]
    assert set(statuses) == {200, 201}
    assert len(answered) > 4
    assert shown == len(answered)
    _all_kept(tmp_path / "mill", answered)


def test_readers_and_writers_at_once_lose_no_review(tmp_path: Path) -> None:
    _crowd(tmp_path, 4.0, 12)


@pytest.mark.accept
def test_fifty_readers_and_four_writers_for_two_minutes_lose_no_review(tmp_path: Path) -> None:
    _crowd(tmp_path, 120.0, 50)


def test_a_server_killed_during_reviews_loses_none_that_it_answered_for(tmp_path: Path) -> None:
    job = make_job(tmp_path / "mill", 60)
    answered: list[int] = []
    with serving(tmp_path) as (client, process):

        def review() -> None:
            with httpx.Client(base_url=client.base_url, timeout=10.0, trust_env=False) as own:
                for i in range(sys.maxsize):
                    said = {"action": "note", "value": "x" * 1500, "by": "A. Example"}
                    try:
                        made = own.post(f"/api/jobs/mill/findings/{i % 60 + 1:08x}/decisions", json=said)
                    except httpx.TransportError:
                        return
                    answered.append(made.json()["decision"])

        writers = [threading.Thread(target=review) for _ in range(3)]
        for writer in writers:
            writer.start()
        while len(answered) < 20:
            time.sleep(0.01)
        process.send_signal(signal.SIGKILL)
        for writer in writers:
            writer.join()
    kept = [d.decision for d in decisions_of(open_job(job))]
    assert set(answered) <= set(kept)
    assert kept == list(range(1, len(kept) + 1))
    with serving(tmp_path) as (client, _):
        made = client.post("/api/jobs/mill/findings/00000001/decisions", json={"action": "accept", "by": "B"})
        assert made.json()["decision"] == len(kept) + 1


@pytest.mark.parametrize("cut", [1, 20, 45])
def test_a_line_that_a_crash_cut_short_spoils_no_other(tmp_path: Path, cut: int) -> None:
    job = open_job(make_job(tmp_path / "mill", 3))
    for name in ("A", "B"):
        decide(job, ("00000001", 1), "accept", by=name)
    whole = review_file(job).read_bytes()
    review_file(job).write_bytes(whole + whole[-cut - 1 : -1])
    assert [d.by for d in decisions_of(job)] == ["A", "B"]
    assert decide(job, ("00000001", 1), "reject", by="C").decision == 3
    assert [d.by for d in decisions_of(job)] == ["A", "B", "C"]


def test_a_server_killed_during_a_run_leaves_a_job_that_another_run_finishes(
    small_demo: tuple[Path, Path], tmp_path: Path
) -> None:
    job = tmp_path / "shelf" / "yard"
    shutil.copytree(small_demo[0], job)
    with serving(tmp_path / "shelf", "--workers", "1") as (client, process):
        client.post("/api/jobs/yard/runs", json={"until": "check"})
        _until(lambda: writer_of(job) is not None, "the run began")
        _until(lambda: _something(job / "out" / "check"), "something was finished")
        process.send_signal(signal.SIGKILL)
        process.wait(30)
    _until(lambda: writer_of(job) is None, "the run ended with its server")
    made = {p: p.read_bytes() for p in (job / "out").rglob("*.json") if not p.name.startswith(".part-")}
    done = subprocess.run(
        [sys.executable, "-m", "groundglow", "check", str(job), "--workers", "1", "--quiet"], check=False
    )
    assert done.returncode == 0
    assert made, "what was finished is kept"
    assert all(path.read_bytes() == content for path, content in made.items())
    assert len(list((job / "out" / "check").rglob("log.json"))) == 2
    assert not list(job.rglob(".part-*"))


def test_a_run_is_stopped_and_finished_later(small_demo: tuple[Path, Path], tmp_path: Path) -> None:
    job = tmp_path / "shelf" / "yard"
    shutil.copytree(small_demo[0], job)
    with serving(tmp_path / "shelf", "--workers", "1") as (client, _):
        run = client.post("/api/jobs/yard/runs", json={"until": "check"}).json()["id"]
        assert client.post("/api/jobs/yard/runs", json={"until": "check"}).status_code == 409
        _until(lambda: _something(job / "out" / "check"), "something was finished")
        assert client.delete(f"/api/jobs/yard/runs/{run}").status_code == 202
        _until(lambda: client.get(f"/api/jobs/yard/runs/{run}").json()["state"] != "running", "the run stopped")
        state = client.get(f"/api/jobs/yard/runs/{run}").json()["state"]
        assert state in ("cancelled", "done"), "done when it was quicker than the wish to stop it"
        again = client.post("/api/jobs/yard/runs", json={"until": "check"}).json()["id"]
        _until(lambda: client.get(f"/api/jobs/yard/runs/{again}").json()["state"] == "done", "it was finished")
        flown = client.get("/api/jobs/yard").json()["flight_list"]
        assert sum(f["used"] for f in flown) == 8


def _until(holds: object, what: str, seconds: float = 300.0) -> None:
    ends = time.monotonic() + seconds
    while not holds():  # type: ignore[operator]
        assert time.monotonic() < ends, f"waited in vain: {what}"
        time.sleep(0.02)


def _something(folder: Path) -> bool:
    """Whether a file was finished; folders of work under way come and go meanwhile."""
    try:
        return any(folder.rglob("*.json"))
    except FileNotFoundError:
        return False
