"""The site's outline: GeoJSON polygons with a name and a surface, the zones of a brief.

References
----------
RFC 7946 (GeoJSON): longitude before latitude, WGS 84, rings closed, the first ring of a polygon outside.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FileError, InputError
from groundglow.frames.optional import require

__all__ = ["Zone", "read_outline"]

Ring = NDArray[np.float64]
AREAS = ("Polygon", "MultiPolygon")


@dataclass(frozen=True)
class Zone:
    """A named part of the site.

    Parameters
    ----------
    name : str
    surface : str
        What it is made of, in words or by material; empty when not said.
    polygons : tuple of tuple of ndarray, shape (n, 2)
        Rings of longitude and latitude in degrees; of each polygon the first is its border, the others
        are holes. Rings are closed: the last point repeats the first.
    """

    name: str
    surface: str
    polygons: tuple[tuple[Ring, ...], ...]


def read_outline(path: Path) -> tuple[Zone, ...]:
    """Zones of a GeoJSON file, in its order.

    A feature without ``name`` is called ``zone 1`` and so on.

    Raises
    ------
    FileError
        When the file is missing or no JSON.
    InputError
        For anything but polygons, places that are no degrees, names given twice, rings that are open or
        cross themselves.
    """
    features = _features(path, _load(path))
    zones = tuple(_zone(path, number, feature) for number, feature in enumerate(features, start=1))
    names = [zone.name for zone in zones]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise InputError(f"{path}: the zone {', '.join(twice)} appears twice; give each its own name")
    return zones


def _load(path: Path) -> Any:
    try:
        return json.loads(path.read_text("utf-8-sig"))
    except FileNotFoundError as error:
        raise FileError(path, "there is no such file", "The brief names it as the site's outline.") from error
    except (OSError, ValueError, RecursionError) as error:
        raise FileError(path, f"is no readable GeoJSON ({error})", "Export it again.") from error


def _features(path: Path, raw: Any) -> list[dict[str, Any]]:
    kind = raw.get("type") if isinstance(raw, dict) else None
    features = [raw]
    if kind == "FeatureCollection":
        features = raw.get("features")
    elif kind != "Feature":
        features = [{"geometry": raw, "properties": {}}] if kind in AREAS else []
    if not isinstance(features, list) or not features or not all(isinstance(f, dict) for f in features):
        raise InputError(f"{path}: holds no polygons; expected a GeoJSON FeatureCollection of polygons")
    return features


def _zone(path: Path, number: int, feature: dict[str, Any]) -> Zone:
    given = feature.get("properties")
    properties = given if isinstance(given, dict) else {}
    name = str(properties.get("name") or f"zone {number}")
    where = f"{path}, zone {name!r}"
    polygons = tuple(_polygon(where, p) for p in _polygons(where, feature.get("geometry")))
    return Zone(name, str(properties.get("surface") or ""), polygons)


def _polygons(where: str, geometry: Any) -> list[Any]:
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    if kind not in AREAS:
        raise InputError(f"{where}: its geometry is {kind}; expected Polygon or MultiPolygon")
    coordinates = geometry.get("coordinates")
    polygons = [coordinates] if kind == "Polygon" else coordinates
    if not isinstance(polygons, list) or not polygons or not all(isinstance(p, list) and p for p in polygons):
        raise InputError(f"{where}: has no coordinates")
    return polygons


def _polygon(where: str, rings: Any) -> tuple[Ring, ...]:
    polygon = tuple(_ring(where, ring) for ring in rings)
    shapely = require("shapely", extra="geo")
    reason = shapely.is_valid_reason(shapely.Polygon(polygon[0], polygon[1:]))
    if reason != "Valid Geometry":
        raise InputError(f"{where}: is no proper polygon: {reason} (longitude latitude). Draw it anew.")
    return polygon


def _ring(where: str, points: Any) -> Ring:
    try:
        ring = np.array([[float(p[0]), float(p[1])] for p in points], dtype=np.float64)
    except (TypeError, ValueError, IndexError, KeyError) as error:
        raise InputError(f"{where}: its coordinates are not lists of longitude and latitude") from error
    if len(ring) < 4 or not np.array_equal(ring[0], ring[-1]):
        raise InputError(f"{where}: a ring needs four points or more, the last the same as the first")
    _check_degrees(where, ring)
    return ring


def _check_degrees(where: str, ring: Ring) -> None:
    bad = ~(np.isfinite(ring) & (np.abs(ring) <= (180, 90)))
    first: Iterator[Any] = iter(ring[bad.any(axis=1)])
    point = next(first, None)
    if point is not None:
        raise InputError(
            f"{where}: {point[0]}, {point[1]} is no longitude, latitude in degrees. GeoJSON is in WGS 84, "
            "longitude first; convert projected coordinates."
        )
