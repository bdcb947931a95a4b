"""Did we get it? Each frame looked at, the flight's log assembled, the coverage of the site counted."""

from groundglow.steps.check.coverage import Coverage, coverage
from groundglow.steps.check.flight import FlightPoses, assemble
from groundglow.steps.check.look import Look, look

__all__ = ["Coverage", "FlightPoses", "Look", "assemble", "coverage", "look"]
