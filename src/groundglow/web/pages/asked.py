"""The questions that have a page, in the order in which a job asks them."""

from __future__ import annotations

from groundglow.web.pages import check, find, fit, measure, plan, report
from groundglow.web.pages.question import Question

__all__ = ["QUESTIONS"]

#: A new question is one module here, one template and one script.
QUESTIONS: tuple[Question, ...] = tuple(m.QUESTION for m in (fit, plan, check, measure, find, report))
