"""Long work: runs in processes of their own, with their progress, and a way to stop them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import threading
import uuid
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

from groundglow.errors import JobError
from groundglow.job.chain import ALONE
from groundglow.job.folder import JobFolder
from groundglow.job.ledger import writer_of
from groundglow.web.audit import Audit
from groundglow.web.refusals import Refusal
from groundglow.web.telling import without_place

__all__ = ["LiveRun", "Run", "RunKeeper"]

#: Runs that are remembered, and events of one run that are.
MOST_RUNS, MOST_EVENTS = 200, 20_000
#: Seconds from asking a run to stop until it is made to.
PATIENCE = 20.0


@dataclass
class Run:
    """One run as it stands; ``counted`` names what ``done`` and ``total`` count: frame, flight or question."""

    id: str
    job: str
    until: str
    who: str
    begun_at: str
    state: str = "running"
    step: str = ""
    done: int = 0
    total: int = 0
    counted: str = ""
    message: str = ""
    ended_at: str = ""
    set_aside: dict[str, str] = field(default_factory=dict)


class LiveRun:
    """A run with its process, its events, and the file that takes what its process complains of."""

    def __init__(self, run: Run, process: subprocess.Popen[bytes], complaints: IO[bytes]) -> None:
        self.run, self.process, self.complaints = run, process, complaints
        self.events: list[tuple[str, dict[str, Any]]] = [("progress", asdict(run))]
        self.stopping = False

    @property
    def ended(self) -> bool:
        """Whether its last event was told."""
        return self.events[-1][0] == "end"

    def add(self, event: str, data: dict[str, Any]) -> None:
        """Tell one event."""
        if len(self.events) < MOST_EVENTS or event == "end":
            self.events.append((event, data))


class RunKeeper:
    """Starts runs, one a job, and knows how they go."""

    def __init__(self, audit: Audit, workers: int) -> None:
        self._audit, self._workers = audit, workers or os.cpu_count() or 1
        self._lock = threading.Lock()
        self._live: dict[str, LiveRun] = {}

    def start(self, job: JobFolder, until: str, who: str, workers: int = 0) -> Run:
        """Start a run.

        Raises
        ------
        JobError
            When another run, of this page or of a command line, holds the job.
        """
        with self._lock:
            if any(x.run.job == str(job.root) and x.run.state == "running" for x in self._live.values()):
                raise JobError("A run of this page is at work on this job. Wait for it, or stop it, then run again.")
            holder = writer_of(job.root)
            if holder is not None:
                raise JobError(
                    f"A run outside of this page (process {holder['process']}, since {holder['since']}) is at work on "
                    "this job. Wait for it to end, then run again."
                )
            run = Run(uuid.uuid4().hex[:12], str(job.root), until, who, _now())
            complaints = tempfile.TemporaryFile()  # noqa: SIM115 - closed when the run has ended
            live = LiveRun(run, _process(job.root, until, workers or self._workers, complaints), complaints)
            self._live[run.id] = live
            self._forget()
        self._audit.note(job.root, who, "run", {"run": run.id, "until": until})
        threading.Thread(target=self._follow, args=(live, job), daemon=True).start()
        return run

    def of(self, job: JobFolder) -> list[Run]:
        """Runs of a job, newest first."""
        with self._lock:
            return [x.run for x in reversed(self._live.values()) if x.run.job == str(job.root)]

    def find(self, job: JobFolder, run: str) -> LiveRun:
        """A run by its id."""
        with self._lock:
            live = self._live.get(run)
        if live is None or live.run.job != str(job.root):
            raise Refusal(404, f"There is no run {run!r} of this job.", "JobError")
        return live

    def stop(self, job: JobFolder, run: str, who: str) -> Run:
        """Ask a run to stop; what it finished is kept."""
        live = self.find(job, run)
        if live.run.state == "running":
            live.stopping = True
            self._audit.note(job.root, who, "cancel", {"run": run})
            _let_go(live.process)
            threading.Timer(PATIENCE, live.process.kill).start()
        return live.run

    def close(self) -> None:
        """Stop all runs, for the end of the server."""
        with self._lock:
            lives = [x for x in self._live.values() if x.run.state == "running"]
        for live in lives:
            live.stopping = True
            _let_go(live.process)
        for live in lives:
            try:
                live.process.wait(PATIENCE)
            except subprocess.TimeoutExpired:
                live.process.kill()

    def _forget(self) -> None:
        ended = [key for key, x in self._live.items() if x.run.state != "running"]
        for key in ended[: max(0, len(self._live) - MOST_RUNS)]:
            del self._live[key]

    def _follow(self, live: LiveRun, job: JobFolder) -> None:
        run, said = live.run, live.process.stdout
        for line in said or ():
            _take(live, line)
        code = live.process.wait()
        _let_go(live.process)
        if said is not None:
            said.close()
        run.ended_at = _now()
        if run.state == "running":
            stopped = live.stopping or code == 130
            run.state = "cancelled" if stopped else "failed"
            trouble = without_place(_last_words(live.complaints, code), job.root)
            run.message = (
                "stopped; what was finished is kept, run again to go on"
                if stopped
                else f"the run ended too early ({trouble}); what was finished is kept"
            )
        live.complaints.close()
        self._audit.note(job.root, run.who, "run ended", {"run": run.id, "state": run.state, "message": run.message})
        live.add("end", asdict(run))


def _take(live: LiveRun, line: bytes) -> None:
    """One event of the run's own process."""
    try:
        told = json.loads(line)
    except ValueError:
        return
    run = live.run
    match told.get("event"):
        case "begin":
            run.step, run.done, run.total, run.message = told["step"], 0, told["total"], told["why"]
            run.counted = _counted(run.step, run.total + told["kept"], len(JobFolder(Path(run.job)).flights()))
        case "advance":
            run.done += 1
            if told["set_aside"]:
                run.set_aside[told["item"]] = told["set_aside"]
                live.add("aside", {"item": told["item"], "reason": without_place(told["set_aside"], Path(run.job))})
        case "failed":
            run.state, run.message = "failed", without_place(told["message"], Path(run.job))
            return
        case "done":
            run.state, run.message, run.set_aside = "done", "", told["set_aside"]
            return
    live.add("progress", asdict(run))


def _counted(step: str, items: int, flights: int) -> str:
    """What a batch consists of: steps work frame by frame, or once a flight; empty where it is one thing.

    Examples
    --------
    >>> _counted("register", 84, 2), _counted("register", 2, 2), _counted("fit", 3, 0)
    ('frame', 'flight', 'question')
    """
    if step in ALONE:
        return "question"
    if step == "report" or items == 1 < flights:
        return ""
    return "frame" if items > flights else "flight"


def _process(root: Path, until: str, workers: int, complaints: IO[bytes]) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "groundglow.job.apart", str(root), until, str(workers)]
    return subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=complaints, start_new_session=True
    )


def _last_words(complaints: IO[bytes], code: int) -> str:
    """Last line that a process wrote of its trouble."""
    complaints.seek(0)
    lines = complaints.read()[-4000:].decode("utf-8", "replace").split("\n")
    return next((line.strip() for line in reversed(lines) if line.strip()), f"exit code {code}")


def _let_go(process: subprocess.Popen[bytes]) -> None:
    if process.stdin is not None:
        process.stdin.close()


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
