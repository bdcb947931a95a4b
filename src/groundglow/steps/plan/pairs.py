"""Ready-made pairs: a thing and what it must stand out from, and the rules of its task; each figure has its source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, Literal, get_args

from groundglow.errors import InputError
from groundglow.kit.figures import Faults
from groundglow.kit.lookup import named
from groundglow.kit.rules import TASK, task_rules
from groundglow.kit.rules.table import read_figure, read_rules
from groundglow.kit.tomlfile import read_toml
from groundglow.model.ground import grounds
from groundglow.model.surface import material
from groundglow.records.kit import Figure

__all__ = ["OPEN_GROUND", "Pair", "Warm", "own_pairs", "pair", "pairs", "with_rules", "with_task_rules"]

Warm = Literal["body", "living", "mixed", "pipe"]
#: Background that nobody described: the written rule of the ground model.
OPEN_GROUND: Final = "open ground"
_FIGURES: Final[Mapping[str, str]] = {
    "core_c": "C", "source_c": "C", "share": "", "sun_k": "K", "heat_w_m2": "W/m2", "background_heat_w_m2": "W/m2",
    "load_exponent": "", "heat_w_m": "W/m", "depth_m": "m", "conductivity_w_m_k": "W/m/K", "spread_k": "K",
    "clutter_k": "K",
}  # fmt: skip
_NEEDED: Final[Mapping[str, tuple[str, ...]]] = {
    "body": (), "living": ("core_c", "share"), "mixed": ("source_c", "share"),
    "pipe": ("heat_w_m", "depth_m", "conductivity_w_m_k"),
}  # fmt: skip
_TEXTS: Final = ("name", "aliases", "warmth", "body", "alike", "material", "background", "background_material", "view",
                 "caution", "figures", "rules", "published")  # fmt: skip
_CELSIUS: Final = 273.15


@dataclass(frozen=True)
class Pair:
    """A thing and what it must stand out from.

    Parameters
    ----------
    warmth : str
        How warm the thing is: a ``body`` of the ground model; ``living`` between air and core; ``mixed`` water of a
        source with that of the background; soil over a ``pipe``.
    background : str
        A body of the ground model, or `OPEN_GROUND`.
    alike : bool
        Both are of one construction, so that what is unknown of it is mostly common.
    material, background_material : str
        What the camera sees, by the table of materials.
    figures, rules, published : mapping of str to Figure
        As written; `number` gives SI. ``published`` are rises over the background by the name of who says so.
    """

    id: str
    name: str
    warmth: Warm
    material: str
    background: str
    background_material: str
    body: str = ""
    alike: bool = False
    view: Literal["above", "side"] = "above"
    caution: str = ""
    aliases: tuple[str, ...] = ()
    figures: Mapping[str, Figure] = field(default_factory=dict)
    rules: Mapping[str, Figure] = field(default_factory=dict)
    published: Mapping[str, Figure] = field(default_factory=dict)

    def number(self, name: str, default: float = 0.0) -> float:
        """A figure in SI, or the default where there is none."""
        if name not in self.figures:
            return default
        value = float(self.figures[name].value)
        return value + _CELSIUS if name.endswith("_c") else value

    def doubt(self, name: str) -> float:
        """Standard uncertainty of a figure; 0 where none is stated."""
        return float(self.figures[name].standard_uncertainty or 0.0) if name in self.figures else 0.0


@cache
def pairs() -> Mapping[str, Pair]:
    """The shipped pairs by id.

    Examples
    --------
    >>> pairs()["faulty-module"].rules["least_irradiance_w_m2"].value
    600.0
    """
    text = files(__package__).joinpath("pairs.toml").read_text("utf-8")
    return MappingProxyType(_read(tomllib.loads(text), "pairs.toml"))


def own_pairs(path: Path) -> Mapping[str, Pair]:
    """Pairs of a file of one's own, of the same form as the shipped ones.

    Raises
    ------
    FileError
        When the file cannot be read or is no TOML.
    InputError
        With every fault of it, one a line.
    """
    return _read(read_toml(path, advice="Write [pair.NAME] with its figures."), path.name)


def pair(name: str, own: Mapping[str, Pair] | None = None) -> Pair:
    """The pair of this id or one of its other names; one's own come first.

    Raises
    ------
    InputError
        When there is none, with the nearest names.

    Examples
    --------
    >>> pair("clamp").id, pair("person/grass").id
    ('hot-clamp', 'person-on-grass')
    """
    return named(name, {**pairs(), **(own or {})}, what="pair")


def with_rules(of: Pair, changed: Mapping[str, float], source: str) -> Pair:
    """The pair with some of its rules set anew.

    Raises
    ------
    InputError
        For a rule that is not known.

    Examples
    --------
    >>> with_rules(pair("module"), {"most_wind_m_s": 8.0}, "the brief").rules["most_wind_m_s"].source
    'the brief'
    """
    for name in changed:
        if name not in TASK:
            raise InputError(f"No rule named {name!r}; there are {', '.join(TASK)}.")
    return replace(of, rules={**of.rules, **{n: Figure(v, TASK[n].unit, source) for n, v in changed.items()}})


def with_task_rules(of: Pair, own: Path | None) -> Pair:
    """The pair with the rules of a folder of one's own where that has a file for it, ``ID.toml``, as a whole.

    Raises
    ------
    FileError
        When the file cannot be read or is no TOML.
    InputError
        With every fault of it.
    """
    return replace(of, rules=task_rules(of.id, own)) if own is not None and (own / f"{of.id}.toml").is_file() else of


def _read(raw: Mapping[str, Any], where: str) -> dict[str, Pair]:
    faults = Faults(where)
    table = raw.get("pair")
    if not isinstance(table, dict) or not table:
        raise InputError(f"{where}: there is no [pair.NAME]; write one with name, warmth, material and background.")
    found = {id: made for id, row in table.items() if (made := _pair(id, row, faults)) is not None}
    if faults.lines:
        raise InputError("\n".join(faults.lines))
    return found


def _pair(id: str, row: Any, faults: Faults) -> Pair | None:
    place, before = f"pair.{id}", len(faults.lines)
    if not isinstance(row, dict):
        faults.say(place, "is not a table")
        return None
    for name in row.keys() - set(_TEXTS):
        faults.unknown(place, name, _TEXTS)
    for name in ("name", "warmth", "material", "background", "background_material"):
        if not row.get(name):
            faults.say(place, f"{name} is missing: add it")
    figures = _figures(f"{place}.figures", row, "figures", _FIGURES, faults)
    rules = read_rules(f"{place}.rules", dict(row.get("rules") or {}), TASK, faults) or task_rules(id)
    published = _figures(f"{place}.published", row, "published", None, faults)
    if len(faults.lines) > before:
        return None
    _check_names(place, row, figures, faults)
    if len(faults.lines) > before:
        return None
    texts = {n: row[n] for n in _TEXTS[:10] if n in row and n != "aliases"}
    return Pair(
        id=id, aliases=tuple(row.get("aliases", ())), figures=figures, rules=rules, published=published, **texts
    )


def _check_names(place: str, row: Mapping[str, Any], figures: Mapping[str, Figure], faults: Faults) -> None:
    if row["warmth"] not in get_args(Warm):
        faults.unknown(f"{place}.warmth", str(row["warmth"]), get_args(Warm))
        return
    for name in _NEEDED[row["warmth"]]:
        if name not in figures:
            faults.say(f"{place}.figures", f"{name} is missing: a {row['warmth']} pair needs it")
    bodies = [row["background"]] + ([row.get("body", "")] if row["warmth"] == "body" else [])
    for name in bodies:
        if name not in grounds() and name != OPEN_GROUND:
            faults.unknown(place, str(name), [*grounds(), OPEN_GROUND])
    for name in ("material", "background_material"):
        try:
            material(str(row[name]))
        except InputError as error:
            faults.say(f"{place}.{name}", str(error))


def _figures(
    place: str, row: Mapping[str, Any], part: str, units: Mapping[str, str] | None, faults: Faults
) -> dict[str, Figure]:
    found = {}
    for name, raw in dict(row.get(part, {})).items():
        if units is not None and name not in units:
            faults.unknown(place, name, units)
        elif (made := read_figure(f"{place}.{name}", raw, "K" if units is None else units[name], faults)) is not None:
            found[name] = made
    return found
