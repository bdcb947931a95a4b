"""How hot, and how surely?"""

from collections.abc import Mapping

from groundglow.job.folder import JobFolder
from groundglow.job.inputs import flight_spec
from groundglow.job.plans.measure import field_path
from groundglow.web.context import Context
from groundglow.web.pages.question import Question
from groundglow.web.reading import first_frame, flight_log, no_table
from groundglow.web.telling import part

__all__ = ["QUESTION"]


def _first(here: Context, job: JobFolder, given: Mapping[str, str]) -> tuple[str, ...]:
    flights = {f.key: f for f in job.flights()}
    wanted = given.get("flight")
    flight = flights.get(wanted) if wanted else next(iter(flights.values()), None)
    log = flight_log(job, flight) if flight else None
    if flight is None or log is None:
        return ("",)
    name = given.get("frame") or first_frame(here, job, flight)
    entry = next((e for e in log.entries if e.name == name and e.used), None)
    at = f"/flights/{part(flight.key)}"
    if entry is None:
        return ("", at)
    frame = f"{at}/frames/{part(entry.name)}"
    measured = field_path(job, flight, job.root / entry.path).is_file()
    arrays = "value%2Csd%2Cmask%2Cdeparture%2Csurface&coded=true" if measured else "signal%2Csurface"
    kept = ("", "/static/frame/colours.json", f"{at}/frames?limit=500&used=true", at)
    table = () if no_table(flight_spec(flight)) else (f"{frame}/table",)
    return (f"{frame}/pixels?arrays={arrays}", *kept, *table)


QUESTION = Question(
    "measure",
    "how-hot",
    "How hot, and how surely?",
    "One frame, read closely: a temperature under the cursor, always with its interval.",
    _first,
)
