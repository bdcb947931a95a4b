"""CSV tables.

References
----------
RFC 4180.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from groundglow.errors import InputError
from groundglow.frames.vectors.features import Value, plain

__all__ = ["write_csv"]


def write_csv(path: Path, rows: Iterable[Mapping[str, Value]], columns: Sequence[str] | None = None) -> None:
    """Write rows as CSV: UTF-8, comma, decimal point, blank for what is unknown (None or NaN).

    Parameters
    ----------
    path : Path
    rows : iterable of mapping
    columns : sequence of str, optional
        Order of the columns; default the first row's.

    Raises
    ------
    InputError
        When a row has a field that is no column.
    """
    listed = list(rows)
    names = list(columns if columns is not None else (listed[0] if listed else ()))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(names)
    for row in listed:
        extra = sorted(set(row) - set(names))
        if extra:
            raise InputError(f"{path}: a row has {', '.join(extra)}, which is no column")
        writer.writerow([_cell(row.get(name)) for name in names])
    path.write_text(out.getvalue(), "utf-8", newline="")


def _cell(value: Value) -> str:
    known = plain(value)
    return "" if known is None else str(known)
