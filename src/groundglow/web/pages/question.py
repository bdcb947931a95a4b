"""What a page of a question is."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from groundglow.job.folder import JobFolder
from groundglow.web.context import Context

__all__ = ["First", "Question"]

#: Addresses below a job's own that a page asks for before it can be used, by what its own address says.
First = Callable[[Context, JobFolder, Mapping[str, str]], tuple[str, ...]]


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
    first : First
        What its script asks of the REST interface at once, below the job's own address or from ``/``. The browser is
        told in the page's head, and has it under way before the script runs; a wrong address costs a request, nothing
        else.
    """

    id: str
    slug: str
    words: str
    short: str
    first: First
