"""Files that come in: streamed to a temporary name, looked at, then put in their place."""

from __future__ import annotations

import os
import tempfile
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import TypeVar

from fastapi import Request
from starlette.concurrency import run_in_threadpool

from groundglow.web.refusals import Refusal

__all__ = ["SITE_KINDS", "received", "site_kind", "with_upload"]

T = TypeVar("T")
SITE_KINDS = {
    "application/geo+json": "geojson",
    "application/json": "geojson",
    "application/vnd.google-earth.kml+xml": "kml",
}


def site_kind(request: Request) -> str:
    """Which of the kinds of drawn site a request brings."""
    given = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if given not in SITE_KINDS:
        raise Refusal(415, f"content-type is {given!r}; allowed {', '.join(SITE_KINDS)}.")
    return SITE_KINDS[given]


@asynccontextmanager
async def received(request: Request, folder: Path | None = None) -> AsyncIterator[Path]:
    """The body of a request in a temporary file, which is gone afterwards unless it was put somewhere."""
    handle, name = tempfile.mkstemp(prefix=".part-upload-", dir=folder)
    path = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            async for chunk in request.stream():
                stream.write(chunk)
        yield path
    finally:
        path.unlink(missing_ok=True)


async def with_upload(request: Request, use: Callable[[Path], T], folder: Path | None = None) -> T:
    """What a function makes of the uploaded file, in a thread."""
    async with received(request, folder) as path:
        return await run_in_threadpool(use, path)
