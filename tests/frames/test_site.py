"""What a plan is made over, read from GeoJSON."""

import json

import pytest
import shapely

from groundglow.errors import InputError
from groundglow.frames.site import read_site


def write(path, *features):
    listed = [{"type": "Feature", "properties": p, "geometry": shapely.geometry.mapping(g)} for g, p in features]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": listed}))
    return path


def test_uses_and_names(tmp_path):
    path = write(tmp_path / "a.geojson", (shapely.box(8, 47, 8.01, 47.01), {"name": "field"}),
                 (shapely.Point(8, 47), {"use": "take-off"}))  # fmt: skip
    field, home = read_site(path)
    assert (field.name, field.use) == ("field", "survey")
    assert (home.name, home.use) == ("take-off 2", "take-off")


def test_a_site_cut_at_the_antimeridian_is_one(tmp_path):
    both = shapely.MultiPolygon([shapely.box(179.99, -17, 180, -16.99), shapely.box(-180, -17, -179.99, -16.99)])
    uncut = shapely.Polygon([(179.99, -17), (-179.99, -17), (-179.99, -16.99), (179.99, -16.99)])
    for shape in (both, uncut):
        (found,) = read_site(write(tmp_path / "b.geojson", (shape, {})))
        assert found.shape.geom_type == "Polygon"
        assert found.shape.area == pytest.approx(0.02 * 0.01)


def test_faults_are_told(tmp_path):
    bow = shapely.Polygon([(8, 47), (8.01, 47.01), (8.01, 47), (8, 47.01)])
    with pytest.raises(InputError, match=r"crosses itself at longitude, latitude 8\.005, 47\.005"):
        read_site(write(tmp_path / "c.geojson", (bow, {})))
    with pytest.raises(InputError, match="no longitude and latitude"):
        read_site(write(tmp_path / "d.geojson", (shapely.box(691603, 5334757, 691703, 5334857), {})))
    with pytest.raises(InputError, match="use is 'nofly'"):
        read_site(write(tmp_path / "e.geojson", (shapely.box(8, 47, 8.1, 47.1), {"use": "nofly"})))


def test_a_hole_along_the_edge_splits_the_area(tmp_path):
    ring = [(8, 47), (8.03, 47), (8.03, 47.01), (8, 47.01), (8, 47)]
    hole = [(8.01, 47), (8.02, 47), (8.02, 47.01), (8.01, 47.01), (8.01, 47)]
    path = tmp_path / "split.geojson"
    shape = {"type": "Polygon", "coordinates": [ring, hole]}
    features = [{"type": "Feature", "properties": {}, "geometry": shape}]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    (found,) = read_site(path)
    assert found.shape.geom_type == "MultiPolygon"
    assert found.shape.area == pytest.approx(0.0002)
