"""Who changed what, and when: one line of JSON an event, only ever added to."""

from __future__ import annotations

import json
import threading
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from groundglow.job.append import append_line, whole_lines

__all__ = ["Audit", "told"]

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


#: What each kind of event says of its detail.
_WORDS: Mapping[str, str] = {
    "new": "job {job} made",
    "brief": "brief changed: {title}",
    "site": "site drawn: {zones}",
    "flight": "flight {flight} added",
    "run": "run begun, up to {until}",
    "cancel": "run stopped",
    "run ended": "run ended: {state}",
    "report options": "options of the report changed",
}
_DECIDED: Mapping[str, str] = {
    "accept": "finding {number} accepted",
    "reject": "finding {number} rejected",
    "regrade": "finding {number} graded: {value}",
    "reword": "finding {number} described: {value}",
    "note": "note on finding {number}: {value}",
    "undo": "decision {undoes} on finding {number} taken back",
}


def told(event: Mapping[str, Any]) -> str:
    """An event in words: what was changed, and to what.

    Examples
    --------
    >>> told({"what": "review", "detail": {"number": 3, "action": "regrade", "value": "watch", "note": "on site"}})
    'finding 3 graded: watch (on site)'
    >>> told({"what": "upload", "detail": {"flight": "v1/f1", "frame": "a.tif", "bytes": 12}})
    'a.tif taken in to v1/f1'
    """
    what, detail = str(event.get("what", "")), event.get("detail")
    said = {k: _plain(v) for k, v in detail.items()} if isinstance(detail, dict) else {}
    if what == "review":
        words = _DECIDED.get(said.get("action", ""), "finding {number}: {action} {value}")
        note = f" ({said['note']})" if said.get("note") else ""
        return words.format_map(_Known(said)).strip() + note
    if what == "upload":
        named = said.get("frame") or said.get("file") or "a file"
        return f"{named} taken in to {said.get('flight') or said.get('visit', '')}".strip()
    words = _WORDS.get(what, what).format_map(_Known(said))
    if what == "report options":
        words += "".join(f"; {k.replace('_', ' ')} {v}" for k, v in said.items())
    return words + (f", {said['message']}" if what == "run ended" and said.get("message") else "")


class _Known(dict[str, str]):
    """Fields of an event; one that an older line lacks is told as such."""

    def __missing__(self, key: str) -> str:
        return "unknown"


def _plain(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(map(str, value)) or "nothing"
    return "" if value is None else str(value)
