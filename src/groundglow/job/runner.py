"""The runner: does items of work that are not up to date, in this process or over a pool of processes.

An item writes to temporary names; the runner renames them and notes the item in the ledger. A run that is
killed loses at most the items in hand, and running again finishes with the same bytes.
"""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any, Protocol

from groundglow import __version__
from groundglow.errors import FrameError, JobError
from groundglow.job.folder import JobFolder
from groundglow.job.ledger import Entry, Ledger
from groundglow.job.warm import warm_up

__all__ = ["Item", "Runner", "Watcher", "code_digest", "pool"]

#: One thread a worker: the processes share the cores, and sums keep their order.
THREAD_SETTINGS = ("NUMBA_NUM_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
#: Rooms whose code decides what an output holds; a change in them makes outputs stale.
DECIDING_ROOMS = ("model", "records", "frames", "kit", "steps")


@dataclass(frozen=True)
class Item:
    """One piece of work: ``function(*outputs, **arguments)`` writes the outputs it is given names for.

    Parameters
    ----------
    step, key : str
        Together the item's name in the ledger.
    function : callable
        At module level, so that another process can call it.
    arguments : dict
        Picklable; part of the item's signature (paths by their name within the job).
    inputs : tuple of Path
        Files that it reads; their digests are part of the signature.
    outputs : tuple of Path
        Files that it makes.
    """

    step: str
    key: str
    function: Callable[..., None]
    arguments: dict[str, Any] = field(default_factory=dict)
    inputs: tuple[Path, ...] = ()
    outputs: tuple[Path, ...] = ()


class Watcher(Protocol):
    """Who is told how the work goes; the faces bring one."""

    def begin(self, step: str, total: int, kept: int, why: str) -> None:
        """``total`` items are to be done, ``kept`` are up to date; ``why`` says in words why."""

    def advance(self, item: str, set_aside: str) -> None:
        """One item is done, or set aside for a reason."""


@dataclass
class Tally:
    """How a step went: numbers of items done and kept, and reasons of those set aside."""

    done: int = 0
    kept: int = 0
    set_aside: dict[str, str] = field(default_factory=dict)
    why: str = ""


@cache
def code_digest() -> str:
    """Digest of the code that decides what outputs hold."""
    home = Path(__file__).resolve().parents[1]
    total = hashlib.sha256(__version__.encode())
    for room in DECIDING_ROOMS:
        for path in sorted(home.joinpath(room).rglob("*")):
            if path.is_file() and path.suffix in (".py", ".csv", ".toml", ".npz", ".json", ".typ"):
                total.update(path.relative_to(home).as_posix().encode())
                total.update(path.read_bytes())
    return total.hexdigest()


def _plain(value: Any, job: JobFolder) -> Any:
    if isinstance(value, Path):
        return job.relative(value)
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    if hasattr(value, "model_dump"):
        return value.model_dump()
    if hasattr(value, "tolist"):
        return value.tolist()
    raise TypeError(f"an argument of type {type(value).__name__} has no place in the ledger")


def _worker_start() -> None:
    import cv2

    cv2.setNumThreads(1)


@contextmanager
def pool(workers: int) -> Iterator[Executor | None]:
    """A pool of processes, or None for one worker: then work is done in this process."""
    if workers <= 1:
        yield None
        return
    before = {name: os.environ.get(name) for name in THREAD_SETTINGS}
    os.environ.update(dict.fromkeys(THREAD_SETTINGS, "1"))
    context = multiprocessing.get_context("spawn")
    try:
        with ProcessPoolExecutor(workers, mp_context=context, initializer=_worker_start) as executor:
            try:
                yield executor
            except BaseException:
                executor.shutdown(wait=False, cancel_futures=True)  # what waits is left; what is in hand ends
                raise
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _attempt(function: Callable[..., None], names: Sequence[Path], arguments: dict[str, Any]) -> str:
    try:
        function(*names, **arguments)
    except FrameError as reason:
        for name in names:
            name.unlink(missing_ok=True)
        return str(reason) or "set aside without a reason"
    return ""


class Runner:
    """Keeps the outputs of a job up to date; the only writer of its ledger."""

    def __init__(self, job: JobFolder, ledger: Ledger, executor: Executor | None, watcher: Watcher | None) -> None:
        self.job, self.ledger, self.watcher = job, ledger, watcher
        self._executor = executor
        self._warm = False
        self._code = code_digest()
        self.tallies: dict[str, Tally] = {}

    def signature(self, item: Item) -> tuple[str, dict[str, str], dict[str, Any]]:
        """Digest of all that decides the item's outputs, with the inputs' digests and the settings."""
        inputs = {self.job.relative(p): self.ledger.digest(p) for p in item.inputs}
        settings = json.loads(json.dumps(item.arguments, default=lambda v: _plain(v, self.job), sort_keys=True))
        name = f"{item.function.__module__}.{item.function.__qualname__}"
        outputs = [self.job.relative(p) for p in item.outputs]
        text = json.dumps([self._code, name, inputs, settings, outputs], sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest(), inputs, settings

    def why_not(self, item: Item) -> str:
        """Why an item has to be done, in words; empty when it is up to date."""
        entry = self.ledger.entry(item.step, item.key)
        if entry is None:
            return "not made yet"
        signature, inputs, _ = self.signature(item)
        if entry.signature != signature:
            changed = sorted(p for p in {*inputs, *entry.inputs} if inputs.get(p) != entry.inputs.get(p))
            return f"{changed[0]} changed" if changed else "settings or version changed"
        if entry.set_aside:
            return ""
        gone = [p for p in item.outputs if self.ledger.digest(p) != entry.outputs.get(self.job.relative(p))]
        return f"{self.job.relative(gone[0])} is missing or was changed" if gone else ""

    def do(self, items: Iterable[Item]) -> None:
        """Bring a batch of items of one step up to date."""
        batch = list(items)
        if not batch:
            return
        reasons = {item.key: self.why_not(item) for item in batch}
        due = [item for item in batch if reasons[item.key]]
        tally = self.tallies.setdefault(batch[0].step, Tally())
        self._note_kept(batch, reasons, tally)
        why = next((r for r in reasons.values() if r), "")
        tally.why = tally.why or why
        if self.watcher:
            self.watcher.begin(batch[0].step, len(due), len(batch) - len(due), why)
        for item, set_aside in self._work(due):
            self._settle(item, set_aside, tally)

    def prune(self, step: str, keys: set[str]) -> None:
        """Forget items that are no longer asked for, and remove what they made and no other item made since."""
        entries = list(self.ledger.entries(step))
        gone = [e for e in entries if e.key not in keys]
        kept = {name for e in entries if e.key in keys for name in e.outputs}
        for entry in gone:
            for name in set(entry.outputs) - kept:
                (self.job.root / name).unlink(missing_ok=True)
        self.ledger.forget(step, {e.key for e in gone})

    def _note_kept(self, batch: list[Item], reasons: dict[str, str], tally: Tally) -> None:
        for item in batch:
            if not reasons[item.key]:
                entry = self.ledger.entry(item.step, item.key)
                tally.kept += 1
                if entry and entry.set_aside:
                    tally.set_aside[item.key] = entry.set_aside

    def _work(self, due: list[Item]) -> Iterator[tuple[Item, str]]:
        for item in due:
            for path in item.outputs:
                path.parent.mkdir(parents=True, exist_ok=True)
        if self._executor is None or len(due) == 1:
            for item in due:
                yield item, _attempt(item.function, _temporary(item), item.arguments)
            return
        try:
            yield from self._work_in_pool(due, self._executor)
        except BrokenProcessPool as error:
            raise JobError(
                "A worker process ended without a word (killed, or out of memory). What was finished is kept; "
                "run again, with fewer --workers if memory is short."
            ) from error

    def _work_in_pool(self, due: list[Item], executor: Executor) -> Iterator[tuple[Item, str]]:
        if not self._warm:
            self._warm = True
            warm_up(executor)
        waiting = iter(due)
        running: dict[Future[str], Item] = {}
        while True:
            for item in waiting:
                running[executor.submit(_attempt, item.function, _temporary(item), item.arguments)] = item
                if len(running) >= 16:
                    break
            if not running:
                return
            finished, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in finished:
                yield running.pop(future), future.result()

    def _settle(self, item: Item, set_aside: str, tally: Tally) -> None:
        signature, inputs, settings = self.signature(item)
        outputs: dict[str, str] = {}
        if set_aside:
            tally.set_aside[item.key] = set_aside
            for path in item.outputs:
                path.unlink(missing_ok=True)
        else:
            for temporary, path in zip(_temporary(item), item.outputs, strict=True):
                os.replace(temporary, path)
                outputs[self.job.relative(path)] = self.ledger.digest(path)
        self.ledger.write(Entry(item.step, item.key, signature, set_aside, inputs, outputs, settings, __version__))
        tally.done += 1
        if self.watcher:
            self.watcher.advance(item.key, set_aside)


def _temporary(item: Item) -> tuple[Path, ...]:
    return tuple(p.with_name(f".part-{p.name}") for p in item.outputs)
