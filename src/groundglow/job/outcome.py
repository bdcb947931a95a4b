"""What came of a job, read back from its outputs for the faces: numbers of frames, notes, findings, files."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from groundglow.job.folder import JobFolder
from groundglow.job.review import standings_of
from groundglow.records.decision import Standing
from groundglow.records.finding import Finding, Findings
from groundglow.records.log import FlightLog
from groundglow.records.tie import Registration

__all__ = ["Outcome", "read_outcome"]


@dataclass(frozen=True)
class Outcome:
    """What the outputs say, as far as they exist."""

    logs: tuple[FlightLog, ...] = ()
    coverage: tuple[dict[str, Any], ...] = ()
    registrations: tuple[Registration, ...] = ()
    findings: tuple[Finding, ...] = ()
    dismissed: int = 0
    unconfirmed: int = 0
    set_aside: dict[str, str] = field(default_factory=dict)
    files: dict[str, Path] = field(default_factory=dict)
    reviews: dict[str, Standing] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """Form for JSON."""
        return {
            "frames": {log.flight: {"used": len(log.used), "all": len(log.entries)} for log in self.logs},
            "set_aside": self.set_aside,
            "agreement": {r.flight: r.agreement for r in self.registrations},
            "findings": [
                _plain_finding(f) | {"review": asdict(self.reviews.get(f.id, Standing()))} for f in self.findings
            ],
            "dismissed": self.dismissed,
            "unconfirmed": self.unconfirmed,
            "files": {name: str(path) for name, path in self.files.items()},
        }

    def lines(self, last: str) -> list[str]:
        """What a person should be told in words after running up to ``last``."""
        said = [""]
        said += [f"{log.flight}: {len(log.used)} of {len(log.entries)} frames in use" for log in self.logs]
        said += [f"  set aside: {name}: {reason}" for name, reason in self.set_aside.items()]
        if last == "check":
            said += [_coverage_line(c) for c in self.coverage]
        if last == "measure":
            said += [line for r in self.registrations for line in _agreement_lines(r)]
        if last in ("find", "report"):
            said.append(
                f"{len(self.findings)} findings; {self.unconfirmed} unconfirmed; "
                f"{self.dismissed} looked at and dismissed"
            )
            said += _review_lines(self.reviews)
        return said


def _plain_finding(finding: Finding) -> dict[str, Any]:
    names = (
        "id", "number", "question", "flight", "frame", "box", "rise", "rise_low", "rise_high", "unit", "mean",
        "mean_low", "mean_high", "support", "support_reason", "lon_deg", "lat_deg", "position_sd_m",
    )  # fmt: skip
    return {name: getattr(finding, name) for name in names}


def _review_lines(reviews: dict[str, Standing]) -> list[str]:
    """What people decided, in one line; none when nobody did."""
    if not reviews:
        return []
    count = Counter(r.decision for r in reviews.values())
    return [f"reviewed by people: {count['accepted']} accepted, {count['rejected']} rejected, {count['open']} noted"]


def _coverage_line(of: dict[str, Any]) -> str:
    once, twice, five = (f"{100 * of[name]:.0f} %" for name in ("seen_once", "seen_twice", "seen_five"))
    return f"  {of['flight']}: {of['zone']} ({of['area_m2']:.0f} m2) seen {once} once, {twice} twice, {five} five times"


def _agreement_lines(registration: Registration) -> list[str]:
    a = registration.agreement
    if "after_median" not in a:
        return [f"  {registration.flight}: no ties between frames"]
    unit = registration.unit
    return [
        f"  {registration.flight}: overlaps differ by {a['before_median']:.2f} {unit} before levelling, "
        f"{a['after_median']:.2f} after (medians)"
    ]


def read_outcome(job: JobFolder, last: str = "report") -> Outcome:
    """Read what the outputs of a job say."""
    logs = tuple(FlightLog.from_json(p.read_text()) for p in sorted(job.out.glob("check/*/*/log.json")))
    coverage = tuple(c for p in sorted(job.out.glob("check/*/*/coverage.json")) for c in json.loads(p.read_text()))
    ties = tuple(Registration.from_json(p.read_text()) for p in sorted(job.out.glob("register/*/*/registration.json")))
    aside = {f"{log.flight}/{e.name}": e.reason for log in logs for e in log.entries if not e.used}
    path = job.out / "find" / "findings.json"
    findings = Findings.from_json(path.read_text()) if path.exists() else Findings((), ())
    places = {
        **{f"sheet {p.stem.removeprefix('sheet-')}": p for p in sorted((job.out / "fit").glob("sheet-*.pdf"))},
        "report": job.out / "report" / "report.pdf",
        "table": job.out / "report" / "findings.csv",
        "layers": job.out / "report" / "findings.gpkg",
    }
    return Outcome(
        logs, coverage, ties, findings.found, len(findings.of_status("dismissed")),
        len(findings.of_status("unconfirmed")), aside, {n: p for n, p in places.items() if p.exists()},
        standings_of(job),
    )  # fmt: skip
