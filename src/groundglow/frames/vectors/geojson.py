"""GeoJSON files.

References
----------
RFC 7946: longitude first, borders counter-clockwise and holes clockwise, WGS 84.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from groundglow.errors import FileError
from groundglow.frames.vectors.features import Feature, plain

__all__ = ["read_geojson", "write_geojson"]

#: Decimals of a degree: 1 cm.
DECIMALS = 7


def write_geojson(path: Path, features: Iterable[Feature]) -> None:
    """Write features as GeoJSON: rings turned by the right-hand rule, degrees to seven decimals (1 cm).

    See Also
    --------
    read_geojson : reads them back.
    """
    collection = {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "geometry": None if f.geometry is None else _by_right_hand(f.geometry),
                "properties": {name: plain(value) for name, value in f.properties.items()},
            }
            for f in features
        ],
    }
    text = json.dumps(collection, ensure_ascii=False, indent=1, allow_nan=False)
    path.write_text(text + "\n", "utf-8", newline="")


def _by_right_hand(geometry: Mapping[str, Any]) -> dict[str, Any]:
    coordinates = geometry["coordinates"]
    if geometry["type"] == "Polygon":
        coordinates = _turned(coordinates)
    elif geometry["type"] == "MultiPolygon":
        coordinates = [_turned(polygon) for polygon in coordinates]
    return {"type": geometry["type"], "coordinates": _rounded(coordinates)}


def _turned(rings: Sequence[Any]) -> list[Any]:
    """The border counter-clockwise, holes clockwise."""
    return [
        list(ring) if (_area(ring) >= 0) == (number == 0) else list(ring)[::-1] for number, ring in enumerate(rings)
    ]


def _area(ring: Sequence[Any]) -> float:
    """Signed area, positive for counter-clockwise."""
    points = np.array([p[:2] for p in ring], dtype=np.float64)
    x, y = (points - points[0]).T
    return float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]) / 2)


def _rounded(coordinates: Any) -> Any:
    if isinstance(coordinates, Iterable):
        return [_rounded(part) for part in coordinates]
    return round(float(coordinates), DECIMALS)


def read_geojson(path: Path) -> tuple[Feature, ...]:
    """Features of a GeoJSON FeatureCollection.

    Raises
    ------
    FileError
        When the file is missing or none.
    """
    try:
        raw = json.loads(path.read_text("utf-8"))
        return tuple(Feature(f["geometry"], f["properties"] or {}) for f in raw["features"])
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise FileError(path, f"is no readable GeoJSON FeatureCollection ({error})") from error
