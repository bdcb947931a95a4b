"""Exif becomes time, place, direction and air; unknown stays unknown."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from groundglow.frames.exif import read_tags, stamp_from_tags
from groundglow.records.flight import PosesSpec

UTC_POSES = PosesSpec()
NOON: dict[str, Any] = {"DateTimeOriginal": "2026:07:01 12:00:00"}
GPS_NOON: dict[str, Any] = {"GPSDateStamp": "2026:07:01", "GPSTimeStamp": (12.0, 0.0, 2.5)}
AT_NOON = 1782907200.0  # date -u -d 2026-07-01T12:00:00 +%s


def picture(path: Path, exif: dict[int, Any], gps: dict[int, Any]) -> Path:
    """A JPEG with these Exif and GPS entries."""
    tags = Image.Exif()
    tags.get_ifd(0x8769).update(exif)
    tags.get_ifd(0x8825).update(gps)
    Image.fromarray(np.zeros((4, 4), np.uint8)).save(path, exif=tags)
    return path


@pytest.mark.parametrize(
    ("tags", "poses", "expected"),
    [
        (NOON, UTC_POSES, AT_NOON),
        (NOON | {"SubSecTimeOriginal": "25"}, UTC_POSES, AT_NOON + 0.25),
        (NOON | {"OffsetTimeOriginal": "+02:00"}, PosesSpec(time_zone="-05:00"), AT_NOON - 7200),
        (NOON, PosesSpec(time_zone="+02:00"), AT_NOON - 7200),
        (NOON, PosesSpec(clock_offset_s=3.0), AT_NOON - 3),
        (NOON | GPS_NOON, PosesSpec(time_zone="+02:00"), AT_NOON + 2.5),
        (NOON | GPS_NOON | {"OffsetTimeOriginal": "+00:00"}, UTC_POSES, AT_NOON),
        (GPS_NOON, UTC_POSES, AT_NOON + 2.5),
        ({}, UTC_POSES, None),
        ({"DateTimeOriginal": "    :  :     :  :  "}, UTC_POSES, None),
        ({"DateTimeOriginal": "0000:00:00 00:00:00"}, UTC_POSES, None),
        ({"GPSTimeStamp": (12.0, 0.0, 0.0)}, UTC_POSES, None),
        ({"GPSTimeStamp": (1e300, 0.0, 0.0), "GPSDateStamp": "2026:07:01"}, UTC_POSES, None),
    ],
)
def test_time_of_a_frame(tags: dict[str, Any], poses: PosesSpec, expected: float | None) -> None:
    """A zone in the file wins, then GPS (UTC), then the zone that flight.toml gives the camera's clock."""
    assert stamp_from_tags(tags, poses).time == expected


@pytest.mark.parametrize(
    ("tags", "expected"),
    [
        ({"GPSLatitudeRef": "N", "GPSLongitudeRef": "W"}, (-8.5025, 47.51)),
        ({"GPSLatitudeRef": "S", "GPSLongitudeRef": "E"}, (8.5025, -47.51)),
        ({"GPSLatitudeRef": "N", "GPSLongitudeRef": "E", "GPSStatus": "V"}, (None, None)),
        ({"GPSLatitude": (0.0, 0.0, 0.0), "GPSLongitude": (0.0, 0.0, 0.0)}, (None, None)),
        ({"GPSLatitude": (95.0, 0.0, 0.0)}, (None, None)),
        ({"GPSLatitude": (47.0, 30.0)}, (None, None)),
    ],
)
def test_place_of_a_frame(tags: dict[str, Any], expected: tuple[float | None, float | None]) -> None:
    """Signs follow the references; a void fix, zero, or an impossible latitude is no place."""
    known = {"GPSLatitude": (47.0, 30.0, 36.0), "GPSLongitude": (8.0, 30.0, 9.0)}
    stamp = stamp_from_tags(known | tags, UTC_POSES)
    assert (stamp.lon_deg, stamp.lat_deg) == pytest.approx(expected)


@pytest.mark.parametrize(("reference", "sign"), [(None, 1), (0.0, 1), (1.0, -1), (2.0, 1), (3.0, -1)])
def test_heights_below_the_reference_are_negative(reference: float | None, sign: int) -> None:
    """The altitude itself is unsigned; its reference carries the sign."""
    tags = {"GPSAltitude": 12.5} | ({} if reference is None else {"GPSAltitudeRef": reference})
    assert stamp_from_tags(tags, UTC_POSES).height_m == sign * 12.5


def test_a_direction_from_magnetic_north_is_not_taken_for_true() -> None:
    """The declination is not in the file."""
    assert stamp_from_tags({"GPSImgDirection": 90.0, "GPSImgDirectionRef": "T"}, UTC_POSES).yaw_deg == 90.0
    assert stamp_from_tags({"GPSImgDirection": 90.0, "GPSImgDirectionRef": "M"}, UTC_POSES).yaw_deg is None


def test_the_direction_of_movement_is_no_direction_of_the_image() -> None:
    """GPSTrack is where the aircraft went, not where the picture points."""
    assert stamp_from_tags({"GPSTrack": 90.0, "GPSTrackRef": "T"}, UTC_POSES).yaw_deg is None


def test_rationals_with_an_unknown_denominator_are_unknown(tmp_path: Path) -> None:
    """Exif writes "unknown" as n/0xFFFFFFFF; a receiver without a fix writes 0/0."""
    path = picture(
        tmp_path / "a.jpg",
        {0x9401: IFDRational(1234567, 89), 0x9402: IFDRational(955, 1)},
        {2: (IFDRational(0, 0), IFDRational(0, 0), IFDRational(0, 0)), 6: IFDRational(0, 0)},
    )
    data = path.read_bytes()
    for order in ("<II", ">II"):  # the library that writes would reduce the fraction
        data = data.replace(struct.pack(order, 1234567, 89), b"\xff" * 8)
    assert b"\xff" * 8 in data
    path.write_bytes(data)
    assert read_tags(path) == {"Pressure": 955.0}


def test_a_picture_without_exif_or_with_broken_exif_has_no_tags(tmp_path: Path) -> None:
    """Metadata is a help, never a reason to lose the pixels."""
    bare = tmp_path / "bare.jpg"
    Image.fromarray(np.zeros((4, 4), np.uint8)).save(bare)
    broken = tmp_path / "broken.jpg"
    Image.fromarray(np.zeros((4, 4), np.uint8)).save(broken, exif=b"Exif\x00\x00nonsense that is no directory")
    text = tmp_path / "text.tif"
    text.write_text("nothing")
    assert read_tags(bare) == read_tags(broken) == read_tags(text) == {}
