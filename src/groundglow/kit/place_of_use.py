"""The user's table of places of use: rows by from, to, end user, end use and temporary carriage. It informs only."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Final, Literal

from pydantic import Field

from groundglow.errors import InputError
from groundglow.kit.tomlfile import read_toml
from groundglow.records.edge import EdgeRecord

__all__ = ["ANY", "UseRow", "UseTable", "UseText", "use_table"]

#: Stands for every place, user or use.
ANY: Final = "*"


class UseText(EdgeRecord):
    """The words of a rule as quoted, and how surely: they are shown, never applied."""

    name: str
    words: str
    status: str


class UseRow(EdgeRecord):
    """What the user was told for one way: who said so, and when.

    ``temporary`` None holds for carriage there and back and for staying; ``up_to_hz`` None for every frame rate.
    """

    leaves: str = Field(default=ANY, alias="from")
    to: str = ANY
    end_user: str = ANY
    end_use: str = ANY
    temporary: bool | None = None
    up_to_hz: float | None = Field(default=None, gt=0)
    outcome: Literal["no licence need", "ask", "no"]
    source: str = Field(min_length=1)
    date: date

    @property
    def narrowness(self) -> int:
        """How many of its keys are said rather than left open."""
        said = [v != ANY for v in (self.leaves, self.to, self.end_user, self.end_use)]
        return sum(said) + (self.temporary is not None) + (self.up_to_hz is not None)


class UseTable(EdgeRecord):
    """All rows, and the texts that go with every answer."""

    row: tuple[UseRow, ...] = ()
    text: tuple[UseText, ...] = ()


def use_table(path: Path | None = None) -> UseTable:
    """The shipped table, which has texts and no rows, with the user's rows and texts on top.

    Parameters
    ----------
    path : Path or None
        The user's own ``place_of_use.toml``.

    Returns
    -------
    UseTable

    Raises
    ------
    FileError
        When the file is not there or is no TOML.
    InputError
        When a row lacks its source or date, has an unknown field or outcome, or says the opposite of another.

    Examples
    --------
    >>> table = use_table()
    >>> len(table.row), [text.name for text in table.text][0]
    (0, 'US Export Administration Regulations, 6A003.b.4.b, Note 3')
    """
    shipped = files("groundglow.kit").joinpath("place_of_use.toml").read_text("utf-8")
    table = UseTable.parse(tomllib.loads(shipped), "place_of_use.toml")
    if path is None:
        return table
    own = UseTable.parse(read_toml(path, advice="Dates are written 2026-05-01, words in quotes."), path.name)
    _refuse_contradictions(own.row, path.name)
    texts = {text.name: text for text in (*table.text, *own.text)}
    return UseTable(row=own.row, text=tuple(texts.values()))


def _refuse_contradictions(rows: Iterable[UseRow], where: str) -> None:
    """Two rows with the same keys must not have two outcomes."""
    seen: dict[tuple[object, ...], UseRow] = {}
    for row in rows:
        keys = (row.leaves, row.to, row.end_user, row.end_use, row.temporary, row.up_to_hz)
        other = seen.setdefault(keys, row)
        if other.outcome != row.outcome:
            raise InputError(
                f"{where}: two rows from {row.leaves!r} to {row.to!r} with the same keys say {other.outcome!r} "
                f"({other.date}) and {row.outcome!r} ({row.date}). Keep the one that holds."
            )
