"""GPX files: routes and waypoints.

References
----------
GPX 1.1 schema (topografix.com/GPX/1/1): ``ele`` is metres above sea level; order of elements as there.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from xml.etree import ElementTree as Xml

__all__ = ["GpxPoint", "write_gpx"]

SPACE: Final = "http://www.topografix.com/GPX/1/1"


@dataclass(frozen=True)
class GpxPoint:
    """``height`` m above sea level, NaN where it is not known; ``name`` may be empty."""

    lon_deg: float
    lat_deg: float
    height: float
    name: str = ""


def write_gpx(
    path: Path, waypoints: Sequence[GpxPoint], routes: Mapping[str, Sequence[GpxPoint]], *, creator: str = "Groundglow"
) -> None:
    """Write waypoints and routes, degrees to 1 mm and heights to 1 mm.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     path = Path(folder) / "way.gpx"
    ...     write_gpx(path, [GpxPoint(8.0, 47.0, 500.0, "home")], {})
    ...     path.read_text().count("<wpt")
    1
    """
    root = Xml.Element("gpx", xmlns=SPACE, version="1.1", creator=creator)
    for point in waypoints:
        _point(root, "wpt", point)
    for name, points in routes.items():
        route = Xml.SubElement(root, "rte")
        Xml.SubElement(route, "name").text = name
        for point in points:
            _point(route, "rtept", point)
    Xml.indent(root, " ")
    path.write_bytes(Xml.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n")


def _point(parent: Xml.Element, kind: str, point: GpxPoint) -> None:
    made = Xml.SubElement(parent, kind, lat=f"{point.lat_deg:.8f}", lon=f"{point.lon_deg:.8f}")
    if math.isfinite(point.height):
        Xml.SubElement(made, "ele").text = f"{point.height:.3f}"
    if point.name:
        Xml.SubElement(made, "name").text = point.name
