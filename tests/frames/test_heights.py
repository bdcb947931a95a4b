"""Height models brought into a plan's plane, and files that cannot be used."""

import numpy as np
import pytest

from groundglow.errors import FileError, InputError
from groundglow.frames.heights import read_heights
from groundglow.frames.places import LocalPlane
from groundglow.records.log import Origin

rasterio = pytest.importorskip("rasterio")
BOUNDS = (-100.0, -100.0, 100.0, 100.0)


def write(path, heights, crs, left_top, cell, **more):
    transform = rasterio.Affine(cell, 0.0, left_top[0], 0.0, -cell, left_top[1])
    with rasterio.open(path, "w", driver="GTiff", height=heights.shape[0], width=heights.shape[1], count=1,
                       dtype="float32", crs=crs, transform=transform, **more) as file:  # fmt: skip
        file.write(heights.astype("float32"), 1)
    return path


def utm_slope(path, **more):
    """A plane that rises 1 m in 10 m to the grid's east around 48.1372 N 11.5755 E (UTM 32: 691603.8, 5334757.8)."""
    x = 691603.7766 - 400 + 5 * (np.arange(160) + 0.5)
    heights = np.tile(500 + (x - 691603.7766) / 10, (160, 1))
    return write(path, heights, "EPSG:32632", (691603.7766 - 400, 5334757.8036 + 400), 5.0, **more)


def test_a_slope_in_utm_is_turned_into_the_plane(tmp_path):
    """The published easting of the city stays where the plane has its origin; grid north leans by 1.92 degrees."""
    plane = LocalPlane(Origin(11.5755, 48.1372, 0.0))
    heights, corner, step = read_heights(utm_slope(tmp_path / "a.tif"), plane, BOUNDS)
    x = corner[0] + step[0] * np.arange(heights.shape[1])
    y = corner[1] + step[1] * np.arange(heights.shape[0])
    turn = np.radians(1.918671)
    # Convergence east of the central meridian: grid north points west of true north.
    east = x[None] * np.cos(turn) - y[:, None] * np.sin(turn)
    assert heights == pytest.approx(500 + east / 10, abs=0.06)


def test_degrees_and_feet_and_gaps(tmp_path):
    plane = LocalPlane(Origin(8.0, 78.0, 0.0))
    heights = np.full((200, 400), 100.0)
    heights[:95] = -9999.0  # north of 78.0005
    wide = write(tmp_path / "c.tif", heights, "EPSG:4326", (7.98, 78.01), 0.0001, nodata=-9999.0)
    with rasterio.open(wide, "r+") as file:
        file.set_band_unit(1, "ft")
    found, _, _ = read_heights(wide, plane, BOUNDS)
    assert np.nanmedian(found) == pytest.approx(30.48, abs=1e-4)
    assert np.isnan(found).mean() == pytest.approx(0.22, abs=0.08)  # 44 of 200 m


def test_the_antimeridian(tmp_path):
    """A file written from 179.9 to 180.1 serves a plan whose origin is at -179.999."""
    path = write(tmp_path / "d.tif", np.full((100, 200), 12.0), "EPSG:4326", (179.9, -16.95), 0.001)
    found, _, _ = read_heights(path, LocalPlane(Origin(-179.999, -17.0, 0.0)), BOUNDS)
    assert np.isfinite(found).all()
    assert found == pytest.approx(12.0)


def test_files_that_cannot_be_used(tmp_path):
    plane = LocalPlane(Origin(11.5755, 48.1372, 0.0))
    flat = np.full((160, 160), 500.0)
    left_top = (691203.8, 5335157.8)
    with pytest.raises(FileError, match="no readable raster"):
        read_heights(tmp_path / "none.tif", plane, BOUNDS)
    missing = write(tmp_path / "e.tif", flat, None, left_top, 5.0)
    with pytest.raises(InputError, match="has no coordinate reference system"):
        read_heights(missing, plane, BOUNDS)
    wrong_zone = write(tmp_path / "f.tif", flat, "EPSG:32633", left_top, 5.0)
    with pytest.raises(InputError, match="does not reach the site"):
        read_heights(wrong_zone, plane, BOUNDS)
    degrees = write(tmp_path / "g.tif", flat, "EPSG:4326", left_top, 5.0)
    with pytest.raises(InputError, match="says that it is in degrees"):
        read_heights(degrees, plane, BOUNDS)
    gaps = np.where(np.arange(160) < 80, -32768.0, 500.0) * np.ones((160, 1))
    unmarked = write(tmp_path / "h.tif", gaps, "EPSG:32632", left_top, 5.0)
    with pytest.raises(InputError, match="no ground on Earth"):
        read_heights(unmarked, plane, BOUNDS)
