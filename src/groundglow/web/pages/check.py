"""Did we get it?"""

from collections.abc import Mapping

from groundglow.job.folder import JobFolder
from groundglow.web.context import Context
from groundglow.web.pages.question import Question
from groundglow.web.reading import flight_log
from groundglow.web.telling import part

__all__ = ["QUESTION"]


def _first(here: Context, job: JobFolder, given: Mapping[str, str]) -> tuple[str, ...]:
    flights = job.flights()
    if not flights:
        return ("", "/api/about")
    last = f"/flights/{part(flights[-1].key)}"
    frames = (f"{last}/frames?offset=0&limit=24",) if flight_log(job, flights[-1]) else ()
    return ("", "/api/about", last, *frames)


QUESTION = Question(
    "check",
    "did-we-get-it",
    "Did we get it?",
    "What was recorded, what was set aside and why, and what has to be flown again.",
    _first,
)
