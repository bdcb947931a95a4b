"""GeoPackage files with fixed dates.

References
----------
OGC GeoPackage 1.4 (12-128r19).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from groundglow.errors import FileError, InputError
from groundglow.frames.optional import require
from groundglow.frames.vectors.features import Feature, Layer, Value, plain

__all__ = ["FIXED_DATE", "read_geopackage", "write_geopackage"]

#: Every file says that it was last changed then, so that equal content means equal bytes.
FIXED_DATE = "2000-01-01T00:00:00.000Z"


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
    """Geometry type of a layer, with heights or without: that of its features, or any when they differ."""
    kinds = {f"{f.geometry['type']}{_height(f.geometry['coordinates'])}" for f in layer.features if f.geometry}
    return kinds.pop() if len(kinds) == 1 else "Unknown"


def _height(coordinates: Any) -> str:
    while isinstance(coordinates[0], Sequence):
        coordinates = coordinates[0]
    return " Z" if len(coordinates) > 2 else ""


def _column(values: Sequence[Value]) -> tuple[Any, Any]:
    """One property as an array and where it is unknown."""
    given = [plain(v) for v in values]
    mask = np.array([v is None for v in given], dtype=bool)
    kinds = {type(v) for v in given if v is not None}
    if kinds == {bool}:
        return np.array([bool(v) for v in given]), mask
    if kinds == {int}:
        return np.array([v or 0 for v in given], dtype=np.int64), mask
    if kinds and kinds <= {int, float}:
        return np.array([np.nan if v is None else float(v) for v in given]), mask
    return np.array([None if v is None else str(v) for v in given], dtype=object), mask


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
_KINDS: dict[str, type[int]] = {"bool": bool, "int32": int, "int64": int}


def _typed(value: Any, kind: type[int] | None) -> Value:
    given: Value = plain(value)
    return given if kind is None or given is None else kind(given)
