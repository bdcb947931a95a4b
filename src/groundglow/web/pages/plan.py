"""How and when do we fly?"""

from groundglow.web.pages.question import Question
from groundglow.web.telling import part

__all__ = ["QUESTION"]

QUESTION = Question(
    "plan",
    "how-and-when-do-we-fly",
    "How and when do we fly?",
    "Lines over the site with the proof that they cover it, and the hours that work.",
    lambda here, job, given: ("", "/plan", f"/api/kit?job={part(job.root.name)}", "/site", "/api/about"),
)
