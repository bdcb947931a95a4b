"""Can it be seen? What kit serves a question, for which reasons others do not, and what would change that."""

from groundglow.steps.fit.ask import Setting, ask_of
from groundglow.steps.fit.card import Card, CardPlace, limits_card
from groundglow.steps.fit.choose import chosen_combinations
from groundglow.steps.fit.findings import FitFindings, fit_findings
from groundglow.steps.fit.matrix import Matrix, kit_matrix
from groundglow.steps.fit.several import Cover, smallest_cover

__all__ = [
    "Card",
    "CardPlace",
    "Cover",
    "FitFindings",
    "Matrix",
    "Setting",
    "ask_of",
    "chosen_combinations",
    "fit_findings",
    "kit_matrix",
    "limits_card",
    "smallest_cover",
]
