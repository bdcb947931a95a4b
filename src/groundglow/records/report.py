"""What a report is to hold and how it is to look: the options of ``report.toml``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from groundglow.records.decision import GRADES
from groundglow.records.edge import EdgeRecord
from groundglow.records.finding import Support

__all__ = ["ReportOptions"]

#: One line of text that goes onto the page as it stands.
Line = Annotated[str, StringConstraints(max_length=120, pattern=r"^[^\x00-\x1f\x7f\u2028\u2029]*$")]


class ReportOptions(EdgeRecord):
    """Options of the report; each has a default, which leaves nothing out.

    Which findings go in hangs on the grade that people gave and on how far a reading is supported; what is left out is
    counted in the report, and stays in the table that goes with it.

    Examples
    --------
    >>> ReportOptions().told()
    []
    >>> ReportOptions(paper="Letter", map=False).told()
    ['paper: Letter', 'map: no']
    """

    business: Line = Field(default="", description="Business that hands the report over.")
    author: Line = Field(default="", description="Who wrote it; else prepared_by of the brief.")
    reference: Line = Field(default="", description="Reference number of the client or of one's own.")
    temperature: Literal["C", "F", "K"] = Field(
        default="C", description="Unit of temperatures; rises are in K, or in °F."
    )
    paper: Literal["A4", "Letter"] = Field(default="A4", description="Size of the pages.")
    least_grade: Literal["", "act at once", "plan a repair", "watch"] = Field(
        default="", description="Leave out findings that people graded as less pressing."
    )
    ungraded: bool = Field(default=True, description="Findings that nobody graded.")
    least_support: Support = Field(
        default=Support.NOT_SUPPORTED, description="Leave out findings that are supported less."
    )
    rejected: bool = Field(default=True, description="Among what was not kept: findings that people rejected.")
    unconfirmed: bool = Field(default=True, description="Among what was not kept: findings seen once only.")
    dismissed: bool = Field(default=True, description="Among what was not kept: what was looked at and dismissed.")
    map: bool = Field(default=True, description="Map of the site.")
    method: bool = Field(default=True, description="How the values were made, and where their doubt comes from.")
    pictures: bool = Field(default=True, description="A part for each finding, with picture; else only the list.")

    def told(self) -> list[str]:
        """Options that differ from the defaults, in words."""
        changed = {n: v for n, v in self if v != type(self).model_fields[n].default}
        return [f"{n.replace('_', ' ')}: {_word(v)}" for n, v in changed.items()]

    def enough(self, grade: str, support: Support) -> bool:
        """Whether a finding of a grade (empty: nobody graded it) and of a support goes in."""
        order = list(Support)
        if order.index(support) < order.index(self.least_support):
            return False
        if not grade:
            return self.ungraded
        return not self.least_grade or GRADES.index(grade) <= GRADES.index(self.least_grade)


def _word(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)
