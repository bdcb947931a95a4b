"""The application: settings in, an ASGI application out."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

from groundglow import __version__
from groundglow.web.context import Context
from groundglow.web.guard import Guard
from groundglow.web.refusals import Plain, handle_errors
from groundglow.web.routes import ROUTERS
from groundglow.web.settings import Settings
from groundglow.web.shelf import JobShelf

__all__ = ["make_app"]

HERE = Path(__file__).parent


def make_app(settings: Settings) -> FastAPI:
    """The REST interface, and the pages where they are installed.

    Parameters
    ----------
    settings : Settings

    Returns
    -------
    FastAPI
        ``app.state.context`` holds its settings, jobs, runs and audit.

    Raises
    ------
    FileError
        When there is no such folder.
    """
    context = Context(settings, JobShelf(settings))

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        yield
        context.runs.close()

    app = FastAPI(
        title="Groundglow", version=__version__, lifespan=life, openapi_url="/api/openapi.json", docs_url=None,
        redoc_url=None, default_response_class=Plain, redirect_slashes=False,
        description="Aerial thermography: the six questions over REST. Errors have one shape: "
        '{"error": {"status", "kind", "message", "faults"}}.',
    )  # fmt: skip
    app.state.context = context
    app.state.settings, app.state.jobs = settings, context.shelf
    handle_errors(app)
    for router in ROUTERS:
        app.include_router(router)
    _add_pages(app)
    app.add_middleware(Guard, settings=settings)
    return app


def _add_pages(app: FastAPI) -> None:
    """Pages and what they load; the map library is served from its own wheel."""
    if find_spec("groundglow.web.pages") is not None:
        pages = import_module("groundglow.web.pages")
        app.include_router(pages.router, include_in_schema=False)
        app.state.lost = pages.lost
    found = find_spec("maplibre")
    if found is not None and found.origin is not None:
        library = Path(found.origin).parent / "srcjs"
        if library.is_dir():
            app.mount("/static/vendor/maplibre", StaticFiles(directory=library), name="maplibre")
    if (HERE / "static").is_dir():
        app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
