"""The catalogue of what can be flown, with one's own kit on top; and the check of a kit file."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from groundglow.errors import InputError
from groundglow.kit.assemble import Fleet, assemble
from groundglow.kit.figures import Faults
from groundglow.kit.tomlfile import read_toml

__all__ = ["Fleet", "catalogue", "check_kit", "fleet_with"]


@cache
def catalogue() -> Fleet:
    """The shipped catalogue: invented for the demo, no maker's line.

    Examples
    --------
    >>> fleet = catalogue()
    >>> len(fleet.detectors), len(fleet.cameras), len(fleet.aircraft)
    (3, 7, 5)
    """
    text = files("groundglow.kit").joinpath("fleet.toml").read_text("utf-8")
    return _read(tomllib.loads(text), "catalogue", Fleet())


def fleet_with(path: Path | None) -> Fleet:
    """The catalogue with what a kit file adds to it.

    Parameters
    ----------
    path : Path or None
        A ``kit.toml``; None for the catalogue alone.

    Raises
    ------
    FileError
        When the file cannot be read or is no TOML.
    InputError
        With every fault of it, one a line.
    """
    return catalogue() if path is None else _read(_toml(path), path.name, catalogue())


def check_kit(path: Path) -> tuple[Fleet, tuple[str, ...]]:
    """What a kit file holds, and every fault of it in plain words, none when it is sound.

    Raises
    ------
    FileError
        When the file cannot be read or is no TOML.
    """
    faults = Faults(path.name)
    return assemble(_toml(path), catalogue(), faults), tuple(faults.lines)


def _toml(path: Path) -> dict[str, Any]:
    return read_toml(path, advice="See the commented kit.toml of `groundglow new`.")


def _read(raw: Mapping[str, Any], where: str, base: Fleet) -> Fleet:
    faults = Faults(where)
    fleet = assemble(raw, base, faults)
    if faults.lines:
        raise InputError("\n".join(faults.lines))
    return fleet
