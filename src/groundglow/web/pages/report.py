"""What do we tell them?"""

from groundglow.web.pages.question import Question

__all__ = ["QUESTION"]

QUESTION = Question(
    "report",
    "what-do-we-tell-them",
    "What do we tell them?",
    "The report as the client will see it, and all files to take away.",
    lambda here, job, given: ("", "/api/about", "/report"),
)
