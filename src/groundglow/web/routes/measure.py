"""How hot, and how surely? Frames as pixels, the model as a table, readings and budgets by the steps' own functions."""

from __future__ import annotations

from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, Query, Response

from groundglow.errors import InputError
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.plans.frames import footprint, measured_field, thumb
from groundglow.job.plans.measure import field_path
from groundglow.job.setting import Asked, setting_of
from groundglow.model.doubt import combined
from groundglow.records.field import REASON_TEXT, Field
from groundglow.records.log import FlightLog, LogEntry
from groundglow.steps.find.departure import local_departure
from groundglow.steps.measure.asking.setting import Setting
from groundglow.steps.measure.live import signal_codes
from groundglow.web.binary import Named, packed
from groundglow.web.context import Context, Here, OfFlight, OfJob
from groundglow.web.live import surfaces_of, table_of
from groundglow.web.paging import Paged
from groundglow.web.reading import findings_table, flight_log
from groundglow.web.refusals import Refusal
from groundglow.web.telling import clock

__all__ = ["entry_of", "router"]

router = APIRouter(prefix="/api/jobs/{job}/flights/{visit}/{flight}/frames", tags=["measure"])

ARRAYS = ("value", "sd", "mask", "departure", "signal", "surface")
FROM_FIELD = ("value", "sd", "mask", "departure")


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


@router.get("", summary="Frames of a flight, a page at a time")
def frames(here: Here, job: OfJob, flight: OfFlight, page: Paged, used: bool | None = None) -> dict[str, Any]:
    """Frames in order of time: place, numbers of the check, why set aside, findings seen in it."""
    log = log_of_flight(job, flight)
    seen = _seen(here, job, flight)
    entries = [e for e in log.entries if used is None or e.used == used]
    return page.of(entries, lambda e: _plain(job, flight, (log, e), seen))


def _seen(here: Context, job: JobFolder, flight: FlightFolder) -> dict[str, list[int]]:
    """Numbers of the findings, found or unconfirmed, that each frame shows."""
    by_frame: dict[str, list[int]] = {}
    for row in findings_table(here, job).rows:
        f = row.finding
        if f.flight == flight.key and f.status != "dismissed":
            for name in {v.candidate.frame for v in f.views}:
                by_frame.setdefault(name, []).append(f.number)
    return by_frame


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
def small(
    here: Here, job: OfJob, flight: OfFlight, frame: str, side: Annotated[int, Query(ge=32, le=640)] = 160
) -> Response:
    """Grey, as recorded, stretched between its 1st and 99th percentile."""
    entry = entry_of(job, flight, frame)
    path = job.root / entry.path
    png = here.kept.get((path, side), (path,), lambda: thumb(job, flight, entry, side))
    return Response(png, media_type="image/png", headers={"cache-control": "private, max-age=60"})


@router.get("/{frame}/pixels", summary="Pixels of a frame as bytes", response_class=Response)
def pixels(
    here: Here,
    job: OfJob,
    flight: OfFlight,
    frame: str,
    arrays: Annotated[str, Query(description=f"Some of {', '.join(ARRAYS)}.", max_length=100)] = "value,sd,mask",
) -> Response:
    """``GGF1``, length of the header, header in JSON, then the arrays; little endian."""
    wanted = list(dict.fromkeys(name.strip() for name in arrays.split(",")))
    wrong = [name for name in wanted if name not in ARRAYS]
    if wrong:
        raise InputError(f"arrays: {wrong[0]!r} is none; allowed {', '.join(ARRAYS)}.")
    entry = entry_of(job, flight, frame)
    made = _Pixels(job, flight, entry)
    header: dict[str, Any] = {
        "frame": entry.name, "time": clock(entry.time), "unit": made.unit(wanted), "surfaces": [],
        "mask_words": {int(r): text for r, text in REASON_TEXT.items()},
    }  # fmt: skip
    if "surface" in wanted:
        header["surfaces"] = surfaces_of(made.setting)
    raw = packed(header, [made.array(name) for name in wanted])
    return Response(raw, media_type="application/octet-stream")


class _Pixels:
    """Arrays of one frame; what several need is read once."""

    def __init__(self, job: JobFolder, flight: FlightFolder, entry: LogEntry) -> None:
        self.job, self.flight, self.entry = job, flight, entry
        self._field: Field | None = None
        self._setting: Setting | None = None

    @property
    def field(self) -> Field:
        if self._field is None:
            self._field = measured_field(self.job, self.flight, self.entry)
        return self._field

    @property
    def setting(self) -> Setting:
        if self._setting is None:
            self._setting = setting_of(self.job.root / self.entry.path, Asked({}), level=True)
        return self._setting

    def unit(self, wanted: list[str]) -> str:
        return self.field.unit if set(wanted) & set(FROM_FIELD) else ""

    def array(self, name: str) -> Named:
        return {"value": self._value, "sd": self._sd, "mask": self._mask, "departure": self._departure,
                "signal": self._signal, "surface": self._surface}[name]()  # fmt: skip

    def _value(self) -> Named:
        return Named("value", self.field.value, self.field.unit, self.field.quantity.replace("_", " "))

    def _sd(self) -> Named:
        sd = np.asarray(combined(self.field.doubt), dtype=np.float32)
        return Named("sd", np.broadcast_to(sd, self.field.value.shape), self.field.unit, "standard uncertainty")

    def _mask(self) -> Named:
        return Named("mask", self.field.mask, "", "why there is no supported value; 0 is good")

    def _departure(self) -> Named:
        return Named("departure", local_departure(self.field.value), self.field.unit, "value minus local background")

    def _signal(self) -> Named:
        made = signal_codes(self.setting)
        return Named("signal", made.codes, made.unit, "apparent temperature, levelled", made.scale, made.add)

    def _surface(self) -> Named:
        shares, shape = self.setting.shares, self.setting.shape
        index = np.zeros(shape, np.uint8) if shares is None else shares.argmax(axis=0).astype(np.uint8)
        return Named("surface", index, "", "place in surfaces")


@router.get("/{frame}/table", summary="The model from signal to temperature, as tables")
def table(
    job: OfJob,
    flight: OfFlight,
    frame: str,
    surface: Annotated[int, Query(ge=0, le=254, description="Place in surfaces.")] = 0,
    emissivity: Annotated[float | None, Query(gt=0, le=1)] = None,
    reflected_c: Annotated[float | None, Query(ge=-110, le=500)] = None,
    air_c: Annotated[float | None, Query(ge=-60, le=60)] = None,
    humidity_pct: Annotated[float | None, Query(ge=0, le=100)] = None,
    distance_m: Annotated[float | None, Query(ge=0, le=5000)] = None,
    cloud: Annotated[float | None, Query(ge=0, le=1)] = None,
) -> dict[str, Any]:
    """What a browser needs to work the frame out again for another emissivity, at once and by the same equation."""
    said = {
        "emissivity": emissivity, "reflected_c": reflected_c, "air_c": air_c, "humidity_pct": humidity_pct,
        "distance_m": distance_m, "cloud": cloud,
    }  # fmt: skip
    path = job.root / entry_of(job, flight, frame).path
    return table_of(path, said, surface)
