"""Ready-made targets: their sizes, what they are made of, how warm they are, each figure with its source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import get_args

from groundglow.errors import InputError
from groundglow.kit.figures import Faults, Row, read_row
from groundglow.kit.lookup import named
from groundglow.model.ground import grounds
from groundglow.model.surface import material
from groundglow.records.fit import Target, View, Warmth

__all__ = ["target", "target_of", "targets"]

_FOLLOWS = ("", "sun", "load")


@cache
def targets() -> Mapping[str, Target]:
    """All ready-made targets by id.

    Examples
    --------
    >>> targets()["clamp"].length
    0.15
    """
    raw = tomllib.loads(files("groundglow.kit").joinpath("targets.toml").read_text("utf-8"))
    faults = Faults("targets.toml")
    rows = [row for id, table in raw["target"].items() if (row := read_row("target", id, table, faults))]
    found = {row.id: made for row in rows if (made := target_of(row, faults)) is not None}
    if faults.lines:
        raise InputError("\n".join(faults.lines))
    return MappingProxyType(found)


def target(name: str, own: Mapping[str, Target] | None = None) -> Target:
    """The target of this id or of one of its other names; one's own come first.

    Raises
    ------
    InputError
        When there is none, with the nearest names.

    Examples
    --------
    >>> target("person").id
    'person-standing'
    """
    return named(name, {**targets(), **(own or {})}, what="target", else_=" Or give length, width and material.")


def target_of(row: Row, faults: Faults) -> Target | None:
    """A target from one row of a table; None, with the fault said, when something in it does not hold."""
    if not row.sound:
        return None
    place, before = f"target.{row.id}", len(faults.lines)
    background, view = str(row.texts.get("background", "")), str(row.texts.get("view", "above"))
    for name in (background, row.texts.get("body")):
        if name and name not in grounds():
            faults.unknown(place, str(name), grounds())
    if view not in get_args(View):
        faults.unknown(f"{place}.view", view, get_args(View))
    others = row.texts.get("aliases", [])
    if not (isinstance(others, list) and all(isinstance(alias, str) for alias in others)):
        faults.say(f"{place}.aliases", f"found {others!r}; a list of names is wanted")
    follows = str(row.texts.get("follows", ""))
    if follows not in _FOLLOWS:
        faults.unknown(f"{place}.follows", follows, _FOLLOWS[1:])
    only_at = str(row.texts.get("only_at", ""))
    if only_at not in ("", "night"):
        faults.unknown(f"{place}.only_at", only_at, ("night",))
    ways = [name for name in ("temperature_c", "rise_k", "core_c") if name in row.si]
    ways += ["body"] if "body" in row.texts else []
    if len(ways) != 1:
        said = ", ".join(ways) or "nothing"
        faults.say(place, f"its warmth is told by {said}; give one of temperature_c, rise_k, core_c with share, body")
    try:
        made = material(str(row.texts["material"]))
    except InputError as error:
        faults.say(f"{place}.material", str(error))
        return None
    if len(faults.lines) > before:
        return None
    warmth = Warmth(
        row.si.get("temperature_c"), row.si.get("rise_k"), follows,  # type: ignore[arg-type]
        row.texts.get("body"), row.si.get("core_c"), row.number("share", 1.0), row.number("sun_k"),
        *(row.doubt(name) for name in ("core_c", "share", "sun_k")),
    )  # fmt: skip
    sources = {name: figure.source for name, figure in row.figures.items()} | {"emissivity": made.source}
    return Target(
        row.id, row.texts["name"], row.number("length_m"), row.number("width_m"), row.number("height_m"), made.name,
        made.emissivity_7_5_13_5, made.standard_uncertainty, warmth, background, row.number("clutter_k"), sources,
        row.number("pixels", 10.0), str(row.texts.get("caution", "")), view,  # type: ignore[arg-type]
        tuple(row.texts.get("aliases", ())), only_at,  # type: ignore[arg-type]
    )  # fmt: skip
