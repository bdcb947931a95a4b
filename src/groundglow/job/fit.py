"""Questions of fit of a brief and their answers, with what they refer to beside the brief: outline, land, kit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from groundglow.errors import InputError
from groundglow.frames.outline import Zone, read_outline
from groundglow.frames.specs import read_brief
from groundglow.job.folder import JobFolder
from groundglow.kit.fleet import Fleet, fleet_with
from groundglow.kit.place_of_use import UseTable, use_table
from groundglow.records.brief import Brief, FitQuestion
from groundglow.records.fit import Ask
from groundglow.steps.fit import FitFindings, Setting, ask_of, chosen_combinations, fit_findings

__all__ = [
    "ask_in_job",
    "asks_of_brief",
    "fit_files",
    "fit_of_job",
    "fit_question",
    "kit_file",
    "table_file",
    "use_table_of",
]


def asks_of_brief(path: Path, fleet: Fleet) -> tuple[Ask, ...]:
    """The questions of a brief's ``[[fit]]`` blocks.

    Raises
    ------
    InputError
        When it has none.
    """
    brief = read_brief(path)
    if not brief.fit:
        raise InputError(f"{path} asks nothing of fit: add a [[fit]] block with target, task and distance")
    return tuple(_ask(path, brief, i, fleet) for i in range(len(brief.fit)))


def ask_in_job(job: JobFolder, asked: FitQuestion) -> Ask:
    """A question of one's own, as if it stood in the job's brief."""
    brief = read_brief(job.brief).model_copy(update={"fit": (asked,)})
    return _ask(job.brief, brief, 0, fleet_with(kit_file(job)))


def _ask(path: Path, brief: Brief, i: int, fleet: Fleet) -> Ask:
    asked, folder = brief.fit[i], path.parent
    named = asked if asked.name else asked.model_copy(update={"name": f"fit[{i + 1}]"})
    land = read_outline(folder / asked.land) if asked.land else ()
    try:
        ask = ask_of(named, Setting(brief.site, brief.limits, _zones(folder, brief), land, fleet.targets))
    except InputError as error:
        raise InputError(f"{path}: {error}") from error
    return ask if asked.name else replace(ask, name=ask.target.name)


def _zones(folder: Path, brief: Brief) -> tuple[Zone, ...]:
    return read_outline(folder / brief.site.outline) if brief.site.outline else ()


def kit_file(job: JobFolder) -> Path | None:
    """The job's own ``kit.toml``, if there is one."""
    path = job.root / "kit.toml"
    return path if path.is_file() else None


def table_file(job: JobFolder) -> Path | None:
    """The job's own table of places of use, if there is one."""
    path = job.root / "place_of_use.toml"
    return path if path.is_file() else None


def fit_files(job: JobFolder, brief: Brief) -> tuple[Path, ...]:
    """Files that the answers hang on."""
    named = [job.brief, kit_file(job), table_file(job)]
    named += [job.root / brief.site.outline] if brief.site.outline else []
    named += [job.root / q.land for q in brief.fit if q.land]
    return tuple(dict.fromkeys(p for p in named if p is not None))


def use_table_of(job: JobFolder) -> UseTable:
    """The shipped table of places of use with the job's own on top."""
    own = table_file(job)
    return use_table(own) if own is not None else use_table()


def fit_of_job(job: JobFolder) -> list[FitFindings]:
    """Answers to all questions of a job's brief, by the catalogue and the job's own kit."""
    fleet = fleet_with(kit_file(job))
    return [_answered(job, fleet, ask) for ask in asks_of_brief(job.brief, fleet)]


def fit_question(job: JobFolder, number: int) -> FitFindings:
    """The answer to one of them, counted from 0."""
    fleet = fleet_with(kit_file(job))
    return _answered(job, fleet, _ask(job.brief, read_brief(job.brief), number, fleet))


def _answered(job: JobFolder, fleet: Fleet, ask: Ask) -> FitFindings:
    return fit_findings(ask, chosen_combinations(fleet), owned=fleet.owned, table=use_table_of(job))
