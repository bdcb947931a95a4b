"""A height model (GeoTIFF) brought into a plan's plane.

References
----------
OGC GeoTIFF 1.1 (19-008r4): the coordinate reference system is part of the file.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FileError, InputError
from groundglow.frames.optional import require
from groundglow.frames.places import LocalPlane

__all__ = ["read_heights"]

Bounds = tuple[float, float, float, float]
Raster = tuple[NDArray[np.float64], tuple[float, float], tuple[float, float]]
#: Metres in a unit of height.
UNITS = {"metre": 1.0, "meter": 1.0, "m": 1.0, "": 1.0, "foot": 0.3048, "ft": 0.3048, "us survey foot": 1200 / 3937}
#: Heights beyond these are no ground on Earth: shore of the Dead Sea and Everest, with room (general knowledge).
LIMITS = (-500.0, 9000.0)
MOST_CELLS = 40_000_000


def read_heights(path: Path, plane: LocalPlane, bounds: Bounds) -> Raster:
    """Heights over west, south, east, north of a plane, on a raster along its axes.

    Parameters
    ----------
    path : Path
        GeoTIFF in any coordinate reference system, heights in its first band.
    plane : LocalPlane
    bounds : tuple of float
        m in the plane.

    Returns
    -------
    heights : ndarray, shape (rows, columns)
        m, first row in the north; NaN where the file has none.
    corner, step : (float, float)
        x, y of the first height, and the steps of x and y, m.

    Raises
    ------
    FileError
        When the file is missing or no raster.
    InputError
        When it has no coordinate reference system, lies elsewhere, or its values are no heights.
    """
    rasterio = require("rasterio", extra="geo")
    try:
        with rasterio.open(path) as source:
            _require_place(path, source, plane, bounds)
            return _warped(path, source, plane, bounds)
    except rasterio.errors.RasterioIOError as error:
        raise FileError(path, f"is no readable raster ({error})", "A GeoTIFF of heights is wanted.") from error


def _require_place(path: Path, source: Any, plane: LocalPlane, bounds: Bounds) -> None:
    if source.crs is None:
        raise InputError(
            f"{path}: has no coordinate reference system, so nobody can say where it lies. Ask where it comes from, "
            "and write the system into the file (gdal_edit -a_srs EPSG:...)."
        )
    left, bottom, right, top = source.bounds
    if source.crs.is_geographic and not (-361 <= left < right <= 541 and -91 <= bottom < top <= 91):
        raise InputError(
            f"{path}: says that it is in degrees, but reaches from {left:.0f}, {bottom:.0f} to {right:.0f}, {top:.0f}: "
            "its coordinate reference system is wrong. Those look like metres; give it the projected one."
        )
    lon, lat = plane.to_geographic(np.array(bounds)[[0, 0, 2, 2]], np.array(bounds)[[1, 3, 1, 3]])
    warp = require("rasterio.warp", extra="geo")
    x, y = warp.transform("EPSG:4326", source.crs, _near(source, lon), lat)
    if not (np.isfinite(x).all() and min(x) < right and max(x) > left and min(y) < top and max(y) > bottom):
        raise InputError(
            f"{path}: does not reach the site: it covers {left:.9g}, {bottom:.9g} to {right:.9g}, {top:.9g} in "
            f"{source.crs.to_string()[:40]}, the site lies at {np.mean(x):.9g}, {np.mean(y):.9g} there. It is a "
            "wrong file, or the coordinate reference system written in it is wrong."
        )


def _near(source: Any, lon: NDArray[np.float64]) -> NDArray[np.float64]:
    """Longitudes on the file's side of the antimeridian."""
    if not source.crs.is_geographic:
        return lon
    middle = (source.bounds.left + source.bounds.right) / 2
    return np.asarray(middle + (lon - middle + 180.0) % 360.0 - 180.0)


def _warped(path: Path, source: Any, plane: LocalPlane, bounds: Bounds) -> Raster:
    warp = require("rasterio.warp", extra="geo")
    west, south, east, north = bounds
    step = _step(source, plane)
    columns, rows = math.ceil((east - west) / step) + 1, math.ceil((north - south) / step) + 1
    if rows * columns > MOST_CELLS:
        raise InputError(f"{path}: {rows} x {columns} heights over the site are too many; thin the file out first.")
    corner = (west - step / 2, north + step / 2)
    transform = require("rasterio", extra="geo").Affine(step, 0.0, corner[0], 0.0, -step, corner[1])
    out = np.full((rows, columns), np.nan)
    warp.reproject(
        require("rasterio", extra="geo").band(source, 1), out, dst_transform=transform, dst_crs=plane.proj4,
        dst_nodata=np.nan, resampling=warp.Resampling.bilinear, init_dest_nodata=True,
    )  # fmt: skip
    return _heights(path, source, out), (west, north), (step, -step)


def _step(source: Any, plane: LocalPlane) -> float:
    """Size of a cell of the file at the site, m."""
    if not source.crs.is_geographic:
        return float(min(abs(source.transform.a), abs(source.transform.e)) * source.crs.linear_units_factor[1])
    metres = math.radians(1.0) * 6371000.0
    return float(
        min(abs(source.transform.a) * math.cos(math.radians(plane.origin.lat_deg)), abs(source.transform.e)) * metres
    )


def _heights(path: Path, source: Any, found: NDArray[np.float64]) -> NDArray[np.float64]:
    unit = (source.units[0] or "").lower()
    if unit not in UNITS:
        raise InputError(f"{path}: heights are in {unit!r}; metres or feet are known.")
    metres = found * UNITS[unit]
    known = metres[np.isfinite(metres)]
    if not known.size:
        raise InputError(f"{path}: has no heights over the site, only gaps.")
    if known.min() < LIMITS[0] or known.max() > LIMITS[1]:
        raise InputError(
            f"{path}: heights from {known.min():.0f} to {known.max():.0f} m are no ground on Earth; is a value that "
            "means 'no data' not marked as such, or is it no height model?"
        )
    return metres
