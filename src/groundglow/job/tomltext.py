"""TOML files that people wrote, changed without losing their comments and their order."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import AoT

__all__ = ["replace_text", "rewritten"]


def rewritten(text: str, data: Mapping[str, Any]) -> str:
    """The text of a TOML file so changed that it says ``data``.

    What is the same stays as it is written, comments and order included; what is new is added, what is gone goes.

    Examples
    --------
    >>> print(rewritten('a = 1  # one\\nb = 2\\n', {"a": 1, "c": True}), end="")
    a = 1  # one
    c = true
    """
    document = tomlkit.parse(text)
    _change(document, data)
    return tomlkit.dumps(document)


def _change(table: Any, data: Mapping[str, Any]) -> None:
    for name in [n for n in table if n not in data]:
        del table[name]
    for name, value in data.items():
        if name not in table:
            table[name] = value
        elif table[name] != value:
            _change_one(table, name, value)


def _change_one(table: Any, name: str, value: Any) -> None:
    before = table[name]
    if isinstance(before, dict) and isinstance(value, Mapping):
        _change(before, value)
    elif isinstance(before, AoT) and isinstance(value, list) and all(isinstance(v, Mapping) for v in value) and value:
        _change_rows(before, value)
    else:
        item = tomlkit.item(value)
        if hasattr(before, "trivia") and hasattr(item, "trivia") and not isinstance(value, list | Mapping):
            item.trivia.comment, item.trivia.comment_ws = before.trivia.comment, before.trivia.comment_ws
        table[name] = item


def _change_rows(rows: AoT, data: list[Any]) -> None:
    """A row keeps its text when one of its name is asked for, or when it is given another name in its place."""
    before = list(rows)
    names = [_called(d) for d in data]
    gone = [i for i, row in enumerate(before) if not _called(row) or _called(row) not in names]
    after = [_row_of(i, said, before, gone) for i, said in enumerate(data)]
    while len(rows):
        del rows[len(rows) - 1]
    for row in after:
        rows.append(row)


def _row_of(index: int, said: Mapping[str, Any], before: list[Any], gone: list[int]) -> Any:
    known = [i for i, row in enumerate(before) if _called(said) and _called(row) == _called(said)]
    at = known[0] if len(known) == 1 else index
    if at >= len(before) or not (known or at in gone):
        return tomlkit.item(dict(said))
    _change(before[at], said)
    return before[at]


def _called(row: Mapping[str, Any]) -> Any:
    return row.get("name") or row.get("zone") or ""


def replace_text(path: Path, text: str) -> None:
    """Put a text in the place of a file, whole or not at all."""
    part = path.with_name(f".part-{path.name}")
    part.write_text(text, encoding="utf-8")
    part.replace(path)
