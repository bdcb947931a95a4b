"""The ledger: which step made what, from which inputs, with which settings and version. One writer."""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from groundglow.errors import JobError

__all__ = ["Entry", "Ledger", "file_digest", "one_writer", "writer_of"]

LOCK = ".running"
SCHEMA = """
CREATE TABLE IF NOT EXISTS digests (
    path TEXT PRIMARY KEY, size INTEGER, mtime_ns INTEGER, inode INTEGER, sha256 TEXT);
CREATE TABLE IF NOT EXISTS items (
    step TEXT, key TEXT, signature TEXT, set_aside TEXT, inputs TEXT, outputs TEXT, settings TEXT,
    version TEXT, made_at TEXT, PRIMARY KEY (step, key));
"""


@dataclass(frozen=True)
class Entry:
    """One item of work as it was done.

    ``set_aside`` is empty, or the reason why the item gave no output. ``inputs`` and ``outputs`` map paths
    relative to the job to SHA-256 digests.
    """

    step: str
    key: str
    signature: str
    set_aside: str
    inputs: dict[str, str]
    outputs: dict[str, str]
    settings: dict[str, Any]
    version: str
    made_at: str = ""


def file_digest(path: Path) -> str:
    """SHA-256 of a file's bytes, hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


class Ledger:
    """The ledger of one job, in SQLite. Reading is open to all; only the runner writes."""

    def __init__(self, path: Path, root: Path) -> None:
        self.root = root
        self._base = sqlite3.connect(path, timeout=30)
        self._base.execute("PRAGMA journal_mode=WAL")
        self._base.execute("PRAGMA synchronous=NORMAL")
        self._base.executescript(SCHEMA)

    def close(self) -> None:
        """Let go of the file."""
        self._base.close()

    def digest(self, path: Path) -> str:
        """Digest of a file, from the cache when size, time and inode are unchanged; "" if it is missing."""
        try:
            stat = path.stat()
        except FileNotFoundError:
            return ""
        name = os.path.relpath(path, self.root)
        mark = (stat.st_size, stat.st_mtime_ns, stat.st_ino)
        row = self._base.execute("SELECT size, mtime_ns, inode, sha256 FROM digests WHERE path = ?", (name,)).fetchone()
        if row and row[:3] == mark:
            return str(row[3])
        digest = file_digest(path)
        with self._base:
            self._base.execute("INSERT OR REPLACE INTO digests VALUES (?, ?, ?, ?, ?)", (name, *mark, digest))
        return digest

    def entry(self, step: str, key: str) -> Entry | None:
        """What is written of one item, if anything."""
        row = self._base.execute("SELECT * FROM items WHERE step = ? AND key = ?", (step, key)).fetchone()
        return _entry(row) if row else None

    def entries(self, step: str | None = None) -> tuple[Entry, ...]:
        """All items of a step, or of all steps, ordered by step and key."""
        rows = self._base.execute(
            "SELECT * FROM items WHERE ? IS NULL OR step = ? ORDER BY step, key", (step, step)
        ).fetchall()
        return tuple(_entry(row) for row in rows)

    def write(self, entry: Entry) -> None:
        """Note one item as done; replaces what was noted before."""
        made_at = datetime.now(UTC).isoformat(timespec="seconds")
        values = (
            entry.step, entry.key, entry.signature, entry.set_aside, _text(entry.inputs), _text(entry.outputs),
            _text(entry.settings), entry.version, made_at,
        )  # fmt: skip
        with self._base:
            self._base.execute("INSERT OR REPLACE INTO items VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", values)

    def forget(self, step: str, keys: set[str]) -> None:
        """Drop what is noted of items that no longer exist."""
        with self._base:
            self._base.executemany("DELETE FROM items WHERE step = ? AND key = ?", [(step, k) for k in sorted(keys)])


def _text(value: object) -> str:
    return json.dumps(value, sort_keys=True)


def _entry(row: tuple[str, ...]) -> Entry:
    step, key, signature, set_aside, inputs, outputs, settings, version, made_at = row
    return Entry(
        step,
        key,
        signature,
        set_aside,
        json.loads(inputs),
        json.loads(outputs),
        json.loads(settings),
        version,
        made_at,
    )


@contextmanager
def one_writer(root: Path) -> Iterator[None]:
    """Hold the job for writing; another run on the same job is refused, not mixed in.

    Raises
    ------
    JobError
        When another run holds it.
    """
    with (root / LOCK).open("a+") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            raise JobError(
                f"{root} is being worked on by another run{_words(root)}. Wait for it to end, then run again."
            ) from error
        lock.truncate(0)
        lock.write(json.dumps({"process": os.getpid(), "since": datetime.now(UTC).isoformat(timespec="seconds")}))
        lock.flush()
        try:
            yield
        finally:
            lock.truncate(0)


def writer_of(root: Path) -> dict[str, Any] | None:
    """Process that holds a job for writing and since when, or None; asking takes no lock."""
    try:
        found = json.loads((root / LOCK).read_text())
        os.kill(int(found["process"]), 0)
    except (OSError, ValueError, KeyError, TypeError):
        return None
    return dict(found)


def _words(root: Path) -> str:
    holder = writer_of(root)
    return f" (process {holder['process']}, since {holder['since']})" if holder else ""
