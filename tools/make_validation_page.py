"""Write docs/validation.md from the external checks themselves.

python tools/make_validation_page.py [docs]
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
HEAD = """# Held against what others published

Made by the tests: `python tools/make_validation_page.py` runs `tests/external` ({tests} tests) and writes down
what each compared. A line stands for one comparison. Where it is of several values, the one nearest to its
tolerance is shown. How often stated intervals hold the truth has a page of its own (intervals.md).

*Published* is what the source prints or what another program computes; *computed apart* means by other code from
published inputs; "from memory" and "common practice, no source" are said. Checks that are no number (an order, a
picture), and those of map projections and file formats, which other libraries do for us, are in the tests only.
"""
COLUMNS = ("quantity", "values", "published", "ours", "difference", "tolerance", "source")


def number(value: float) -> str:
    """A value with as many digits as a comparison needs."""
    return f"{value:.9g}"


def row(record: Mapping[str, Any]) -> list[str]:
    """Cells of one record."""
    unit = f" {record['unit']}" if record["unit"] else ""
    return [
        record["quantity"],
        str(record["values"]),
        number(record["published"]) + unit,
        number(record["ours"]) + unit,
        f"{record['ours'] - record['published']:.1e}",
        f"{record['tolerance']:.2g}",
        record["source"],
    ]


def topics(records: Iterable[Mapping[str, Any]]) -> dict[str, list[Mapping[str, Any]]]:
    """Records by topic, in the order in which topics appear."""
    found: dict[str, list[Mapping[str, Any]]] = {}
    for record in records:
        found.setdefault(record["topic"], []).append(record)
    return dict(sorted(found.items()))


def page(book: Mapping[str, Any]) -> str:
    """The whole page."""
    parts = [HEAD.format(tests=book["tests"])]
    for topic, records in topics(book["records"]).items():
        lines = [f"## {topic}", "", f"| {' | '.join(COLUMNS)} |", "|---" * len(COLUMNS) + "|"]
        parts.append("\n".join([*lines, *(f"| {' | '.join(row(record))} |" for record in records)]) + "\n")
    return "\n".join(parts)


def run() -> dict[str, Any]:
    """Run the external checks and read what they recorded."""
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "records.json"
        command = [
            sys.executable,
            "-m",
            "pytest",
            "-q",
            "tests/external",
            "--deselect",
            "tests/external/test_validation_page.py",
        ]
        subprocess.run(command, cwd=ROOT, env={**os.environ, "GROUNDGLOW_VALIDATION": str(target)}, check=True)
        book: dict[str, Any] = json.loads(target.read_text(encoding="utf-8"))
    if book["skipped"]:
        raise SystemExit(f"{book['skipped']} tests were skipped; the page is left as it was. Give them their data.")
    return book


def main(folder: Path) -> None:
    """Write the page."""
    (folder / "validation.md").write_text(page(run()), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else ROOT / "docs"))
