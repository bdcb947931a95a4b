"""Places and outlines for other programs: GeoPackage, GeoJSON, CSV; the same input gives the same bytes.

References
----------
OGC GeoPackage 1.4 (12-128r19), RFC 7946 (GeoJSON: exterior rings counter-clockwise, longitude first),
RFC 4180 (CSV).
"""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from groundglow.errors import FileError, InputError
from groundglow.frames.optional import require

__all__ = [
    "FIXED_DATE",
    "Feature",
    "Layer",
    "read_geojson",
    "read_geopackage",
    "write_csv",
    "write_geojson",
    "write_geopackage",
]

#: Every file says that it was last changed then, so that equal content means equal bytes.
FIXED_DATE = "2000-01-01T00:00:00Z"
#: Decimals of a degree in GeoJSON: 1 cm.
DECIMALS = 7
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


def write_csv(path: Path, rows: Iterable[Mapping[str, Value]], columns: Sequence[str] | None = None) -> None:
    """Write rows as CSV: UTF-8, comma, decimal point, blank for what is unknown (None or NaN).

    Parameters
    ----------
    path : Path
    rows : iterable of mapping
    columns : sequence of str, optional
        Order of the columns; default the first row's.

    Raises
    ------
    InputError
        When a row has a field that is no column.
    """
    listed = list(rows)
    names = list(columns if columns is not None else (listed[0] if listed else ()))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(names)
    for row in listed:
        extra = sorted(set(row) - set(names))
        if extra:
            raise InputError(f"{path}: a row has {', '.join(extra)}, which is no column")
        writer.writerow([_cell(row.get(name)) for name in names])
    path.write_text(out.getvalue(), "utf-8", newline="")


def _cell(value: Value) -> str:
    plain = _plain(value)
    return "" if plain is None else str(plain)


def _plain(value: Any) -> Any:
    """Python's own types; NaN and infinity are unknown."""
    value = value.item() if isinstance(value, np.generic) else value
    return None if isinstance(value, float) and not math.isfinite(value) else value


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
                "properties": {name: _plain(value) for name, value in f.properties.items()},
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


@contextmanager
def _fixed_date(pyogrio: Any) -> Iterator[None]:
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": FIXED_DATE})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def write_geopackage(path: Path, layers: Sequence[Layer]) -> None:
    """Write layers into a new GeoPackage with fixed dates; an existing file is replaced.

    See Also
    --------
    read_geopackage : reads them back.

    Raises
    ------
    InputError
        For no layers, two of one name, or features of one layer whose properties differ in names.
    """
    names = [layer.name for layer in layers]
    if not names or len(set(names)) < len(names):
        raise InputError(f"{path}: layers are {', '.join(names) or 'none'}; give one or more, each its own name")
    pyogrio = require("pyogrio", extra="geo")
    path.unlink(missing_ok=True)
    with _fixed_date(pyogrio):
        for number, layer in enumerate(layers):
            _write_layer(pyogrio, path, layer, append=number > 0)


def _write_layer(pyogrio: Any, path: Path, layer: Layer, *, append: bool) -> None:
    fields = _fields(path, layer)
    columns = [_column([f.properties[name] for f in layer.features]) for name in fields]
    pyogrio.raw.write(
        path,
        geometry=_well_known(layer),
        field_data=[values for values, _ in columns],
        field_mask=[mask for _, mask in columns],
        fields=np.array(fields, dtype=object),
        layer=layer.name,
        driver="GPKG",
        crs=layer.crs,
        geometry_type=_kind(layer),
        append=append,
    )


def _fields(path: Path, layer: Layer) -> list[str]:
    names = list(layer.features[0].properties) if layer.features else []
    if any(list(f.properties) != names for f in layer.features):
        raise InputError(f"{path}: features of layer {layer.name} differ in the names of their properties")
    return names


def _well_known(layer: Layer) -> Any:
    shapely = require("shapely", extra="geo")
    shapes = [None if f.geometry is None else shapely.geometry.shape(f.geometry) for f in layer.features]
    return np.array(shapely.to_wkb(np.array(shapes, dtype=object)), dtype=object)


def _kind(layer: Layer) -> str:
    """Geometry type of a layer: that of its features, or any when they differ."""
    kinds = {str(f.geometry["type"]) for f in layer.features if f.geometry is not None}
    return kinds.pop() if len(kinds) == 1 else "Unknown"


def _column(values: Sequence[Value]) -> tuple[Any, Any]:
    """One property as an array and where it is unknown."""
    plain = [_plain(v) for v in values]
    mask = np.array([v is None for v in plain], dtype=bool)
    kinds = {type(v) for v in plain if v is not None}
    if kinds == {bool}:
        return np.array([bool(v) for v in plain]), mask
    if kinds == {int}:
        return np.array([v or 0 for v in plain], dtype=np.int64), mask
    if kinds and kinds <= {int, float}:
        return np.array([np.nan if v is None else float(v) for v in plain]), mask
    return np.array([None if v is None else str(v) for v in plain], dtype=object), mask


def read_geopackage(path: Path) -> tuple[Layer, ...]:
    """Layers of a GeoPackage in their order, as `write_geopackage` wrote them.

    Raises
    ------
    FileError
        When the file is missing or none.
    """
    pyogrio = require("pyogrio", extra="geo")
    try:
        names = [str(name) for name, _ in pyogrio.list_layers(path)]
        return tuple(_read_layer(pyogrio, path, name) for name in names)
    except pyogrio.errors.DataSourceError as error:
        raise FileError(path, f"is no readable GeoPackage ({error})") from error


def _read_layer(pyogrio: Any, path: Path, name: str) -> Layer:
    shapely = require("shapely", extra="geo")
    meta, _, geometry, columns = pyogrio.raw.read(path, layer=name)
    fields = [(str(f), _KINDS.get(str(kind))) for f, kind in zip(meta["fields"], meta["dtypes"], strict=True)]
    rows = zip(geometry, *columns, strict=True)
    features = tuple(
        Feature(
            None if shape is None else shapely.geometry.mapping(shapely.from_wkb(shape)),
            {name: _typed(value, kind) for (name, kind), value in zip(fields, values, strict=True)},
        )
        for shape, *values in rows
    )
    return Layer(name, features, str(meta["crs"]))


#: A column with blanks is read as floats whatever it holds.
_KINDS: dict[str, type] = {"bool": bool, "int32": int, "int64": int}


def _typed(value: Any, kind: type | None) -> Value:
    plain = _plain(value)
    return kind(plain) if kind and plain is not None else plain
