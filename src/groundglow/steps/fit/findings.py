"""The whole answer to one question: ranked combinations, what would turn it, what an upgrade buys, what to mind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from groundglow.errors import InputError
from groundglow.kit.place_of_use import UseTable
from groundglow.records.fit import Answer, Ask
from groundglow.records.kit import Combination
from groundglow.steps.fit.answer import answers_of
from groundglow.steps.fit.changes import Turn, turns_of
from groundglow.steps.fit.evaluate import Expected, evaluate
from groundglow.steps.fit.geometry import WHAT_IS_KNOWN
from groundglow.steps.fit.place_of_use import use_words
from groundglow.steps.fit.rank import ranked
from groundglow.steps.fit.settings import RULE
from groundglow.steps.fit.upgrade import Upgrade, upgrades

__all__ = ["FitFindings", "cautions", "fit_findings"]

#: Height above ground from which most places ask for more than the ordinary leave, m (EU 2019/947; 400 ft in the US).
USUAL_HEIGHT = 120.0


@dataclass(frozen=True)
class FitFindings:
    """All that came of a question. ``turns`` are of the best fit and the best unfit one, in this order."""

    ask: Ask
    answers: tuple[Answer, ...]
    expected: Expected
    turns: tuple[Turn, ...]
    upgrades: tuple[Upgrade, ...]
    rule: str
    assumed: tuple[str, ...]
    cautions: tuple[str, ...]
    place_of_use: tuple[str, ...] = ()

    @property
    def fit(self) -> tuple[Answer, ...]:
        """The fit ones, best first."""
        return tuple(a for a in self.answers if a.fit)

    @property
    def best(self) -> Answer:
        """The best fit one, or where none is fit the one that comes nearest."""
        return self.answers[0]


def fit_findings(
    ask: Ask,
    combinations: Sequence[Combination],
    *,
    owned: Sequence[Combination] = (),
    table: UseTable | None = None,
) -> FitFindings:
    """Answer a question.

    Parameters
    ----------
    ask : Ask
    combinations : sequence of Combination
        Those that are looked at.
    owned : sequence of Combination
        Kits of one's own, for what an upgrade buys.
    table : UseTable, optional
        The user's table of places of use.

    Raises
    ------
    InputError
        When there is no combination to look at.
    """
    if not combinations:
        raise InputError(
            "There is no combination to look at: name a camera, lens or aircraft of the catalogue or of your kit."
        )
    expected = evaluate(ask, combinations)
    answers = ranked(answers_of(expected, table=table))
    return FitFindings(
        ask=ask,
        answers=answers,
        expected=expected,
        turns=turns_of(ask, answers, combinations),
        upgrades=tuple(u for kit in owned for u in upgrades(ask, kit, combinations)),
        rule=RULE,
        assumed=(*ask.notes, *expected.scene.notes, *_notes(ask), *_unpriced(ask, answers)),
        cautions=cautions(ask, answers),
        place_of_use=use_words(ask, answers, table),
    )


def _notes(ask: Ask) -> tuple[str, ...]:
    notes = [_target_words(ask), ask.work.why]
    if ask.lon_deg is not None:
        notes.append(WHAT_IS_KNOWN)
    notes.append("probabilities compare kits and distances; they are no promise")
    return tuple(notes)


def _target_words(ask: Ask) -> str:
    """The target and its surroundings as they were taken."""
    of = ask.target
    sides = " x ".join(f"{side:.2g}" for side in (of.length, of.width, of.height) if side > 0)
    on = of.background or "others of its kind"
    return (
        f"{of.name}: {sides} m, {of.material}, emissivity {of.emissivity:.2f}; around it {on}, with a spread of "
        f"{of.clutter:.2g} K from place to place"
    )


def _unpriced(ask: Ask, answers: Sequence[Answer]) -> tuple[str, ...]:
    """What a budget cannot be held against."""
    unknown = sum(a.combination.price is None for a in answers) if ask.budget is not None else 0
    if not unknown:
        return ()
    return (
        f"the budget was held against combinations of known price only: of {unknown} of {len(answers)} it is not known "
        "(give price in your kit.toml)",
    )


def cautions(ask: Ask, answers: Sequence[Answer]) -> tuple[str, ...]:
    """What must be said beside an answer."""
    said = [
        "Flying: local aviation rules, height limits, line of sight and people below come first; the pilot decides."
    ]
    if ask.people_near:
        said.append("People are near: keep the distance that local rules ask for; never fly over them for a picture.")
    if ask.live_parts and "Live parts" not in ask.target.caution:
        said.append("Live parts: distances and switching are for licensed persons; a longer lens beats going near.")
    if ask.target.caution:
        said.append(ask.target.caution)
    if ask.view == "above" and any(a.at.distance > USUAL_HEIGHT for a in answers if a.fit):
        said.append(f"Above some {USUAL_HEIGHT:.0f} m over ground most places ask for special leave.")
    said.append("This is advice from a model, not a verdict: try it on a known target before you rely on it.")
    return tuple(said)
