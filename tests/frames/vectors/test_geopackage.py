"""GeoPackages come back as written, are what the standard says, and are the same bytes every time."""

from __future__ import annotations

import hashlib
import sqlite3
import struct
import subprocess
import sys
from pathlib import Path

import pytest

from groundglow.errors import FileError, InputError
from groundglow.frames.vectors import Feature, Layer, read_geopackage, write_geopackage

POINT = {"type": "Point", "coordinates": (8.5, 47.25)}
SQUARE = {"type": "Polygon", "coordinates": (((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 0.0)),)}
FULL = {"name": "wet felt é", "rise_k": 1.5, "views": 3, "sure": True, "note": None}
BLANK = dict.fromkeys(FULL)
LAYERS = (
    Layer("findings", (Feature(POINT, FULL), Feature(None, BLANK))),
    Layer("outlines", (Feature(SQUARE, {"name": "a"}), Feature(POINT, {"name": "b"}))),
    Layer("empty", ()),
)


def test_layers_features_and_types_come_back(tmp_path: Path) -> None:
    """Whole numbers stay whole, unknown stays unknown, order stays order."""
    write_geopackage(tmp_path / "with space é.gpkg", LAYERS)
    assert read_geopackage(tmp_path / "with space é.gpkg") == LAYERS


def test_the_file_is_what_the_standard_says(tmp_path: Path) -> None:
    """OGC 12-128r19, requirement 2: application id "GPKG"; gpkg_contents lists each layer in WGS 84."""
    path = tmp_path / "a.gpkg"
    write_geopackage(path, LAYERS)
    assert path.read_bytes()[:16] == b"SQLite format 3\x00"
    assert path.read_bytes()[68:72] == b"GPKG"
    with sqlite3.connect(path) as base:
        rows = base.execute("select table_name, data_type, srs_id, last_change from gpkg_contents").fetchall()
    base.close()
    assert [row[:3] for row in rows] == [(layer.name, "features", 4326) for layer in LAYERS]
    assert {row[3] for row in rows} == {"2000-01-01T00:00:00.000Z"}


SCRIPT = """
import sys
from pathlib import Path
from groundglow.frames.vectors import Feature, Layer, write_geopackage
point = {"type": "Point", "coordinates": (8.5, 47.25)}
features = tuple(Feature(point, {"name": f"f{i}", "rise": i / 7}) for i in range(40))
write_geopackage(Path(sys.argv[1]), [Layer("findings", features), Layer("more", features)])
"""


def test_fresh_processes_write_the_same_bytes(tmp_path: Path) -> None:
    """Neither the day, the name of the file nor what was there before shows in it."""
    (tmp_path / "b.gpkg").write_bytes(b"old")
    digests, counters = set(), set()
    for name in ("a.gpkg", "b.gpkg"):
        subprocess.run([sys.executable, "-W", "error", "-c", SCRIPT, str(tmp_path / name)], check=True)
        data = (tmp_path / name).read_bytes()
        digests.add(hashlib.sha256(data).hexdigest())
        counters.add(struct.unpack(">I", data[24:28]))  # SQLite's file change counter
    assert len(digests) == len(counters) == 1


def test_writing_again_in_one_process_gives_the_same_bytes(tmp_path: Path) -> None:
    """The second file of a run is the first."""
    for name in ("a.gpkg", "b.gpkg"):
        write_geopackage(tmp_path / name, LAYERS)
    assert (tmp_path / "a.gpkg").read_bytes() == (tmp_path / "b.gpkg").read_bytes()


def test_layers_that_cannot_be_told_apart_or_differ_inside_are_refused(tmp_path: Path) -> None:
    """Errors name the layer."""
    path = tmp_path / "a.gpkg"
    with pytest.raises(InputError, match="its own name"):
        write_geopackage(path, [LAYERS[1], LAYERS[1]])
    with pytest.raises(InputError, match="none"):
        write_geopackage(path, [])
    mixed = Layer("findings", (Feature(POINT, {"a": 1}), Feature(POINT, {"b": 1})))
    with pytest.raises(InputError, match="layer findings differ"):
        write_geopackage(path, [mixed])


def test_what_is_no_geopackage_is_a_file_error(tmp_path: Path) -> None:
    """Missing or something else."""
    (tmp_path / "text.gpkg").write_text("nothing")
    for name in ("text.gpkg", "none.gpkg"):
        with pytest.raises(FileError, match="no readable GeoPackage"):
            read_geopackage(tmp_path / name)
