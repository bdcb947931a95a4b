"""Which findings a report holds, by its options; what is left out is counted and said."""

from __future__ import annotations

from collections.abc import Mapping

from groundglow.records.decision import Standing
from groundglow.records.finding import Finding, Findings
from groundglow.records.report import ReportOptions
from groundglow.steps.report.reviewed import REJECTED, reviewed

__all__ = ["chosen", "left_out_words"]


def chosen(
    findings: Findings, standings: Mapping[str, Standing], options: ReportOptions
) -> tuple[Findings, tuple[Finding, ...]]:
    """Findings after review that go in, and those found ones that the options leave out."""
    told = reviewed(findings, standings)
    kept = tuple(f for f in told.items if _goes_in(f, standings, options))
    inside = {f.id for f in kept}
    return Findings(kept, told.notes), tuple(f for f in told.found if f.id not in inside)


def _goes_in(finding: Finding, standings: Mapping[str, Standing], options: ReportOptions) -> bool:
    if finding.status == "found":
        return options.enough(standings.get(finding.id, Standing()).grade, finding.support)
    listed = {REJECTED: options.rejected, "unconfirmed": options.unconfirmed, "dismissed": options.dismissed}
    return listed.get(finding.status, True)


def left_out_words(left_out: tuple[Finding, ...], options: ReportOptions) -> str:
    """How many places are not told, and by which choice; empty when none.

    Examples
    --------
    >>> left_out_words((), ReportOptions())
    ''
    """
    if not left_out:
        return ""
    why = [f"graded below “{options.least_grade}”"] if options.least_grade else []
    why += [] if options.ungraded else ["not graded by anybody"]
    why += [f"less than “{options.least_support}”"] if options.least_support != "not supported" else []
    number = f"{len(left_out)} further {'place is' if len(left_out) == 1 else 'places are'}"
    return f"{number} left out of this report by choice ({' or '.join(why)}); the table that goes with it holds them."
