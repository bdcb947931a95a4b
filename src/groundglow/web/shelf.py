"""The jobs that are served: one job, or the sub-folders of a folder that are jobs. Names are checked here."""

from __future__ import annotations

import re
from pathlib import Path

from groundglow.errors import FileError, JobError
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.web.refusals import Refusal
from groundglow.web.settings import Settings

__all__ = ["JobShelf", "checked_name"]

#: Letters of any script, digits, and a few signs that no shell, page or file system takes amiss.
NAME = re.compile(r"[^\W_][\w.+ -]{0,79}")


def checked_name(name: str, what: str) -> str:
    """A name of a job, visit, flight or file, or a refusal.

    Examples
    --------
    >>> checked_name("north roof 2", "job")
    'north roof 2'
    """
    if not NAME.fullmatch(name) or name.endswith((".", " ")) or ".." in name:
        raise Refusal(
            400, f"{what} {name[:80]!r}: a name begins with a letter or digit and holds letters, digits, . _ + - only."
        )
    return name


class JobShelf:
    """Jobs by their id, which is the name of their folder."""

    def __init__(self, settings: Settings) -> None:
        self.root = settings.root.resolve()
        self.single = (self.root / "brief.toml").is_file()
        if not self.root.is_dir():
            raise FileError(settings.root, "there is no such folder", "Name a job, or a folder of jobs.")

    def ids(self) -> list[str]:
        """Ids of all jobs, in order."""
        if self.single:
            return [self.root.name]
        return sorted(p.parent.name for p in self.root.glob("*/brief.toml") if NAME.fullmatch(p.parent.name))

    def open(self, job: str) -> JobFolder:
        """A job by its id."""
        if self.single and job == self.root.name:
            return JobFolder(self.root)
        place = self.root / checked_name(job, "job")
        if self.single or not (place / "brief.toml").is_file():
            raise Refusal(404, f"There is no job {job!r} here.", "JobError")
        return JobFolder(self.within(place))

    def place_for(self, job: str) -> Path:
        """Folder of a job to be made.

        Raises
        ------
        JobError
            When one job is served, or the name is taken.
        """
        place = self.root / checked_name(job, "job")
        if self.single:
            raise JobError("One job is served; start `groundglow serve FOLDER` to make others.")
        if place.exists():
            raise JobError(f"There is a job or folder {job!r} already; choose another name.")
        return place

    def flight(self, job: JobFolder, visit: str, flight: str) -> FlightFolder:
        """A flight of a job."""
        found = next((f for f in job.flights() if (f.visit, f.name) == (visit, flight)), None)
        if found is None:
            raise Refusal(404, f"There is no flight {visit}/{flight} in this job.", "JobError")
        return found

    def within(self, path: Path) -> Path:
        """The path, when it truly lies in what is served, links followed."""
        real = path.resolve()
        if not real.is_relative_to(self.root):
            raise Refusal(403, "That lies outside of what is served.")
        return real
