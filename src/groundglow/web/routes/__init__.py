"""One module a question and a few around them. A further question: a module with ``router``, its name in `ROUTERS`."""

from __future__ import annotations

from fastapi import APIRouter

from groundglow.web.routes import downloads, entry, find, jobs, measure, runs

__all__ = ["ROUTERS"]

ROUTERS: tuple[APIRouter, ...] = (
    entry.router,
    jobs.router,
    runs.router,
    measure.router,
    find.router,
    downloads.router,
)
