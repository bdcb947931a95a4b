"""Who changed what, and when: one line of JSON an event, only ever added to."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from groundglow.job.append import append_line, whole_lines

__all__ = ["Audit"]

NAME = "audit.jsonl"


class Audit:
    """The audit trail of jobs, kept in each job's own folder."""

    def __init__(self) -> None:
        self._lock = threading.Lock()

    def note(self, root: Path, who: str, what: str, detail: Mapping[str, Any]) -> None:
        """Add one event; it is on disk when this returns."""
        at = datetime.now(UTC).isoformat(timespec="seconds")
        line = json.dumps({"at": at, "who": who, "what": what, "detail": dict(detail)}, ensure_ascii=False)
        with self._lock:
            append_line(root / NAME, line)

    def events(self, root: Path) -> list[dict[str, Any]]:
        """All events, newest first; a line that was cut short by a crash is passed over."""
        return list(reversed([event for line in whole_lines(root / NAME) if (event := _event(line))]))


def _event(line: str) -> dict[str, Any] | None:
    try:
        found = json.loads(line)
    except ValueError:
        return None
    return found if isinstance(found, dict) else None
