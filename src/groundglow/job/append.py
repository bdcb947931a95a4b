"""Files that are only ever added to, by several at once: a line is there whole, or not at all."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Callable
from pathlib import Path

__all__ = ["append_line", "append_made", "whole_lines"]


def append_line(path: Path, line: str, *, head: str = "") -> None:
    """Add one line; it is on disk when this returns.

    Parameters
    ----------
    path : Path
    line : str
        Without its end.
    head : str, optional
        First line of a new file.
    """
    append_made(path, lambda _: line, head=head)


def append_made(path: Path, make: Callable[[list[str]], str], *, head: str = "") -> str:
    """Add a line that follows from all lines before it, while nobody else adds one.

    Parameters
    ----------
    path : Path
    make : callable
        From the whole lines so far (the head among them) to the new line.
    head : str, optional
        First line of a new file.

    Returns
    -------
    str
        The line.

    Notes
    -----
    What a crash left of a line, without its end, was never told to anybody as written; it is taken off first.
    """
    with path.open("a+b") as stream:
        fcntl.flock(stream, fcntl.LOCK_EX)
        stream.seek(0)
        before = stream.read()
        line = make(_whole(before) or ([head] if head else []))
        sound = before.rfind(b"\n") + 1
        stream.truncate(sound)
        first = f"{head}\n".encode() if head and not sound else b""
        stream.write(first + line.encode() + b"\n")
        stream.flush()
        os.fsync(stream.fileno())
    return line


def whole_lines(path: Path) -> list[str]:
    """Lines that have an end; none when there is no such file."""
    try:
        return _whole(path.read_bytes())
    except FileNotFoundError:
        return []


def _whole(content: bytes) -> list[str]:
    return [line.rstrip("\r") for line in content.decode("utf-8", "replace").split("\n")[:-1]]
