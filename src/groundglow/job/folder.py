"""The folder of a job: where the brief, the visits, the flights and the results lie."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from groundglow.errors import JobError

__all__ = ["FlightFolder", "JobFolder", "open_job"]


@dataclass(frozen=True)
class FlightFolder:
    """One flight of one visit, as recorded; never written to."""

    visit: str
    name: str
    path: Path

    @property
    def key(self) -> str:
        """``<visit>/<flight>``: how the flight is named everywhere."""
        return f"{self.visit}/{self.name}"

    @property
    def visit_path(self) -> Path:
        """Folder of the visit, with conditions.csv and references.csv."""
        return self.path.parents[1]


@dataclass(frozen=True)
class JobFolder:
    """Paths of a job. Nothing is created by asking for a path."""

    root: Path

    @property
    def brief(self) -> Path:
        """What is asked."""
        return self.root / "brief.toml"

    @property
    def out(self) -> Path:
        """Everything computed; safe to delete."""
        return self.root / "out"

    @property
    def ledger(self) -> Path:
        """The record of what was made from what."""
        return self.root / "ledger.sqlite"

    def flights(self) -> tuple[FlightFolder, ...]:
        """All flights that have a flight.toml, in order of visit and name."""
        return tuple(self._flights())

    def _flights(self) -> Iterator[FlightFolder]:
        for spec in sorted(self.root.glob("visits/*/flights/*/flight.toml")):
            yield FlightFolder(spec.parents[2].name, spec.parent.name, spec.parent)

    def relative(self, path: Path) -> str:
        """A path as the job names it, whatever folder the job lies in."""
        return Path(os.path.relpath(path, self.root)).as_posix() if path.is_absolute() else path.as_posix()


def open_job(path: Path | str) -> JobFolder:
    """The job in a folder.

    Raises
    ------
    JobError
        When there is no ``brief.toml`` in it.
    """
    root = Path(path).resolve()
    if not root.is_dir():
        raise JobError(f"{path} is not a folder. `groundglow new {path}` starts a job there.")
    if not (root / "brief.toml").is_file():
        raise JobError(f"{path} holds no brief.toml, so it is no job. `groundglow new FOLDER` starts one.")
    return JobFolder(root)
