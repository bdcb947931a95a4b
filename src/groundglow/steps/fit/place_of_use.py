"""Place of use: a flag from the user's own table beside an answer. It informs and decides nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from groundglow.kit.place_of_use import ANY, UseRow, UseTable
from groundglow.records.fit import Answer, Ask, Use

__all__ = ["ALWAYS", "UseFlag", "use_flag", "use_words"]

Outcome = Literal["your table lists no licence need", "ask", "your table says no"]

#: Said with every flag, whatever its outcome.
ALWAYS: Final = (
    "Only the competent authority decides. Frame rates above 9 Hz are commonly controlled for export, and slower ones "
    "are not simply free: military end use and some destinations need a licence all the same."
)
_OUTCOMES: Final[dict[str, Outcome]] = {
    "no licence need": "your table lists no licence need",
    "ask": "ask",
    "no": "your table says no",
}
#: The stricter first, for rows that are equally narrow.
_STRICT: Final = ("no", "ask", "no licence need")


@dataclass(frozen=True)
class UseFlag:
    """What the table says: outcome, why in words, the row that says so (None: no row), and what is always said."""

    outcome: Outcome
    words: str
    row: UseRow | None
    texts: tuple[str, ...]

    @property
    def told(self) -> str:
        """The flag in words."""
        return f"{self.outcome}. {self.words}"


def use_flag(use: Use, frame_rate: float, table: UseTable) -> UseFlag:
    """What the user's table says about using a camera of this frame rate as said.

    Parameters
    ----------
    use : Use
        Places and purpose as the brief says them. Whatever is not said is met only by rows that leave it open.
    frame_rate : float
        The fastest that the camera can be set to, Hz.
    table : UseTable

    Returns
    -------
    UseFlag
        By the narrowest row that holds; among equally narrow ones the strictest; "ask" where none holds.

    Examples
    --------
    >>> from groundglow.kit.place_of_use import use_table
    >>> use_flag(Use(bought_in="A", used_in="B"), 30.0, use_table()).outcome
    'ask'
    """
    held = [row for row in table.row if _holds(row, use, frame_rate)]
    texts = tuple(f"{text.name}: “{text.words}” ({text.status})" for text in table.text)
    if not held:
        return UseFlag("ask", _no_row(use), None, texts)
    row = min(held, key=lambda r: (-r.narrowness, _STRICT.index(r.outcome)))
    words = f"The row from {_place(row.leaves)} to {_place(row.to)} of {row.date} by {row.source}"
    limit = f" for up to {row.up_to_hz:g} Hz" if row.up_to_hz is not None else ""
    return UseFlag(_OUTCOMES[row.outcome], f"{words}{limit}.", row, texts)


def _holds(row: UseRow, use: Use, frame_rate: float) -> bool:
    keys = (
        (row.leaves, use.bought_in),
        (row.to, use.used_in),
        (row.end_user, use.end_user),
        (row.end_use, use.end_use),
    )
    same = all(key == ANY or (said != "" and key.casefold() == said.casefold()) for key, said in keys)
    carried = row.temporary is None or row.temporary == use.temporary
    return same and carried and (row.up_to_hz is None or frame_rate <= row.up_to_hz)


def _place(name: str) -> str:
    return "any place" if name == ANY else name


def _no_row(use: Use) -> str:
    if not (use.bought_in and use.used_in):
        return "The brief does not say from where to where it goes."
    stays = "there and back" if use.temporary else "to stay"
    return f"No row of your table holds from {use.bought_in} to {use.used_in}, {stays}."


def use_words(ask: Ask, answers: Sequence[Answer], table: UseTable | None) -> tuple[str, ...]:
    """All that is said of places of use beside the answers, once: the flag of each camera that would do (of the nearest
    one where none does), who decides, and the texts. Nothing where the question names neither a place nor a frame rate.
    """
    use = ask.use
    if table is None or not (use.bought_in or use.used_in or ask.highest_frame_rate is not None):
        return ()
    shown = [a for a in answers if a.fit] or answers[:1]
    cameras = {a.combination.camera.name: max(a.combination.camera.frame_rates) for a in shown}
    flags = {name: use_flag(use, rate, table) for name, rate in cameras.items()}
    alike: dict[str, list[str]] = {}
    for name, flag in flags.items():
        alike.setdefault(flag.told, []).append(f"{name} (up to {cameras[name]:g} Hz)")
    texts = dict.fromkeys(text for flag in flags.values() for text in flag.texts)
    return (*(f"{', '.join(names)}: {told}" for told, names in alike.items()), ALWAYS, *texts)
