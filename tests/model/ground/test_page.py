"""The example on the page about surface temperature runs and tells the truth."""

from __future__ import annotations

import doctest
from pathlib import Path

PAGE = Path(__file__).parents[3] / "docs" / "ground.md"


def test_the_pages_example_runs() -> None:
    """Every prompt on the page gives the answer that stands below it."""
    result = doctest.testfile(str(PAGE), module_relative=False, encoding="utf-8")
    assert result.attempted > 5
    assert result.failed == 0
