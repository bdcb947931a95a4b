"""One way to find a named thing of a table: by its id or one of its other names, as people write them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol, TypeVar

from groundglow.errors import InputError
from groundglow.kit.figures import Faults

__all__ = ["Named", "named"]


class Named(Protocol):
    """What has other names beside its id."""

    @property
    def aliases(self) -> Sequence[str]:
        """Its other names."""
        ...


T = TypeVar("T", bound=Named)


def named(name: str, every: Mapping[str, T], *, what: str, else_: str = "") -> T:
    """The thing of this id or other name; capitals, and blanks in place of hyphens, do not matter.

    Parameters
    ----------
    name : str
        As somebody wrote it.
    every : mapping of id to thing
        Ids come before other names; of two with the same other name the later one counts.
    what : str
        What is looked for, for the error.
    else_ : str
        What to do where it is not there, for the error.

    Raises
    ------
    InputError
        When there is none, with the nearest name.

    Examples
    --------
    >>> from groundglow.kit.targets import targets
    >>> named("Cable clamp", targets(), what="target").name
    'a cable clamp'
    """
    others = {alias: thing for thing in every.values() for alias in thing.aliases}
    plain = name.strip().lower()
    for written in (name, plain, plain.replace(" ", "-")):
        found = every.get(written) or others.get(written)
        if found is not None:
            return found
    faults = Faults(what)
    faults.unknown(name, plain, [*every, *others])
    raise InputError(f"{what} {faults.lines[0].removeprefix(f'{what}: {name}: ')}{else_}")
