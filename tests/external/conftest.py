"""What the external checks share: each comparison is recorded for docs/validation.md."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import ArrayLike

#: Environment variable that names the file which the records are written to.
VARIABLE = "GROUNDGLOW_VALIDATION"
#: The test that reads the records, run last.
READER = "test_validation_page.py"


@dataclass(frozen=True)
class Record:
    """One comparison; of several values the one that is nearest to its tolerance, relative to it."""

    topic: str
    quantity: str
    values: int
    published: float
    ours: float
    unit: str
    tolerance: float
    source: str


@dataclass
class Book:
    """Records of a session, and the external tests that ran."""

    records: list[Record]
    tests: set[str]


KEY = pytest.StashKey[Book]()


def pytest_configure(config: pytest.Config) -> None:
    config.stash[KEY] = Book([], set())


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The page is compared when all else has run."""
    items.sort(key=lambda item: item.path.name == READER)


@pytest.fixture
def book(request: pytest.FixtureRequest) -> Book:
    return request.config.stash[KEY]


@pytest.fixture(autouse=True)
def _ran(request: pytest.FixtureRequest, book: Book) -> Iterator[None]:
    yield
    if request.path.name != READER:
        book.tests.add(request.node.nodeid)


@pytest.fixture
def record_check(book: Book) -> Callable[..., None]:
    """``record_check(topic, quantity, published, ours, unit, tolerance, source)`` asserts and records.

    Values may be arrays. ``relative`` is a tolerance as a share of the published value; the wider of the two holds.
    """

    def record(
        topic: str,
        quantity: str,
        published: ArrayLike,
        ours: ArrayLike,
        unit: str,
        tolerance: float,
        source: str,
        *,
        relative: float = 0.0,
    ) -> None:
        wanted, found = np.broadcast_arrays(np.asarray(published, float), np.asarray(ours, float))
        allowed = np.maximum(tolerance, relative * np.abs(wanted))
        part = (np.abs(found - wanted) / allowed).ravel()
        worst = int(np.argmax(np.where(np.isnan(part), np.inf, part)))
        values = (float(a.ravel()[worst]) for a in (wanted, found))
        entry = Record(topic, quantity, wanted.size, *values, unit, float(allowed.ravel()[worst]), source)
        assert part[worst] <= 1, entry
        book.records.append(entry)

    return record


def pytest_sessionfinish(session: pytest.Session) -> None:
    target = os.environ.get(VARIABLE)
    if target:
        book = session.config.stash[KEY]
        reporter = session.config.pluginmanager.get_plugin("terminalreporter")
        skipped = len(reporter.stats.get("skipped", [])) if reporter else 0
        records = [asdict(r) for r in book.records]
        text = json.dumps({"tests": len(book.tests), "skipped": skipped, "records": records}, indent=1)
        Path(target).write_text(text, encoding="utf-8")
