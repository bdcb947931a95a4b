"""docs/checks.md names for each demand a test that is there, and the figures of docs/validation.md."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"


@pytest.fixture(scope="module")
def maker() -> ModuleType:
    sys.path.insert(0, str(ROOT / "tools"))
    return importlib.import_module("make_checks_page")


def test_the_page_is_the_one_that_the_validation_page_makes(maker: ModuleType) -> None:
    """After a change run tools/make_validation_page.py and tools/make_checks_page.py."""
    made = maker.page((DOCS / "validation.md").read_text(encoding="utf-8"))
    assert (DOCS / "checks.md").read_text(encoding="utf-8") == made


def test_every_demand_has_tests_that_are_there_and_figures_that_stand_on_a_page(maker: ModuleType) -> None:
    known = list(maker.lines((DOCS / "validation.md").read_text(encoding="utf-8")))
    assert not [lost for check in maker.CHECKS for lost in maker.missing(check, known)]
    assert all(check.tests for check in maker.CHECKS)
    assert all((DOCS / check.page).is_file() for check in maker.CHECKS if check.page)


def test_a_test_that_went_away_is_found_out(maker: ModuleType) -> None:
    gone = maker.Check("any", "any", ("model/test_sky.py::test_that_never_was",), (("Clear sky", "no such thing"),))
    assert maker.missing(gone, []) == ["Clear sky: no such thing", "model/test_sky.py::test_that_never_was"]
