"""A new job: a commented brief and an empty visit."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from groundglow.errors import JobError
from groundglow.job.folder import JobFolder

__all__ = ["new_job"]

TEMPLATES = {
    "brief.toml": "brief.toml",
    "kit.toml": "kit.toml",
    "conditions.csv": "visits/DATE/conditions.csv",
    "references.csv": "visits/DATE/references.csv",
    "flight.toml": "visits/DATE/flights/NAME/flight.toml.example",
}


def new_job(folder: Path) -> JobFolder:
    """Make a job folder with a commented brief and an empty visit; nothing that exists is overwritten.

    Raises
    ------
    JobError
        When the folder exists and is not empty.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise JobError(f"{folder} exists and is not empty. Name a new folder, or empty this one yourself.")
    source = files("groundglow.job") / "templates"
    for name, place in TEMPLATES.items():
        target = folder / place
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(source.joinpath(name).read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "visits/DATE/flights/NAME/frames").mkdir()
    return JobFolder(folder.resolve())
