"""Long work: started, watched by server-sent events, stopped."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import asdict
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Header, Request
from fastapi.responses import StreamingResponse
from pydantic import BaseModel, ConfigDict, Field

from groundglow.web.context import Here, OfJob, Writer
from groundglow.web.paging import Paged
from groundglow.web.runs import LiveRun, Run

__all__ = ["router"]

router = APIRouter(prefix="/api/jobs/{job}/runs", tags=["runs"])

#: Seconds between looks at what is new, and between comments that keep a quiet stream open.
LOOK, QUIET = 0.1, 10.0


class Starting(BaseModel):
    """Up to which step to run."""

    model_config = ConfigDict(extra="forbid")
    until: Literal["fit", "plan", "check", "register", "measure", "find", "report"]
    workers: int = Field(default=0, ge=0, le=64, description="Processes; 0 takes the server's own number.")


@router.post("", status_code=202, summary="Start a run")
def start(here: Here, job: OfJob, who: Writer, said: Starting) -> dict[str, Any]:
    """Bring all steps up to one up to date; 409 while another run, here or on a command line, holds the job."""
    return plain(here.runs.start(job, said.until, who, said.workers))


@router.get("", summary="Runs of this job, newest first")
def listed(here: Here, job: OfJob, page: Paged) -> dict[str, Any]:
    """Runs since the server was started."""
    return page.of(here.runs.of(job), plain)


@router.get("/{run}", summary="How a run goes")
def one(here: Here, job: OfJob, run: str) -> dict[str, Any]:
    """A run as it stands."""
    return plain(here.runs.find(job, run).run)


@router.delete("/{run}", status_code=202, summary="Stop a run")
def stop(here: Here, job: OfJob, who: Writer, run: str) -> dict[str, Any]:
    """Ask a run to stop; what it finished is kept."""
    return plain(here.runs.stop(job, run, who))


@router.get("/{run}/events", summary="How a run goes, as it goes", response_class=StreamingResponse)
def events(
    here: Here, job: OfJob, run: str, request: Request, last_event_id: Annotated[str | None, Header()] = None
) -> StreamingResponse:
    """Server-sent events ``progress``, ``aside`` and ``end``; after Last-Event-ID those that followed it."""
    live = here.runs.find(job, run)
    first = int(last_event_id) + 1 if last_event_id and last_event_id.isdigit() else 0
    return StreamingResponse(
        _stream(live, first, request), media_type="text/event-stream", headers={"x-accel-buffering": "no"}
    )


async def _stream(live: LiveRun, first: int, request: Request) -> AsyncIterator[str]:
    sent, quiet = first, 0.0
    while not await request.is_disconnected():
        new = live.events[sent:]
        if new:
            quiet = 0.0
            for i, (event, data) in enumerate(new, sent):
                yield f"id: {i}\nevent: {event}\ndata: {json.dumps(_shown(data))}\n\n"
            sent += len(new)
            if new[-1][0] == "end":
                return
        elif live.ended and sent >= len(live.events):
            return
        await asyncio.sleep(LOOK)
        quiet += LOOK
        if quiet >= QUIET:
            quiet = 0.0
            yield ": still here\n\n"


def plain(run: Run) -> dict[str, Any]:
    """A run as plain data; the place of the job on the server's disk is not told."""
    return _shown(asdict(run))


def _shown(data: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in data.items() if key != "job"}
