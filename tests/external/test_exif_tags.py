"""Exif tags against the published numbers and types, read by a reference library that is not ours.

Sources: Exif 2.31 (CIPA DC-008-2016) tags of the shooting situation 0x9400-0x9405 and its GPS directory;
numbers and types as a general metadata library (libimage-exiftool-perl 12.57) and Pillow list them;
reference reader: ExifRead.
"""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import exifread
import numpy as np
import pytest
from PIL import ExifTags

from groundglow.frames.exif import EXIF_TAGS, GPS_TAGS
from groundglow.frames.writing import write_frame_tiff
from groundglow.records.frame import Stamp

#: Field types of TIFF 6.0.
BYTE, ASCII, RATIONAL, SRATIONAL = 1, 2, 5, 10

PUBLISHED_EXIF = {
    0x9003: ("DateTimeOriginal", ASCII),
    0x9011: ("OffsetTimeOriginal", ASCII),
    0x9291: ("SubSecTimeOriginal", ASCII),
    0x9400: ("AmbientTemperature", SRATIONAL),
    0x9401: ("Humidity", RATIONAL),
    0x9402: ("Pressure", RATIONAL),
    0x9403: ("WaterDepth", SRATIONAL),
    0x9404: ("Acceleration", RATIONAL),
    0x9405: ("CameraElevationAngle", SRATIONAL),
}
PUBLISHED_GPS = {
    0x01: ("GPSLatitudeRef", ASCII),
    0x02: ("GPSLatitude", RATIONAL),
    0x03: ("GPSLongitudeRef", ASCII),
    0x04: ("GPSLongitude", RATIONAL),
    0x05: ("GPSAltitudeRef", BYTE),
    0x06: ("GPSAltitude", RATIONAL),
    0x07: ("GPSTimeStamp", RATIONAL),
    0x0B: ("GPSDOP", RATIONAL),
    0x0C: ("GPSSpeedRef", ASCII),
    0x0D: ("GPSSpeed", RATIONAL),
    0x0E: ("GPSTrackRef", ASCII),
    0x0F: ("GPSTrack", RATIONAL),
    0x10: ("GPSImgDirectionRef", ASCII),
    0x11: ("GPSImgDirection", RATIONAL),
    0x12: ("GPSMapDatum", ASCII),
    0x1D: ("GPSDateStamp", ASCII),
    0x1F: ("GPSHPositioningError", RATIONAL),
}
#: A value for every tag that the stamp does not fill.
FURTHER: dict[str, Any] = {
    "WaterDepth": -2.5,
    "Acceleration": 980665.0,
    "GPSDOP": 1.5,
    "GPSSpeedRef": "K",
    "GPSSpeed": 36.0,
    "GPSTrackRef": "T",
    "GPSTrack": 12.25,
    "GPSMapDatum": "WGS-84",
    "GPSHPositioningError": 2.5,
}
STAMP = Stamp(
    time=1770091506.25,
    lon_deg=-8.5025,
    lat_deg=47.51,
    height_m=-3.5,
    yaw_deg=90.25,
    pitch_deg=-45.5,
    air_temperature_c=3.5,
    relative_humidity_pct=62.5,
    pressure_hpa=955.5,
)


@pytest.fixture(scope="module")
def independent(tmp_path_factory: pytest.TempPathFactory) -> dict[tuple[str, int], Any]:
    """What the reference reader finds in a frame of ours: (directory, tag number) to tag."""
    path: Path = tmp_path_factory.mktemp("exif") / "a.tif"
    write_frame_tiff(path, np.full((6, 8), 300, np.uint16), STAMP, FURTHER)
    found = exifread.process_file(io.BytesIO(path.read_bytes()), details=False)
    return {(name.split()[0], tag.tag): tag for name, tag in found.items()}


def test_our_names_are_the_published_ones() -> None:
    """A tag number never means another quantity than the standard says."""
    for known, published in ((EXIF_TAGS, PUBLISHED_EXIF), (GPS_TAGS, PUBLISHED_GPS)):
        for number, (name, _) in published.items():
            assert known[number] == name
    assert {number: ExifTags.GPSTAGS[number] for number in GPS_TAGS} == GPS_TAGS


@pytest.mark.parametrize("directory", ["EXIF", "GPS"])
def test_written_types_are_the_published_ones(independent: dict[tuple[str, int], Any], directory: str) -> None:
    """Signed where the standard says signed: an air temperature above zero as well."""
    published = PUBLISHED_EXIF if directory == "EXIF" else PUBLISHED_GPS
    for number, (name, kind) in published.items():
        assert int(independent[directory, number].field_type) == kind, name


def _numbers(tag: Any) -> list[float]:
    return [float(v) for v in tag.values]


def test_an_independent_reader_sees_the_same_values(independent: dict[tuple[str, int], Any]) -> None:
    """Units are the standard's: degrees Celsius, percent, hPa, degrees minutes seconds, UTC."""
    exact = {
        ("EXIF", 0x9400): [3.5],
        ("EXIF", 0x9401): [62.5],
        ("EXIF", 0x9402): [955.5],
        ("EXIF", 0x9403): [-2.5],
        ("EXIF", 0x9404): [980665.0],
        ("EXIF", 0x9405): [-45.5],
        ("GPS", 0x02): [47.0, 30.0, 36.0],
        ("GPS", 0x04): [8.0, 30.0, 9.0],
        ("GPS", 0x05): [1.0],  # below
        ("GPS", 0x06): [3.5],  # unsigned
        ("GPS", 0x07): [4.0, 5.0, 6.25],  # date -u -d @1770091506
        ("GPS", 0x11): [90.25],
        ("GPS", 0x0F): [12.25],
    }
    for key, expected in exact.items():
        assert _numbers(independent[key]) == pytest.approx(expected, abs=1e-9), hex(key[1])
    texts = {
        ("GPS", 0x01): "N",
        ("GPS", 0x03): "W",
        ("GPS", 0x10): "T",
        ("GPS", 0x1D): "2026:02:03",
        ("EXIF", 0x9003): "2026:02:03 04:05:06",
        ("EXIF", 0x9011): "+00:00",
        ("EXIF", 0x9291): "250000",
    }
    for key, expected_text in texts.items():
        assert independent[key].printable == expected_text
