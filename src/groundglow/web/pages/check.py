"""Did we get it?"""

from collections.abc import Mapping

from groundglow.job.folder import JobFolder
from groundglow.web.context import Context
from groundglow.web.pages.question import Question
from groundglow.web.telling import part

__all__ = ["QUESTION"]


def _first(here: Context, job: JobFolder, given: Mapping[str, str]) -> tuple[str, ...]:
    flights = job.flights()
    if not flights:
        return ("",)
    last = f"/flights/{part(flights[-1].key)}"
    return ("", "/api/about", last, f"{last}/frames?offset=0&limit=24")


QUESTION = Question(
    "check",
    "did-we-get-it",
    "Did we get it?",
    "What was recorded, what was set aside and why, and what has to be flown again.",
    _first,
)
