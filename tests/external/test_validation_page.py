"""docs/validation.md says what the external checks of this very session found."""

from __future__ import annotations

import importlib
import re
import sys
from dataclasses import asdict
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "validation.md"
#: How far a difference may be from the one on the page, as a share of the tolerance: other machine, other rounding.
ROUNDING = 0.02


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    sys.path.insert(0, str(ROOT / "tools"))
    return importlib.import_module("make_validation_page")


def written() -> dict[tuple[str, str, str], list[str]]:
    """Rows of the page by topic, quantity and source."""
    found, topic = {}, ""
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            topic = line[3:]
        elif line.startswith("| ") and not line.startswith("| quantity"):
            cells = [cell.strip() for cell in line.strip("|").split("|")]
            found[topic, cells[0], cells[6]] = cells
    return found


def _value(cell: str) -> float:
    return float(cell.split()[0])


def test_each_check_of_this_session_stands_on_the_page_as_it_came_out(maker: ModuleType, book) -> None:
    """After a change run tools/make_validation_page.py."""
    page = written()
    for record in map(asdict, book.records):
        row = page[record["topic"], record["quantity"], record["source"]]
        wanted = maker.row(record)
        assert row[1] == wanted[1]
        assert row[5] == wanted[5], row
        now, then = abs(_value(wanted[4])), abs(_value(row[4]))
        assert abs(now - then) <= ROUNDING * record["tolerance"] + 0.06 * then, (row, wanted)


def test_nothing_stands_on_the_page_that_no_test_finds(book) -> None:
    """Where this session ran as many external tests as the page was made from; a part of them proves less."""
    count = int(re.search(r"\((\d+) tests\)", PAGE.read_text(encoding="utf-8")).group(1))
    recorded = {(r.topic, r.quantity, r.source) for r in book.records}
    if len(book.tests) < count:
        assert recorded <= set(written())
    else:
        assert (len(book.tests), recorded) == (count, set(written()))


def test_no_difference_on_the_page_is_beyond_its_tolerance() -> None:
    rows = written().values()
    assert len(rows) >= 80
    assert all(abs(_value(row[4])) <= 1.05 * _value(row[5]) for row in rows)
    assert all(row[6] for row in rows)
