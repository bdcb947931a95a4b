"""What routes share: settings, jobs, runs, audit; and who asks."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated
from urllib.parse import unquote

from fastapi import Depends, Header, Path, Request

from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.web.audit import Audit
from groundglow.web.kept import Kept
from groundglow.web.refusals import Refusal
from groundglow.web.runs import RunKeeper
from groundglow.web.settings import Settings
from groundglow.web.shelf import JobShelf, checked_name

__all__ = ["Context", "Here", "OfFlight", "OfJob", "Writer", "name_of"]

#: Who is written down when nobody says who they are.
SOMEBODY = "somebody"
LONGEST = 80


@dataclass
class Context:
    """One server's own things."""

    settings: Settings
    shelf: JobShelf
    audit: Audit = field(default_factory=Audit)
    kept: Kept = field(default_factory=lambda: Kept(400))
    large: Kept = field(default_factory=lambda: Kept(16))
    runs: RunKeeper = field(init=False)

    def __post_init__(self) -> None:
        """Runs write into the audit."""
        self.runs = RunKeeper(self.audit, self.settings.workers)


def _here(request: Request) -> Context:
    context: Context = request.app.state.context
    return context


Here = Annotated[Context, Depends(_here)]


def _of_job(
    here: Here, job: Annotated[str, Path(description="Name of the job's folder.", max_length=100)]
) -> JobFolder:
    return here.shelf.open(job)


OfJob = Annotated[JobFolder, Depends(_of_job)]


def _of_flight(
    here: Here,
    job: OfJob,
    visit: Annotated[str, Path(description="Folder of the visit.", max_length=100)],
    flight: Annotated[str, Path(description="Folder of the flight.", max_length=100)],
) -> FlightFolder:
    return here.shelf.flight(job, checked_name(visit, "visit"), checked_name(flight, "flight"))


OfFlight = Annotated[FlightFolder, Depends(_of_flight)]


def name_of(given: str | None) -> str:
    """Name of whoever writes, as the header or a form gives it.

    Examples
    --------
    >>> name_of("A.%20Example"), name_of(None)
    ('A. Example', 'somebody')
    """
    name = " ".join(unquote(given or "").split())
    if not name:
        return SOMEBODY
    if len(name) > LONGEST or not name.isprintable():
        raise Refusal(400, f"The name of whoever asks is too long (allowed {LONGEST}) or holds unprintable signs.")
    return name


def _writer(
    here: Here,
    groundglow_who: Annotated[str | None, Header(description="Who asks, for the audit; percent-encoded.")] = None,
) -> str:
    if here.settings.read_only:
        raise Refusal(403, "This server only shows; it was started with --read-only.", "ReadOnlyError")
    return name_of(groundglow_who)


#: For every route that changes something: refuses on a read-only server, and says who asks.
Writer = Annotated[str, Depends(_writer)]
