"""What is wrong, and where? Departures from the surroundings: in a frame, over a flight, over a visit."""

from groundglow.steps.find.candidates import candidates
from groundglow.steps.find.merge import merge
from groundglow.steps.find.search import Search, ground_sampling, searches, sigmas_asked
from groundglow.steps.find.settings import FindSettings
from groundglow.steps.find.visits import merge_flights

__all__ = [
    "FindSettings",
    "Search",
    "candidates",
    "ground_sampling",
    "merge",
    "merge_flights",
    "searches",
    "sigmas_asked",
]
