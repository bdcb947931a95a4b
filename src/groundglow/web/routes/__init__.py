"""One module a question and a few around them. A further question: a module with ``router``, its name in `ROUTERS`."""

from __future__ import annotations

from fastapi import APIRouter

from groundglow.web.routes import check, downloads, entry, find, fit, frames, jobs, measure, plan, report, runs

__all__ = ["ROUTERS"]

ROUTERS: tuple[APIRouter, ...] = (
    entry.router,
    jobs.router,
    runs.router,
    fit.router,
    plan.router,
    check.router,
    frames.router,
    measure.router,
    find.router,
    report.router,
    downloads.router,
)
