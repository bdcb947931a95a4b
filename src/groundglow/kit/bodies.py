"""Simple bodies of the ready-made targets as data: blocks and ellipsoids, for simulated views."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Literal

from groundglow.records.edge import EdgeRecord

__all__ = ["Body", "Part", "bodies", "body_of"]

Triple = tuple[float, float, float]


class Part(EdgeRecord):
    """A block or an ellipsoid: middle and sides as shares of the target's length, width and height.

    ``warmth`` is its share of the target's rise; with ``offset_k`` it belongs to the surroundings, K above them.
    """

    shape: Literal["block", "ellipsoid"]
    at: Triple = (0.0, 0.0, 0.5)
    size: Triple = (1.0, 1.0, 1.0)
    warmth: float = 1.0
    offset_k: float | None = None


class Body(EdgeRecord):
    """The parts of a target; what is listed first lies in front where a flat target's parts cover each other."""

    note: str = ""
    parts: tuple[Part, ...]


#: Of a target that has no body of its own.
PLAIN = {True: Body(parts=(Part(shape="block", at=(0.0, 0.0, 0.0)),)), False: Body(parts=(Part(shape="ellipsoid"),))}


@cache
def bodies() -> Mapping[str, Body]:
    """All bodies by the id of their target.

    Examples
    --------
    >>> bodies()["small-fire"].parts[0].warmth
    1.0
    """
    raw = tomllib.loads(files("groundglow.kit").joinpath("bodies.toml").read_text("utf-8"))
    return MappingProxyType({name: Body.parse(table, f"bodies.toml, {name}") for name, table in raw.items()})


def body_of(target: str, *, flat: bool) -> Body:
    """The body of a target; a plain patch where it is flat and has none, else an ellipsoid.

    Examples
    --------
    >>> body_of("my-own-thing", flat=True).parts[0].shape
    'block'
    """
    return bodies().get(target, PLAIN[flat])
