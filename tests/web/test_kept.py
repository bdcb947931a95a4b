"""What the server keeps of a job is made again when a file has changed, and only then."""

from __future__ import annotations

import os
import socket
import sqlite3
from contextlib import closing
from pathlib import Path

from groundglow.cli.serve_run import _listen
from groundglow.web.kept import Kept, tree_mark


def test_an_answer_leaves_at_once() -> None:
    """Without the protocol named asyncio leaves TCP_NODELAY off, and each answer waits 40 ms to be acknowledged."""
    with _listen("127.0.0.1", 0) as listening:
        assert listening.proto == socket.IPPROTO_TCP


def test_a_thing_is_made_again_when_its_file_or_its_state_changes(tmp_path: Path) -> None:
    path, kept, made = tmp_path / "a", Kept(4), iter(range(9))
    path.write_text("one")
    assert [kept.get("k", (path,), lambda: next(made), "s") for _ in range(2)] == [0, 0]
    path.write_text("other")
    assert kept.get("k", (path,), lambda: next(made), "s") == 1
    assert kept.get("k", (path,), lambda: next(made), "t") == 2


def test_the_mark_of_a_folder_follows_every_file_below(tmp_path: Path) -> None:
    deep = tmp_path / "visits" / "flight"
    deep.mkdir(parents=True)
    marks = [tree_mark(tmp_path)]
    (deep / "frame.tif").write_bytes(b"1")
    marks.append(tree_mark(tmp_path))
    (deep / "frame.tif").write_bytes(b"22")
    marks.append(tree_mark(tmp_path))
    os.utime(deep / "frame.tif", ns=(1, 1))
    marks.append(tree_mark(tmp_path))
    (deep / "frame.tif").unlink()
    marks.append(tree_mark(tmp_path))
    assert len(set(marks[:4])) == 4
    assert marks[4] == marks[0] == tree_mark(tmp_path)


def test_reading_the_ledger_is_no_change_of_the_job(tmp_path: Path) -> None:
    """Two pages that ask at once would otherwise see each other's open ledger, and work everything out each time."""
    with closing(sqlite3.connect(tmp_path / "ledger.sqlite")) as base:
        base.execute("PRAGMA journal_mode=WAL")
        base.execute("CREATE TABLE a (b)")
    before = tree_mark(tmp_path)
    with closing(sqlite3.connect(tmp_path / "ledger.sqlite")) as base:
        base.execute("SELECT * FROM a").fetchall()
        assert list(tmp_path.glob("*-wal"))
        assert tree_mark(tmp_path) == before
    assert tree_mark(tmp_path) == before


def test_a_link_to_nothing_does_not_stop_the_mark(tmp_path: Path) -> None:
    (tmp_path / "gone").symlink_to(tmp_path / "nowhere")
    assert tree_mark(tmp_path) == tree_mark(tmp_path)
