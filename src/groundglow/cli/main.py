"""``groundglow``: one command a question, and a few around them. Heavy imports wait inside the commands."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from groundglow import __version__
from groundglow.cli.ask import COMMANDS, guarded
from groundglow.cli.fit import fit
from groundglow.cli.plan import plan
from groundglow.cli.report import report
from groundglow.cli.serve import serve
from groundglow.cli.window import window
from groundglow.errors import GroundglowError, exit_code

__all__ = ["app", "main"]

app = typer.Typer(
    name="groundglow",
    help="Aerial thermography from the client's brief to a defensible report.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

JobPath = Annotated[Path, typer.Argument(metavar="JOB", help="Folder of the job.")]
Workers = Annotated[int, typer.Option(min=0, help="Processes to work with; 0 takes one a core.")]
Json = Annotated[bool, typer.Option("--json", help="Print the result as JSON, nothing else.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="Print nothing but errors.")]
Debug = Annotated[bool, typer.Option("--debug", help="Show the traceback of an error.")]


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"groundglow {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Aerial thermography from the client's brief to a defensible report."""


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(metavar="[DIR]", help="Where to put the demo job.")] = Path("demo-job"),
    seed: Annotated[int, typer.Option(help="Seed of the invented site.")] = 7,
    workers: Workers = 0,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Fly an invented site and run the whole job on it."""
    from groundglow.cli.demo import run_demo

    _guard(lambda: run_demo(folder, seed=seed, workers=_cores(workers), quiet=quiet), debug)


@app.command()
def new(folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.")], debug: Debug = False) -> None:
    """Start a job: a commented brief and an empty visit."""
    from groundglow.cli.work import start_job

    _guard(lambda: start_job(folder), debug)


@app.command()
def status(job: JobPath, as_json: Json = False, debug: Debug = False) -> None:
    """Say which steps are done, stale or missing, since when and why."""
    from groundglow.cli.work import show_status

    _guard(lambda: show_status(job, as_json=as_json), debug)


def _step_command(name: str, last: str, text: str) -> None:
    def command(
        job: JobPath, workers: Workers = 0, as_json: Json = False, quiet: Quiet = False, debug: Debug = False
    ) -> None:
        from groundglow.cli.work import run_until

        _guard(lambda: run_until(job, last, workers=_cores(workers), as_json=as_json, quiet=quiet), debug)

    app.command(name, help=text)(command)


_step_command("run", "report", "Run every step that can run, in order; skip what is up to date.")
_step_command("check", "check", "Did we get it? Frames looked at, coverage, what was set aside and why.")
_step_command("measure", "measure", "How hot, and how surely? Ties, levels and temperatures with their doubt.")
_step_command("find", "find", "What is wrong, and where? Departures from the surroundings.")


def _cores(workers: int) -> int:
    return workers or os.cpu_count() or 1


def _guard(work: Callable[[], int | None], debug: bool) -> None:
    """Do the work; turn our own errors into one line and an exit code."""
    try:
        code = work()
    except GroundglowError as error:
        if debug:
            raise
        typer.echo(f"groundglow: {error}", err=True)
        raise typer.Exit(exit_code(error)) from None
    except KeyboardInterrupt:
        typer.echo("groundglow: stopped. What was finished is kept; run again to go on.", err=True)
        raise typer.Exit(130) from None
    except Exception as error:
        if debug:
            raise
        typer.echo(f"groundglow: internal error: {type(error).__name__}: {error}. --debug shows where.", err=True)
        raise typer.Exit(1) from None
    if code:
        raise typer.Exit(code)


_QUESTIONS: dict[str, Callable[..., int]] = {
    "fit": fit,
    "plan": plan,
    "window": window,
    "report": report,
    "serve": serve,
    **COMMANDS,
}
for _name, _command in _QUESTIONS.items():
    app.command(_name)(guarded(_command, _guard))


def main() -> None:
    """Entry point of the console script."""
    try:
        app()
    except BrokenPipeError:
        sys.stderr.close()
