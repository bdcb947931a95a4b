"""Zones of a site come from GeoJSON; what is no proper polygon is told plainly."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from groundglow.errors import FileError, InputError
from groundglow.frames.outline import read_outline

Write = Callable[[str, str], Path]

SQUARE = [[8.0, 47.0], [8.001, 47.0], [8.001, 47.001], [8.0, 47.001], [8.0, 47.0]]
HOLE = [[8.0002, 47.0002], [8.0004, 47.0002], [8.0004, 47.0004], [8.0002, 47.0002]]
BOW_TIE = [[8.0, 47.0], [8.001, 47.001], [8.001, 47.0], [8.0, 47.001], [8.0, 47.0]]


def feature(rings: Any, kind: str = "Polygon", **properties: Any) -> dict[str, Any]:
    return {"type": "Feature", "geometry": {"type": kind, "coordinates": rings}, "properties": properties}


def collection(*features: Any) -> str:
    return json.dumps({"type": "FeatureCollection", "features": features})


def test_zones_carry_name_surface_and_closed_rings(written: Write) -> None:
    """Longitude first; holes and several parts are kept."""
    text = collection(
        feature([SQUARE, HOLE], name="roof é", surface="roof felt"),
        feature([[SQUARE], [HOLE]], "MultiPolygon"),
    )
    roof, other = read_outline(written("site.geojson", text))
    assert (roof.name, roof.surface) == ("roof é", "roof felt")
    assert [len(ring) for ring in roof.polygons[0]] == [5, 4]
    assert roof.polygons[0][0][1].tolist() == [8.001, 47.0]
    assert (other.name, other.surface, len(other.polygons)) == ("zone 2", "", 2)


@pytest.mark.parametrize("raw", [feature([SQUARE]), {"type": "Polygon", "coordinates": [SQUARE]}])
def test_a_single_feature_or_bare_polygon_is_a_zone(written: Write, raw: dict[str, Any]) -> None:
    """RFC 7946 allows all three at the top of a file."""
    (zone,) = read_outline(written("site.geojson", json.dumps(raw)))
    assert zone.name == "zone 1"


def test_heights_in_the_coordinates_are_left_out(written: Write) -> None:
    """A third number is allowed and is no place."""
    high = [[x, y, 412.0] for x, y in SQUARE]
    (zone,) = read_outline(written("site.geojson", collection(feature([high]))))
    assert zone.polygons[0][0].shape == (5, 2)


@pytest.mark.parametrize(
    ("features", "words"),
    [
        ([feature([BOW_TIE], name="roof")], "zone 'roof': is no proper polygon: Self-intersection"),
        ([feature([SQUARE[:-1]])], "the last the same as the first"),
        ([feature([SQUARE[:2]])], "four points or more"),
        ([feature([[[500000, 5200000]] * 5])], "convert projected coordinates"),
        ([feature([[[8.0, 95.0]] * 5])], "no longitude, latitude"),
        ([feature([[["a", "b"]] * 5])], "not lists of longitude and latitude"),
        ([feature(SQUARE)], "not lists of longitude and latitude"),
        ([feature([])], "no coordinates"),
        ([feature([[]], "MultiPolygon")], "no coordinates"),
        ([feature([7], "MultiPolygon")], "no coordinates"),
        ([{"type": "Feature", "geometry": {"type": "Polygon", "coordinates": [7]}, "properties": [1]}], "not lists"),
        ([feature([8.0, 47.0], "Point")], "its geometry is Point"),
        ([{"type": "Feature", "geometry": None, "properties": {}}], "its geometry is None"),
        ([feature([SQUARE], name="a"), feature([SQUARE], name="a")], "appears twice"),
        ([], "holds no polygons"),
        (["text"], "holds no polygons"),
    ],
)
def test_faults_of_an_outline_are_named(written: Write, features: list[Any], words: str) -> None:
    """File and zone are in the message, and what to do about it."""
    path = written("site.geojson", collection(*features))
    with pytest.raises(InputError) as caught:
        read_outline(path)
    assert str(path) in str(caught.value)
    assert words in str(caught.value)


def test_what_is_no_geojson_is_a_file_error(written: Write, tmp_path: Path) -> None:
    """Missing, no JSON, or JSON of something else."""
    with pytest.raises(FileError, match="no such file"):
        read_outline(tmp_path / "none.geojson")
    with pytest.raises(FileError, match="no readable GeoJSON"):
        read_outline(written("a.geojson", "{"))
    for text in ("[1, 2]", '{"type": "Topology"}', '{"type": "FeatureCollection"}'):
        with pytest.raises(InputError, match="holds no polygons"):
            read_outline(written("a.geojson", text))
