"""Frames of a flight: listed, in small, and as pixels."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Response

from groundglow.errors import InputError
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.plans.check import log_path
from groundglow.job.plans.find import findings_path
from groundglow.job.plans.frames import footprint, thumb
from groundglow.job.plans.measure import field_path, method_path
from groundglow.records.log import FlightLog, LogEntry
from groundglow.web.context import Here, OfFlight, OfJob
from groundglow.web.live import FrameAt
from groundglow.web.paging import Paged
from groundglow.web.pixels import ARRAYS, pixels_of
from groundglow.web.reading import findings_in, flight_log
from groundglow.web.refusals import Refusal
from groundglow.web.telling import clock

__all__ = ["AtFrame", "log_of_flight", "router"]

router = APIRouter(prefix="/api/jobs/{job}/flights/{visit}/{flight}/frames", tags=["frames"])


def log_of_flight(job: JobFolder, flight: FlightFolder) -> FlightLog:
    """A flight's log, or a refusal before it is checked."""
    log = flight_log(job, flight)
    if log is None:
        raise Refusal(404, f"{flight.key} is not checked yet: run the checking step.", "FileError")
    return log


def entry_of(job: JobFolder, flight: FlightFolder, frame: str) -> LogEntry:
    """A frame of a flight by its file name."""
    found = next((e for e in log_of_flight(job, flight).entries if e.name == frame), None)
    if found is None:
        raise Refusal(404, f"There is no frame {frame!r} in {flight.key}.", "FileError")
    return found


def _at_frame(job: OfJob, flight: OfFlight, frame: Annotated[str, Path(max_length=200)]) -> FrameAt:
    return FrameAt(job, flight, entry_of(job, flight, frame))


AtFrame = Annotated[FrameAt, Depends(_at_frame)]


@router.get("", summary="Frames of a flight, a page at a time")
def frames(here: Here, job: OfJob, flight: OfFlight, page: Paged, used: bool | None = None) -> dict[str, Any]:
    """Frames in order of time: place, numbers of the check, why set aside, findings seen in it."""
    log = log_of_flight(job, flight)
    files = (log_path(job, flight), findings_path(job), method_path(job, flight).parent)

    def told() -> dict[str, Any]:
        seen = findings_in(here, job, flight)
        entries = [e for e in log.entries if used is None or e.used == used]
        return page.of(entries, lambda e: _plain(job, flight, (log, e), seen))

    return here.kept.get((flight.path, "frames", page.offset, page.limit, used), files, told)


def _plain(job: JobFolder, flight: FlightFolder, of: tuple[FlightLog, LogEntry], seen: dict[str, list[int]]) -> Any:
    log, e = of
    at = footprint(log, e)
    return {
        "frame": e.name,
        "time": clock(e.time),
        "used": e.used,
        "reason": e.reason,
        "stats": e.stats,
        "measured": field_path(job, flight, job.root / e.path).is_file(),
        "place": at.middle if at else None,
        "corners": at.corners if at else None,
        "findings": seen.get(e.name, []),
    }


@router.get("/{frame}/thumb.png", summary="A frame in small", response_class=Response)
def small(here: Here, at: AtFrame, side: Annotated[int, Query(ge=32, le=640)] = 160) -> Response:
    """Grey, as recorded, stretched between its 1st and 99th percentile."""
    path = at.job.root / at.entry.path
    png = here.kept.get((path, side), (path,), lambda: thumb(at.job, at.flight, at.entry, side))
    return Response(png, media_type="image/png", headers={"cache-control": "private, max-age=60"})


@router.get("/{frame}/pixels", summary="Pixels of a frame as bytes", response_class=Response)
def pixels(
    here: Here,
    at: AtFrame,
    arrays: Annotated[str, Query(description=f"Some of {', '.join(ARRAYS)}.", max_length=100)] = "value,sd,mask",
    coded: Annotated[bool, Query(description="Real numbers as 16-bit codes: half the bytes.")] = False,
) -> Response:
    """``GGF1``, length of the header, header in JSON, then the arrays; little endian.

    A true value is ``add + scale * stored``. With ``coded`` the step (``scale``) is a 65,534th of the range of the
    frame and 0 stands where there is no number.
    """
    wanted = list(dict.fromkeys(name.strip() for name in arrays.split(",")))
    wrong = [name for name in wanted if name not in ARRAYS]
    if wrong:
        raise InputError(f"arrays: {wrong[0]!r} is none; allowed {', '.join(ARRAYS)}.")
    return Response(pixels_of(here, at, wanted, coded=coded), media_type="application/octet-stream")
