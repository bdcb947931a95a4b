"""What goes on a map: features with plain properties, in named layers."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

__all__ = ["WGS84", "Feature", "Layer", "Value", "plain"]

WGS84 = "EPSG:4326"

Value = str | int | float | bool | None


@dataclass(frozen=True)
class Feature:
    """A thing on the map.

    Parameters
    ----------
    geometry : mapping or None
        GeoJSON geometry in longitude and latitude, or None when it has no place.
    properties : mapping of str to str, int, float, bool or None
    """

    geometry: Mapping[str, Any] | None
    properties: Mapping[str, Value]


@dataclass(frozen=True)
class Layer:
    """Features of one kind under one name; their properties have the same names."""

    name: str
    features: tuple[Feature, ...]
    crs: str = WGS84


def plain(value: Any) -> Any:
    """A value as one of Python's own types; NaN and infinity are unknown (None).

    Examples
    --------
    >>> plain(np.float32(0.5)), plain(float("nan"))
    (0.5, None)
    """
    value = value.item() if isinstance(value, np.generic) else value
    return None if isinstance(value, float) and not math.isfinite(value) else value
