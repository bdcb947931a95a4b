"""What do we tell them? The report as a PDF, the findings as table and layers."""

from groundglow.steps.report.contents import ReportInputs, contents
from groundglow.steps.report.layers import COLUMNS, finding_rows
from groundglow.steps.report.pictures import departure_picture
from groundglow.steps.report.reviewed import review_words, reviewed
from groundglow.steps.report.site_map import site_map
from groundglow.steps.report.typeset import typeset

__all__ = [
    "COLUMNS",
    "ReportInputs",
    "contents",
    "departure_picture",
    "finding_rows",
    "review_words",
    "reviewed",
    "site_map",
    "typeset",
]
