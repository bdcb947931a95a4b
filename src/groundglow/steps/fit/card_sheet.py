"""The limits card of a kit as a page to print: how far it sees and measures what, by day and night, dry and humid."""

from __future__ import annotations

from importlib.resources import files
from itertools import groupby
from typing import Any, Final

from groundglow import __version__
from groundglow.paper.measures import Measures
from groundglow.paper.typeset import typeset
from groundglow.steps.fit.card import ACCURACY, CONDITIONS, Card, CardRow
from groundglow.steps.fit.sheet import Heading
from groundglow.steps.fit.telling import kit_words, stands_out_words

__all__ = ["card_contents", "card_sheet"]

TEMPLATE: Final = "card.typ"
HEADING: Final = Heading("What can this kit do?", version=__version__)
_NOTES: Final = (
    "none: the camera gives no temperature, or does not do it even from close by; the hours above say when it would.",
    "Distances compare kits and conditions; they are no promise. Try the kit on a known target first.",
    "Local aviation rules and height limits are not in this card: they come first, and the pilot decides.",
    "Not seeing anybody never means that nobody is there; live parts, roofs and fire are for those who are trained.",
)


def card_sheet(card: Card, heading: Heading = HEADING) -> bytes:
    """A PDF; the same card and heading give the same bytes.

    Raises
    ------
    GroundglowError
        When the typesetter refuses.
    """
    return typeset(files(__package__).joinpath(TEMPLATE), card_contents(card, heading), {})


def card_contents(card: Card, heading: Heading) -> dict[str, Any]:
    """Data for the template; JSON types only."""
    measures = heading.measures
    asked = (
        f"Seeing with {100 * card.probability:.0f} %; measuring within ±{ACCURACY:g} K (95 %), of the rise where the "
        f"target is told by its rise. At {card.place.words}; day is 14:00, night 2:00; dry is 30 %, humid 90 %."
    )
    groups = groupby(card.rows, key=lambda row: row.target.name)
    return {
        "title": heading.title,
        "version": heading.version,
        "prepared_by": heading.prepared_by,
        "date": list(heading.date),
        "under": f"{kit_words(card.combination)}.",
        "unit": measures.long,
        "conditions": list(CONDITIONS),
        "groups": [{"name": name, "rows": [_row(row, measures) for row in rows]} for name, rows in groups],
        "hours": list(stands_out_words(card.hours)),
        "notes": [measures.spoken(asked), *_NOTES],
    }


def _row(row: CardRow, measures: Measures) -> list[str]:
    return [row.task, *(_far(row.reach[name], measures) for name in CONDITIONS)]


def _far(metres: float | None, measures: Measures) -> str:
    """A distance in two figures, whole from ten on."""
    if not metres:
        return "none"
    value = measures.long_value(metres)
    return f"{value:,.0f}" if value >= 9.95 else f"{value:.2g}"
