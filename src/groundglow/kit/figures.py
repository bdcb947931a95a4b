"""Figures of a kit file, one by one: value, unit, source, checked; every fault said in plain words."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from groundglow.kit.schema import FIGURES, TEXTS, Rule
from groundglow.records.kit import Figure

__all__ = ["Faults", "Row", "read_row"]


@dataclass
class Faults:
    """Faults of one file, gathered so that all are told at once; ``broken`` are ids whose own faults are told."""

    where: str
    lines: list[str] = field(default_factory=list)
    broken: set[str] = field(default_factory=set)

    def say(self, place: str, what: str) -> None:
        """Add one."""
        self.lines.append(f"{self.where}: {place}: {what}")

    def unknown(self, place: str, name: str, known: Iterable[str]) -> None:
        """Add one about a name that is not known, with the nearest that is; none where the thing itself is broken."""
        if name in self.broken:
            return
        names = sorted(known)
        near = difflib.get_close_matches(name, names, n=1, cutoff=0.5)
        hint = f"did you mean {near[0]!r}?" if near else f"known are {', '.join(names) or 'none'}."
        self.say(place, f"{name!r} is not known; {hint}")


@dataclass(frozen=True)
class Row:
    """One item as read: its texts, its figures as written, and their values in SI; ``sound`` when without a fault."""

    id: str
    texts: Mapping[str, Any]
    figures: Mapping[str, Figure]
    si: Mapping[str, Any]
    sound: bool = True

    def number(self, name: str, default: float = 0.0) -> float:
        """A figure in SI, or the default where it was not given."""
        return float(self.si.get(name, default))

    def doubt(self, name: str) -> float:
        """Standard uncertainty of a figure as written; 0 where none is stated."""
        return float((self.figures[name].standard_uncertainty if name in self.figures else None) or 0.0)


def read_row(kind: str, id: str, raw: Any, faults: Faults) -> Row | None:
    """Read one item of a table; None when it is no table at all."""
    place, before = f"{kind}.{id}", len(faults.lines)
    if not isinstance(raw, dict):
        faults.say(place, "is not a table of figures")
        return None
    given = {k: v for k, v in raw.items() if k != "figures"} | dict(raw.get("figures", {}))
    texts = {name: given[name] for name in TEXTS[kind] if name in given}
    figures, si = {}, {}
    for name, rule in FIGURES[kind].items():
        if name in given and (found := _figure(f"{place}.{name}", given[name], rule, texts, faults)):
            figures[name], si[name] = found, _si(found.value, rule)
    known = {**FIGURES[kind], **TEXTS[kind]}
    for name in given.keys() - known.keys():
        faults.unknown(place, name, known)
    needed = [n for n, r in FIGURES[kind].items() if r.needed] + [n for n, must in TEXTS[kind].items() if must]
    for name in needed:
        if name not in given:
            faults.say(place, f"{name} is missing: add it")
    return Row(id, texts, figures, si, len(faults.lines) == before)


def _figure(place: str, raw: Any, rule: Rule, texts: Mapping[str, Any], faults: Faults) -> Figure | None:
    """A figure as ``{ value, unit, source }``, or a plain number under a table that names its source."""
    table = raw if isinstance(raw, dict) else {"value": raw, "unit": rule.unit, "source": texts.get("source", "")}
    before = len(faults.lines)
    for name in table.keys() - {"value", "unit", "source", "standard_uncertainty"}:
        faults.unknown(place, name, ("value", "unit", "source", "standard_uncertainty"))
    if "value" not in table:
        faults.say(place, "value is missing: add it")
    if "unit" not in table:
        faults.say(place, f"unit is missing: write unit = {rule.unit!r}")
    elif table["unit"] != rule.unit:
        faults.say(place, f"unit is {table['unit']!r}; allowed {rule.unit!r}, as the field's name says")
    if not table.get("source"):
        faults.say(place, 'source is missing: say where the number comes from, such as source = "data sheet, 2026"')
    if len(faults.lines) > before:
        return None
    value = _value(place, table["value"], rule, faults)
    if value is None:
        return None
    return Figure(value, table["unit"], str(table["source"]), table.get("standard_uncertainty"))


def _value(place: str, value: Any, rule: Rule, faults: Faults) -> Any:
    if rule.form == "number":
        return _number(place, value, rule, faults)
    if not isinstance(value, list) or not value:
        faults.say(place, f"found {value!r}; a list is wanted")
        return None
    if rule.form == "list":
        numbers = [_number(place, v, rule, faults) for v in value]
        return None if None in numbers else tuple(numbers)
    pairs = [_pair(place, v, rule, faults) for v in value]
    return None if None in pairs else tuple(pairs)


def _pair(place: str, value: Any, rule: Rule, faults: Faults) -> tuple[float, float] | None:
    if not isinstance(value, list) or len(value) != 2:
        faults.say(place, f"found {value!r}; a pair of numbers is wanted")
        return None
    first, second = (_number(place, v, rule, faults) for v in value)
    return None if first is None or second is None else (first, second)


def _number(place: str, value: Any, rule: Rule, faults: Faults) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        faults.say(place, f"found {value!r}; a number is wanted")
        return None
    low = value > rule.low if rule.above else value >= rule.low
    if not (low and value <= rule.high):
        unit = f" {rule.unit}" if rule.unit and rule.form != "pairs" else ""
        faults.say(place, f"is {value:g}{unit}; allowed {rule.allowed} ({rule.why})")
        return None
    return float(value)


def _si(value: Any, rule: Rule) -> Any:
    if rule.form == "number":
        return value * rule.scale + rule.shift
    if rule.form == "list":
        return tuple(v * rule.scale + rule.shift for v in value)
    a, b = rule.scales
    return tuple((first * a + rule.shift, second * b + rule.shift) for first, second in value)
