"""The report as a PDF."""

from __future__ import annotations

from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from groundglow.paper import typeset as paper

__all__ = ["typeset"]

TEMPLATE = "report.typ"


def typeset(data: Mapping[str, Any], pictures: Mapping[str, bytes]) -> bytes:
    """PDF/A-2a and PDF/UA-1 bytes of the report; see `groundglow.paper.typeset.typeset`."""
    return paper.typeset(files(__package__).joinpath(TEMPLATE), data, pictures)
