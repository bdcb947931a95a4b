"""How hot, and how surely?"""

from groundglow.web.pages.question import Question

__all__ = ["QUESTION"]

QUESTION = Question(
    "measure",
    "how-hot",
    "How hot, and how surely?",
    "One frame, read closely: a temperature under the cursor, always with its interval.",
)
