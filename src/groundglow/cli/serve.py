"""``groundglow serve``: options only; the server's libraries are loaded when it starts."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

__all__ = ["serve"]


def _option(help: str, *names: str, metavar: str | None = None) -> Any:
    return typer.Option(*names, help=help, metavar=metavar)


def serve(
    place: Annotated[Path, typer.Argument(metavar="JOB|FOLDER", help="A job, or a folder of jobs.")] = Path("."),
    host: Annotated[str, _option("Address to listen on.", metavar="ADDRESS")] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes a free one.")] = 8787,
    token: Annotated[str, typer.Option(envvar="GROUNDGLOW_TOKEN", help="Asked of visitors.", metavar="TEXT")] = "",
    read_only: Annotated[bool, _option("Show only: nothing is changed, nothing is run.", "--read-only")] = False,
    frames: Annotated[list[Path] | None, _option("Flights may lie there too.", metavar="FOLDER")] = None,
    name: Annotated[list[str] | None, _option("Host name by which it may be called.", metavar="NAME")] = None,
    https: Annotated[bool, _option("It stands behind https: the cookie travels so only.", "--https")] = False,
    workers: Annotated[int, typer.Option(min=0, help="Processes of a run; 0 takes one a core.")] = 0,
    most_mb: Annotated[int, typer.Option(min=1, help="Largest file taken in, MB.")] = 256,
    quiet: Annotated[bool, _option("Print nothing but errors.", "--quiet")] = False,
    debug: Annotated[bool, _option("Show the traceback of an error.", "--debug")] = False,
) -> int:
    """The six questions in a browser, for people who would rather look than type.

    It listens on this machine only. Another --host asks for a --token of 16 characters or more, better given in
    GROUNDGLOW_TOKEN; what travels there is not encrypted, so put it behind https.
    """
    from groundglow.cli.serve_run import run_serve

    return run_serve(dict(locals()))
