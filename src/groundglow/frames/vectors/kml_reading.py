"""KML files that somebody drew: places, lines and areas with their names.

References
----------
OGC KML 2.3 (12-007r2): longitude first, WGS 84. Read by GDAL's KML driver, every folder of the file.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from groundglow.errors import FileError, InputError
from groundglow.frames.optional import require
from groundglow.frames.vectors.features import Feature

__all__ = ["read_kml"]

#: What no drawn site needs, and by which a small file could grow without end or reach elsewhere.
REFUSED = (b"<!doctype", b"<!entity", b"<networklink", b"<?xml-stylesheet")
#: Columns that the driver makes of elements of its own, not of ExtendedData.
LOOKS = frozenset(
    ("id", "Name", "Description", "description", "timestamp", "begin", "end", "altitudeMode", "tessellate", "extrude",
     "visibility", "drawOrder", "icon", "snippet", "geometry")
)  # fmt: skip
NUMBER = re.compile(r"[-+]?\d+(\.\d+)?([eE][-+]?\d+)?")


def read_kml(path: Path) -> tuple[Feature, ...]:
    """Features of a KML file, heights left out; ``name`` is the placemark's, the rest what its ExtendedData say.

    Raises
    ------
    FileError
        When it is missing or no KML.
    InputError
        When it holds what no drawn site needs: entities, links to elsewhere.
    """
    content = path.read_bytes() if path.is_file() else b""
    found = next((mark for mark in REFUSED if mark in content.lower()), None)
    if found:
        raise InputError(f"{path}: holds {found.decode()!r}, which a drawn site does not need. Export it again.")
    pyogrio, shapely = require("pyogrio", extra="geo"), require("shapely", extra="geo")
    try:
        layers = [str(name) for name, _ in pyogrio.list_layers(path)]
        frames = [pyogrio.read_dataframe(path, layer=name) for name in layers]
    except (pyogrio.errors.DataSourceError, pyogrio.errors.DataLayerError) as error:
        raise FileError(path, "is no readable KML", "Export it again, as KML and not as KMZ.") from error
    return tuple(
        Feature(
            shapely.geometry.mapping(shapely.force_2d(row["geometry"])), {"name": str(row["Name"] or ""), **_data(row)}
        )
        for frame in frames
        for row in frame.to_dict("records")
        if row["geometry"] is not None
    )


def _data(row: Mapping[str, Any]) -> dict[str, str | float]:
    """What was said of a placemark beside its name and its looks; numbers as numbers."""
    said = {name: value for name, value in row.items() if name not in LOOKS and isinstance(value, str | int | float)}
    return {name: _number(value) for name, value in said.items() if value == value and value != ""}


def _number(value: str | float) -> str | float:
    return float(value) if isinstance(value, str) and NUMBER.fullmatch(value) else value
