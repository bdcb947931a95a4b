"""KML files: lines and places with heights that viewers understand.

References
----------
OGC KML 2.3 (12-007r2): altitudeMode, and coordinates as longitude, latitude, altitude above the vertical datum EGM96.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, Literal
from xml.etree import ElementTree as Xml

from groundglow.errors import InputError
from groundglow.frames.vectors.features import Feature, plain

__all__ = ["HeightMode", "Style", "write_kml"]

HeightMode = Literal["absolute", "relativeToGround", "clampToGround"]
SPACE: Final = "http://www.opengis.net/kml/2.2"
#: Decimals of a degree (1 mm) and of a metre.
DEGREES, METRES = 8, 3


@dataclass(frozen=True)
class Style:
    """``line`` and ``fill`` as red, green, blue, opacity, 0..255; ``width`` in px of the screen."""

    line: tuple[int, int, int, int]
    fill: tuple[int, int, int, int] = (0, 0, 0, 0)
    width: float = 2.0


def write_kml(
    path: Path, folders: Mapping[str, Sequence[Feature]], styles: Mapping[str, Style], modes: Mapping[str, HeightMode]
) -> None:
    """Write features in folders, each folder with its style and its meaning of heights.

    Parameters
    ----------
    path : Path
    folders : mapping of str to sequence of Feature
        Coordinates of two or three numbers; the third is a height in m.
    styles, modes : mapping
        By folder.

    Raises
    ------
    InputError
        For a geometry that KML has not.
    """
    root = Xml.Element("kml", xmlns=SPACE)
    document = Xml.SubElement(root, "Document")
    Xml.SubElement(document, "name").text = path.stem.removeprefix(".part-")
    for name, style in styles.items():
        _style(document, name, style)
    for name, features in folders.items():
        folder = Xml.SubElement(document, "Folder")
        Xml.SubElement(folder, "name").text = name
        for feature in features:
            _placemark(folder, feature, (name, modes.get(name, "clampToGround")))
    Xml.indent(root, " ")
    path.write_bytes(Xml.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n")


def _style(document: Xml.Element, name: str, style: Style) -> None:
    made = Xml.SubElement(document, "Style", id=_id(name))
    line = Xml.SubElement(made, "LineStyle")
    Xml.SubElement(line, "color").text = _colour(style.line)
    Xml.SubElement(line, "width").text = f"{style.width:g}"
    area = Xml.SubElement(made, "PolyStyle")
    Xml.SubElement(area, "color").text = _colour(style.fill)


def _id(name: str) -> str:
    return "".join(c if c.isalnum() else "-" for c in name)


def _colour(rgba: tuple[int, int, int, int]) -> str:
    """KML writes opacity, blue, green, red."""
    red, green, blue, alpha = rgba
    return f"{alpha:02x}{blue:02x}{green:02x}{red:02x}"


def _placemark(folder: Xml.Element, feature: Feature, of: tuple[str, HeightMode]) -> None:
    style, mode = of
    mark = Xml.SubElement(folder, "Placemark")
    Xml.SubElement(mark, "name").text = str(feature.properties.get("name", ""))
    Xml.SubElement(mark, "styleUrl").text = f"#{_id(style)}"
    data = Xml.SubElement(mark, "ExtendedData")
    for name, value in feature.properties.items():
        if name != "name" and plain(value) is not None:
            Xml.SubElement(Xml.SubElement(data, "Data", name=name), "value").text = str(plain(value))
    if feature.geometry is not None:
        _geometry(mark, feature.geometry, mode)


def _geometry(parent: Xml.Element, geometry: Mapping[str, Any], mode: HeightMode) -> None:
    kind, coordinates = geometry["type"], geometry["coordinates"]
    if kind.startswith("Multi"):
        several = Xml.SubElement(parent, "MultiGeometry")
        for part in coordinates:
            _geometry(several, {"type": kind.removeprefix("Multi"), "coordinates": part}, mode)
        return
    if kind not in ("Point", "LineString", "Polygon"):
        raise InputError(f"KML has no geometry {kind}")
    made = Xml.SubElement(parent, kind)
    Xml.SubElement(made, "altitudeMode").text = mode
    if kind == "Polygon":
        for i, ring in enumerate(coordinates):
            border = Xml.SubElement(made, "outerBoundaryIs" if i == 0 else "innerBoundaryIs")
            Xml.SubElement(Xml.SubElement(border, "LinearRing"), "coordinates").text = _places(ring)
        return
    Xml.SubElement(made, "coordinates").text = _places([coordinates] if kind == "Point" else coordinates)


def _places(points: Sequence[Sequence[float]]) -> str:
    return " ".join(
        ",".join([f"{p[0]:.{DEGREES}f}", f"{p[1]:.{DEGREES}f}", *(f"{h:.{METRES}f}" for h in p[2:3])]) for p in points
    )
