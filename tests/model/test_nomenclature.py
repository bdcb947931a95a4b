"""Every parameter of the model has one line on the page of names, with unit, range and source; no line is left over."""

from __future__ import annotations

import enum
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

import groundglow.model
from groundglow.model.weather import LIMITS

PAGE = Path(__file__).parents[2] / "docs" / "nomenclature.md"
HEAD = ["symbol", "code name", "meaning", "unit", "range", "source"]


@dataclass(frozen=True)
class Line:
    """One row of the page: its names, and the modules that it is for (none: all that have no row of their own)."""

    names: tuple[str, ...]
    modules: tuple[str, ...]
    meaning: str
    range: str
    source: str


def _cells(row: str) -> list[str]:
    return [cell.strip() for cell in row.strip().strip("|").split("|")]


def lines() -> list[Line]:
    found = []
    for row in PAGE.read_text(encoding="utf-8").splitlines():
        if not row.startswith("|") or row.startswith("|---") or _cells(row) == HEAD:
            continue
        cells = _cells(row)
        assert len(cells) == len(HEAD), row
        scope = re.search(r"\(([\w, ]+)\)$", cells[1])
        modules = tuple(scope.group(1).split(", ")) if scope else ()
        found.append(Line(tuple(re.findall(r"`(\w+)`", cells[1])), modules, cells[2], cells[4], cells[5]))
    return found


def _public(module: str) -> Iterator[Callable[..., object]]:
    """Functions and records that a module itself makes public."""
    loaded = importlib.import_module(module)
    for name in getattr(loaded, "__all__", []):
        member = getattr(loaded, name)
        if not callable(member) or getattr(member, "__module__", "") != module:
            continue
        if not (inspect.isclass(member) and (issubclass(member, enum.Enum) or getattr(member, "_is_protocol", False))):
            yield member


def parameters() -> Iterator[tuple[str, str, str]]:
    """Module, member and parameter."""
    various = (inspect.Parameter.VAR_KEYWORD, inspect.Parameter.VAR_POSITIONAL)
    for info in pkgutil.walk_packages(groundglow.model.__path__, "groundglow.model."):
        for member in _public(info.name):
            if not inspect.isclass(member) and not inspect.isroutine(member) and not hasattr(member, "py_func"):
                continue
            for name, parameter in inspect.signature(getattr(member, "py_func", member)).parameters.items():
                if parameter.kind not in various and not name.startswith("_"):
                    yield info.name, getattr(member, "__name__", "?"), name


def _line_for(module: str, name: str, page: list[Line]) -> list[Line]:
    parts = module.split(".")
    own = [line for line in page if name in line.names and any(m in parts for m in line.modules)]
    return own or [line for line in page if name in line.names and not line.modules]


def test_every_parameter_stands_on_the_page_once() -> None:
    page = lines()
    wrong = {
        f"{module.removeprefix('groundglow.model.')}.{member}({name}): {len(_line_for(module, name, page))} lines"
        for module, member, name in parameters()
        if len(_line_for(module, name, page)) != 1
    }
    assert not wrong


def test_no_line_is_left_over() -> None:
    page = lines()
    used = {(line, name) for module, _, name in parameters() for line in _line_for(module, name, page)}
    assert not [f"{name} {line.modules}" for line in page for name in line.names if (line, name) not in used]


def test_every_line_has_a_meaning_and_a_source() -> None:
    assert not [line.names for line in lines() if not line.meaning or not line.source]


@pytest.mark.parametrize(
    "name", [n for n in LIMITS if n not in ("transmittance", "zenith", "relative_humidity", "cloud_fraction")]
)
def test_ranges_are_those_that_the_model_checks(name: str) -> None:
    (line,) = [line for line in lines() if name in line.names and not line.modules]
    low, high = (float(end) for end in line.range.split(" to "))
    assert (low, high) == (LIMITS[name].low, LIMITS[name].high)


def test_names_are_words_and_units_other_than_si_are_in_them() -> None:
    """Symbols stand beside a formula only: one letter is allowed where the page says which symbol it is."""
    short = {name for line in lines() for name in line.names if len(name) == 1}
    assert short <= {"a", "b", "c", "t", "x"}
    assert not [name for line in lines() for name in line.names if re.search(r"_(c|f|ft|km|um|pct|hpa)$", name)]
