"""Places and outlines for other programs: GeoPackage, GeoJSON, KML, GPX, CSV; the same input gives the same bytes."""

from groundglow.frames.vectors.csv import write_csv
from groundglow.frames.vectors.features import Feature, Layer, Value
from groundglow.frames.vectors.geojson import read_geojson, write_geojson
from groundglow.frames.vectors.geopackage import read_geopackage, write_geopackage
from groundglow.frames.vectors.gpx import GpxPoint, write_gpx
from groundglow.frames.vectors.kml import HeightMode, Style, write_kml
from groundglow.frames.vectors.kml_reading import read_kml

__all__ = [
    "Feature",
    "GpxPoint",
    "HeightMode",
    "Layer",
    "Style",
    "Value",
    "read_geojson",
    "read_geopackage",
    "read_kml",
    "write_csv",
    "write_geojson",
    "write_geopackage",
    "write_gpx",
    "write_kml",
]
