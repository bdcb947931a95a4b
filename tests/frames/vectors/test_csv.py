"""CSV tables are read the same by everybody: commas, decimal points, blank for unknown."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.frames.tables import read_rows
from groundglow.frames.vectors import write_csv


def test_texts_with_commas_quotes_and_line_breaks_survive(tmp_path: Path) -> None:
    """RFC 4180 quoting, checked with the standard library's reader."""
    texts = ["plain", "a, b", 'say "hot"', "two\nlines", "é"]
    write_csv(tmp_path / "a b.csv", [{"text": t, "n": i} for i, t in enumerate(texts)])
    with (tmp_path / "a b.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["text"] for row in rows] == texts


def test_numbers_keep_every_digit_and_unknown_is_blank(tmp_path: Path) -> None:
    """What is written is what our own reader takes for the same number, or for unknown."""
    write_csv(tmp_path / "a.csv", [{"x": 1 / 3, "n": np.int32(2), "y": None, "z": np.float64("nan"), "ok": True}])
    (row,) = read_rows(tmp_path / "a.csv")
    assert row.number_of("x") == 1 / 3
    assert row.number_of("n") == 2
    assert row.number_of("y") is None
    assert row.number_of("z") is None
    assert row.text("ok") == "True"


def test_columns_are_in_the_asked_order_and_complete(tmp_path: Path) -> None:
    """A table without rows still has its header; a field without column is an error."""
    write_csv(tmp_path / "a.csv", [{"b": 1}, {"a": 2}], columns=("a", "b"))
    assert (tmp_path / "a.csv").read_bytes() == b"a,b\n,1\n2,\n"
    write_csv(tmp_path / "b.csv", [], columns=("a", "b"))
    assert (tmp_path / "b.csv").read_bytes() == b"a,b\n"
    with pytest.raises(InputError, match="c, which is no column"):
        write_csv(tmp_path / "c.csv", [{"a": 1}, {"c": 2}])
