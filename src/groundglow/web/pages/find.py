"""What is wrong, and where?"""

from groundglow.web.pages.question import Question

__all__ = ["QUESTION"]

QUESTION = Question(
    "find",
    "what-is-wrong",
    "What is wrong, and where?",
    "What departs from its surroundings; looked through and decided by a person.",
    lambda here, job, given: ("", "/api/about", "/findings?sort=number&offset=0&status=found&limit=20"),
)
