"""GeoJSON follows RFC 7946, checked by an independent geometry library."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely.geometry
from hypothesis import given
from hypothesis import strategies as st

from groundglow.errors import FileError
from groundglow.frames.vectors import Feature, read_geojson, write_geojson
from groundglow.frames.vectors.geojson import _by_right_hand

BORDER = [[0, 0], [0, 4], [4, 4], [4, 0], [0, 0]]  # clockwise
HOLE = [[1, 1], [2, 1], [2, 2], [1, 1]]  # counter-clockwise


@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize("kind", ["Polygon", "MultiPolygon"])
def test_rings_follow_the_right_hand_rule(tmp_path: Path, kind: str, turn: int) -> None:
    """RFC 7946 section 3.1.6: borders counter-clockwise, holes clockwise, however they came."""
    rings = [BORDER[::turn], HOLE[::turn]]
    path = tmp_path / "a b é.geojson"
    write_geojson(path, [Feature({"type": kind, "coordinates": rings if kind == "Polygon" else [rings]}, {})])
    geometry = json.loads(path.read_text("utf-8"))["features"][0]["geometry"]
    border, hole = geometry["coordinates"] if kind == "Polygon" else geometry["coordinates"][0]
    assert shapely.geometry.LinearRing(border).is_ccw
    assert not shapely.geometry.LinearRing(hole).is_ccw


@given(
    st.lists(st.tuples(st.floats(-180, 180), st.floats(-90, 90)), min_size=3, max_size=9, unique=True),
)
def test_turning_a_ring_changes_no_point(points: list[tuple[float, float]]) -> None:
    """Whatever its shape, a ring keeps its points to the stated seven decimals."""
    ring = [*points, points[0]]
    (turned,) = _by_right_hand({"type": "Polygon", "coordinates": [ring]})["coordinates"]
    assert sorted(turned) == sorted([round(x, 7), round(y, 7)] for x, y in ring)


def test_features_come_back_and_unknown_numbers_are_null(tmp_path: Path) -> None:
    """NaN is no JSON; numpy's numbers are plain ones."""
    point = {"type": "Point", "coordinates": [8.123456789, 47.0]}
    properties: dict[str, Any] = {"name": "é", "rise": np.float32(1.5), "n": np.int64(3), "x": math.nan, "y": None}
    path = tmp_path / "a.geojson"
    write_geojson(path, [Feature(point, properties), Feature(None, properties)])
    first, second = read_geojson(path)
    assert first.geometry == {"type": "Point", "coordinates": [8.1234568, 47.0]}
    assert second.geometry is None
    assert first.properties == {"name": "é", "rise": 1.5, "n": 3, "x": None, "y": None}
    assert "NaN" not in path.read_text("utf-8")


def test_the_same_features_give_the_same_bytes(tmp_path: Path) -> None:
    """No time, no line ends of the machine."""
    features = [Feature({"type": "Point", "coordinates": (1, 2)}, {"b": 1, "a": 2})]
    for name in ("a", "b"):
        write_geojson(tmp_path / name, iter(features))
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()
    assert b"\r" not in (tmp_path / "a").read_bytes()


def test_what_is_no_feature_collection_is_a_file_error(tmp_path: Path) -> None:
    """Missing, no JSON, another JSON."""
    for text in ("{", "[1]", '{"features": [1]}'):
        (tmp_path / "a.geojson").write_text(text)
        with pytest.raises(FileError):
            read_geojson(tmp_path / "a.geojson")
    with pytest.raises(FileError):
        read_geojson(tmp_path / "none.geojson")
