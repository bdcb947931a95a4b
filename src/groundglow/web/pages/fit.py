"""Can it be seen?"""

from groundglow.web.pages.question import Question
from groundglow.web.telling import part

__all__ = ["QUESTION"]

QUESTION = Question(
    "fit",
    "can-it-be-seen",
    "Can it be seen?",
    "Which camera, lens and aircraft would do, from how far, and why the others would not.",
    lambda here, job, given: ("", f"/api/kit?job={part(job.root.name)}", "/fit", "/api/about"),
)
