"""Did we get it?"""

from groundglow.web.pages.question import Question

__all__ = ["QUESTION"]

QUESTION = Question(
    "check",
    "did-we-get-it",
    "Did we get it?",
    "What was recorded, what was set aside and why, and what has to be flown again.",
)
