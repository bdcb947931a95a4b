"""What a page of a question is."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Question"]


@dataclass(frozen=True)
class Question:
    """One of the questions.

    Parameters
    ----------
    id : str
        As the REST interface names it; also the name of its template and script.
    slug : str
        Last part of its address.
    words : str
        The question.
    short : str
        One line on what its page is for.
    """

    id: str
    slug: str
    words: str
    short: str
