"""What a plan is made over: GeoJSON with areas, lines and points, and what each is for.

References
----------
RFC 7946 (GeoJSON), 3.1.9: shapes across the antimeridian come in two parts; those that are not cut are taken too.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from groundglow.errors import InputError
from groundglow.frames.optional import require
from groundglow.frames.vectors import read_geojson

__all__ = ["USES", "SiteFeature", "read_site"]

#: What a feature's property ``use`` may say; without it a shape is what is to be flown.
USES: Final = ("survey", "no-fly", "take-off", "segment")


@dataclass(frozen=True)
class SiteFeature:
    """``shape`` in degrees, longitudes continuous across the antimeridian; ``use`` of `USES`."""

    name: str
    use: str
    shape: Any
    presence: float | None = None


def read_site(path: Path) -> tuple[SiteFeature, ...]:
    """Features of a GeoJSON file.

    Raises
    ------
    FileError
        When the file is missing or no GeoJSON.
    InputError
        For places that are no degrees, areas that cross themselves, an unknown use.
    """
    features = read_geojson(path)
    shapes = [_shape(path, i, f.geometry) for i, f in enumerate(features, 1)]
    if not shapes:
        raise InputError(f"{path}: holds no features; draw the site, and a point with use = take-off.")
    first = float(require("shapely", extra="geo").get_coordinates(shapes[0])[0, 0])
    return tuple(
        _feature(path, i, dict(f.properties), _joined(path, i, shape, first))
        for i, (f, shape) in enumerate(zip(features, shapes, strict=True), 1)
    )


def _shape(path: Path, number: int, geometry: Any) -> Any:
    shapely = require("shapely", extra="geo")
    try:
        shape = shapely.force_2d(shapely.geometry.shape(geometry))
    except (AttributeError, KeyError, TypeError, ValueError, shapely.errors.ShapelyError) as error:
        raise InputError(f"{path}, feature {number}: its geometry cannot be read ({error}).") from error
    places = shapely.get_coordinates(shape)
    if not len(places) or not np.isfinite(places).all() or (np.abs(places) > (360, 89.9)).any():
        raise InputError(
            f"{path}, feature {number}: its places are no longitude and latitude in degrees. GeoJSON is in WGS 84, "
            "longitude first; convert projected coordinates."
        )
    return shape


def _joined(path: Path, number: int, shape: Any, first: float) -> Any:
    """With continuous longitudes; parts that were cut at the antimeridian as one."""
    shapely = require("shapely", extra="geo")
    near = shapely.transform(shape, lambda xy: np.c_[first + (xy[:, 0] - first + 180.0) % 360.0 - 180.0, xy[:, 1]])
    parts = [_without_holes(part) for part in shapely.get_parts(near)]
    for part in parts:
        reason = str(shapely.is_valid_reason(part))
        if reason != "Valid Geometry":
            what, _, place = reason.partition("[")
            words = "it crosses itself" if what.startswith(("Self-", "Ring Self-")) else what.strip().lower()
            at = f" at longitude, latitude {', '.join(place.rstrip(']').split())}" if place else ""
            raise InputError(f"{path}, feature {number}: is no proper shape: {words}{at}. Draw it anew.")
    return shapely.union_all(parts) if near.geom_type in ("Polygon", "MultiPolygon") else near


def _without_holes(part: Any) -> Any:
    """An area less its holes: one whose hole reaches its edge falls apart there, which its rings alone cannot say."""
    shapely = require("shapely", extra="geo")
    if part.geom_type != "Polygon" or shapely.is_valid(part):
        return part
    whole, holes = shapely.Polygon(part.exterior), [shapely.Polygon(ring) for ring in part.interiors]
    if not holes or not shapely.is_valid([whole, *holes]).all():
        return part
    return shapely.difference(whole, shapely.union_all(holes))


def _feature(path: Path, number: int, properties: dict[str, Any], shape: Any) -> SiteFeature:
    use = str(properties.get("use") or "survey")
    if use not in USES:
        raise InputError(f"{path}, feature {number}: use is {use!r}; allowed {', '.join(USES)}.")
    presence = properties.get("presence")
    if presence is not None and not (isinstance(presence, int | float) and 0 <= presence <= 1):
        raise InputError(f"{path}, feature {number}: presence is {presence!r}; allowed a share of 0 to 1.")
    return SiteFeature(str(properties.get("name") or f"{use} {number}"), use, shape, presence)
