"""Findings after people have looked at them: what they rejected is not told as found, what they accepted is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from groundglow.records.decision import Standing
from groundglow.records.finding import Finding, Findings

__all__ = ["REJECTED", "review_words", "reviewed"]

#: Status of a finding that a person rejected.
REJECTED = "rejected"


def reviewed(findings: Findings, standings: Mapping[str, Standing]) -> Findings:
    """The findings with the status that people gave them, and who said so as the reason."""
    return Findings(tuple(_after(f, standings.get(f.id, Standing())) for f in findings.items), findings.notes)


def _after(finding: Finding, standing: Standing) -> Finding:
    if standing.decision == "rejected":
        return replace(finding, status=REJECTED, reason=review_words(standing))
    if standing.decision == "accepted" and finding.status != "found":
        return replace(finding, status="found", reason=f"{finding.status} by the step; {review_words(standing)}")
    return finding


def review_words(standing: Standing) -> str:
    """What people made of a finding, in words; empty when nobody did.

    Examples
    --------
    >>> from groundglow.records.decision import Remark
    >>> done = Standing("rejected", notes=(Remark("bird", "A", ""),), by="A. Example", at="2026-05-02T10:00:00+00:00")
    >>> review_words(done)
    'rejected by A. Example, 2026-05-02; note: bird'
    """
    if not standing.by:
        return ""
    parts = [
        f"{'looked at' if standing.decision == 'open' else standing.decision} by {standing.by}, {standing.at[:10]}"
    ]
    parts += [f"grade: {standing.grade}"] if standing.grade else []
    parts += [f"in words: {standing.words}"] if standing.words else []
    parts += [f"note: {n.text}" for n in standing.notes]
    return "; ".join(parts)
