"""The ways to record, as data: what each keeps and loses, its levels and its bits, each figure with a source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Literal

from groundglow.records.edge import EdgeRecord

__all__ = ["RecordingFigure", "RecordingKind", "recording_kinds"]


class RecordingFigure(EdgeRecord):
    """A number with its unit and source."""

    value: float
    unit: str
    source: str


class RecordingKind(EdgeRecord):
    """One way to record. ``values`` is what a stored number means; ``over`` what the levels are spread over."""

    values: str
    temperature: bool
    inputs: Literal["all", "if said", "none"]
    over: Literal["range", "scene"]
    when: Literal["in each file", "in a log beside it"]
    keeps: str
    loses: str
    needs: str
    levels: RecordingFigure
    bits: RecordingFigure


@cache
def recording_kinds() -> Mapping[str, RecordingKind]:
    """All ways to record, by the names that `groundglow.records.kit.RECORDING_KINDS` has.

    Examples
    --------
    >>> recording_kinds()["picture frames"].levels.value
    256.0
    """
    raw = tomllib.loads(files("groundglow.kit").joinpath("recording.toml").read_text("utf-8"))
    return MappingProxyType(
        {name: RecordingKind.parse(table, f"recording.toml, {name}") for name, table in raw.items()}
    )
