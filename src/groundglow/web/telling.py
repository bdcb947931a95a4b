"""Small things told the same way everywhere: times, files, parts of addresses."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote

from groundglow.job.folder import JobFolder

__all__ = ["clock", "file_told", "part", "without_place"]


def clock(time: float | None) -> str | None:
    """A UTC time as ISO 8601.

    Examples
    --------
    >>> clock(0.0), clock(None)
    ('1970-01-01T00:00:00Z', None)
    """
    if time is None:
        return None
    return datetime.fromtimestamp(time, UTC).isoformat(timespec="seconds").replace("+00:00", "Z")


def file_told(job: JobFolder, path: Path) -> dict[str, Any]:
    """A file that can be had."""
    stat = path.stat()
    return {
        "name": path.name, "path": job.relative(path), "bytes": stat.st_size, "changed_at": clock(stat.st_mtime)
    }  # fmt: skip


def part(name: str) -> str:
    """A part of an address, encoded as browsers' own ``encodeURIComponent`` does; a flight's key keeps its slash.

    Examples
    --------
    >>> part("2026-04-16/north & south")
    '2026-04-16/north%20%26%20south'
    """
    return quote(name, safe="/!'()*~-_.")


def without_place(message: str, root: Path) -> str:
    """A message without where on the server's disk a folder lies.

    Examples
    --------
    >>> without_place("/srv/jobs/mill/brief.toml: no title", Path("/srv/jobs"))
    'mill/brief.toml: no title'
    """
    return message.replace(f"{root}/", "").replace(str(root), root.name)
