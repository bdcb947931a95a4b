"""What was read from a file, kept while the file is unchanged; one reader at a time a file, the others wait for it."""

from __future__ import annotations

import os
import threading
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

__all__ = ["Kept", "tree_mark"]

T = TypeVar("T")
#: What SQLite keeps beside a database that is open.
BESIDE = ("-wal", "-shm", "-journal")
Mark = tuple[object, ...]


class Kept:
    """A small store of what files say.

    Parameters
    ----------
    most : int
        Things kept; the one not asked for longest goes first.
    """

    def __init__(self, most: int = 32) -> None:
        self._most = most
        self._all = threading.Lock()
        self._each: dict[object, threading.Lock] = {}
        self._kept: OrderedDict[object, tuple[Mark, Any]] = OrderedDict()

    def get(self, key: object, files: tuple[Path, ...], make: Callable[[], T], state: object = None) -> T:
        """What ``make`` gives, made again only when one of the files, or the state that is given, has changed."""
        with self._all:
            lock = self._each.setdefault(key, threading.Lock())
        with lock:
            mark = (state, *(_mark(path) for path in files))
            with self._all:
                found = self._kept.get(key)
                if found is not None and found[0] == mark:
                    self._kept.move_to_end(key)
                    kept: T = found[1]
                    return kept
            made = make()
            with self._all:
                self._kept[key] = (mark, made)
                self._kept.move_to_end(key)
                while len(self._kept) > self._most:
                    gone, _ = self._kept.popitem(last=False)
                    self._each.pop(gone, None)
            return made


def tree_mark(folder: Path) -> int:
    """A number that changes with the name, size or time of any file below a folder.

    Files that a database opens beside itself while somebody reads it say nothing new and are left out.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as name:
    ...     before = tree_mark(Path(name))
    ...     _ = (Path(name) / "a").write_text("b")
    ...     tree_mark(Path(name)) == before
    False
    """
    found: list[object] = []
    waiting = [str(folder)]
    while waiting:
        try:
            entries = sorted(os.scandir(waiting.pop()), key=_name)
        except OSError:  # gone since it was listed: its parent has changed
            continue
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                waiting.append(entry.path)
            elif not entry.name.endswith(BESIDE):
                found.append((entry.path, _mark(entry)))
    return hash(tuple(found))


def _name(entry: os.DirEntry[str]) -> str:
    return entry.name


def _mark(of: Path | os.DirEntry[str]) -> tuple[int, int, int] | None:
    try:
        stat = of.stat()
    except OSError:
        return None
    return stat.st_size, stat.st_mtime_ns, stat.st_ino
