"""Can it be seen? One item a question of the brief: the answer as JSON, and the sheet for a client."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from groundglow import __version__
from groundglow.frames.clock import iso_time
from groundglow.job.fit import fit_files, fit_question
from groundglow.job.folder import JobFolder
from groundglow.job.inputs import brief_of
from groundglow.job.ledger import Ledger
from groundglow.job.runner import Item
from groundglow.records.brief import Brief
from groundglow.steps.fit.plain import plain_findings
from groundglow.steps.fit.sheet import CHARTS, VIEWS, Heading, recommendation_sheet, sheet_pictures

__all__ = ["plan_fit"]

#: Combinations that are written in full.
SHOWN = 1000


def plan_fit(job: JobFolder, ledger: Ledger) -> Iterator[list[Item]]:
    """One item a question; none when the brief asks nothing of fit."""
    brief = brief_of(job)
    files, out = fit_files(job, brief), job.out / "fit"
    items = [
        Item(
            "fit",
            f"{i + 1} {asked.name}".strip(),
            write_fit,
            {"root": job.root, "number": i},
            inputs=files,
            outputs=tuple(
                out / name.format(i + 1) for name in ("fit-{}.json", "sheet-{}.pdf", "views-{}.png", "charts-{}.png")
            ),
        )
        for i, asked in enumerate(brief.fit)
    ]
    if items:
        yield items


def write_fit(answers: Path, sheet: Path, views: Path, charts: Path, *, root: Path, number: int) -> None:
    """Answer one question of the brief."""
    job = JobFolder(root)
    found = fit_question(job, number)
    answers.write_text(json.dumps(plain_findings(found, SHOWN), sort_keys=True, indent=1, allow_nan=False))
    pictures = sheet_pictures(found)
    views.write_bytes(pictures[VIEWS])
    charts.write_bytes(pictures[CHARTS])
    heading = _heading(brief_of(job))
    sheet.write_bytes(recommendation_sheet(found, heading, pictures=pictures))


def _heading(brief: Brief) -> Heading:
    """What the brief says of itself; the document's date is the day that it was asked on, not today."""
    known = iso_time(brief.asked_on) is not None and len(brief.asked_on) >= 10
    year, month, day = (int(part) for part in brief.asked_on[:10].split("-")) if known else (2000, 1, 1)
    return Heading(
        brief.title, brief.site.name, brief.client, brief.prepared_by, brief.asked_on, (year, month, day), __version__
    )
