"""Can it be seen?"""

from groundglow.web.pages.question import Question

__all__ = ["QUESTION"]

QUESTION = Question(
    "fit",
    "can-it-be-seen",
    "Can it be seen?",
    "Which camera, lens and aircraft would do, from how far, and why the others would not.",
    lambda here, job, given: ("", "/api/kit", "/fit"),
)
