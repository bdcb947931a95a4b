"""What ``groundglow serve`` does with its options."""

from __future__ import annotations

import socket
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from groundglow.cli.show import console
from groundglow.errors import InputError
from groundglow.frames.optional import require

__all__ = ["run_serve"]


def run_serve(given: Mapping[str, Any]) -> int:
    """Serve until stopped."""
    uvicorn = require("uvicorn", extra="web")
    require("fastapi", extra="web")
    from groundglow.web.app import make_app
    from groundglow.web.settings import Settings, is_local

    settings = Settings(
        Path(given["place"]),
        host=given["host"],
        token=given["token"],
        read_only=given["read_only"],
        frames=tuple(given["frames"] or ()),
        names=tuple(given["name"] or ()),
        most_bytes=given["most_mb"] * 1024 * 1024,
        workers=given["workers"],
        secure=given["https"],
    )
    app = make_app(settings)
    listening = _listen(settings.host, given["port"])
    if not given["quiet"]:
        _tell(settings, listening.getsockname()[1], len(app.state.jobs.ids()), local=is_local(settings.host))
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=3,
        limit_concurrency=256,
    )
    server = uvicorn.Server(config)
    # Asked twice to stop it would drop the runs at work without ending them; they end within seconds.
    server.handle_exit = lambda signal, frame: setattr(server, "should_exit", True)
    server.run(sockets=[listening])
    if not given["quiet"]:
        console().print("Stopped. What runs had finished is kept.")
    return 0


def _listen(host: str, port: int) -> socket.socket:
    """A socket that listens, or an error that says what to do."""
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        # With the protocol named, asyncio sends each answer at once (TCP_NODELAY); without it each waits 40 ms.
        listening = socket.socket(family, kind, protocol)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(address)
    except OSError as error:
        raise InputError(f"{host}:{port} cannot be listened on ({error.strerror}). Try another --port.") from error
    return listening


def _tell(settings: Any, port: int, jobs: int, *, local: bool) -> None:
    screen = console()
    shown = f"[{settings.host}]" if ":" in settings.host else settings.host
    screen.print(f"{jobs} job{'' if jobs == 1 else 's'} of {settings.root} at http://{shown}:{port}/", soft_wrap=True)
    if settings.token:
        screen.print("Visitors sign in with the token.")
    if not local:
        screen.print(
            "It can be reached from other machines, and what travels is not encrypted: put it behind https. "
            "Whoever has the token may change and run everything"
            + (" (not now: --read-only)." if settings.read_only else ".")
        )
    screen.print("Read-only: nothing is changed." if settings.read_only else "Stop it with Ctrl-C.")
    sys.stdout.flush()  # whoever reads it through a pipe wants the address now
