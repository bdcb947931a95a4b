"""What do we tell them? The report as a PDF, the findings as table and layers."""

from groundglow.steps.report.chosen import chosen
from groundglow.steps.report.contents import ReportInputs, contents
from groundglow.steps.report.layers import COLUMNS, finding_rows
from groundglow.steps.report.pictures import departure_picture
from groundglow.steps.report.reviewed import review_words
from groundglow.steps.report.site_map import site_map
from groundglow.steps.report.typeset import typeset
from groundglow.steps.report.units import rise_scale

__all__ = [
    "COLUMNS",
    "ReportInputs",
    "chosen",
    "contents",
    "departure_picture",
    "finding_rows",
    "review_words",
    "rise_scale",
    "site_map",
    "typeset",
]
