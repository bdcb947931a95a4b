"""Exif of a frame or of its companion picture: time, place, direction and the air around the camera.

References
----------
Exif 2.31 (CIPA DC-008-2016 / JEITA CP-3451D): tags 0x9003, 0x9011, 0x9291, 0x9400-0x9405 and the GPS
directory; EXIF 3.0 adds altitude references 2 and 3 (value from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from PIL import Image

from groundglow.frames.clock import clock_time, iso_time
from groundglow.records.flight import PosesSpec
from groundglow.records.frame import Stamp

__all__ = ["EXIF_TAGS", "GPS_TAGS", "read_tags", "stamp_from_tags", "tags_of"]

EXIF_DIRECTORY, GPS_DIRECTORY = 0x8769, 0x8825

EXIF_TAGS = {
    0x9003: "DateTimeOriginal",
    0x9011: "OffsetTimeOriginal",
    0x9291: "SubSecTimeOriginal",
    0x9400: "AmbientTemperature",
    0x9401: "Humidity",
    0x9402: "Pressure",
    0x9403: "WaterDepth",
    0x9404: "Acceleration",
    0x9405: "CameraElevationAngle",
    0x829A: "ExposureTime",
}
GPS_TAGS = {
    0x01: "GPSLatitudeRef",
    0x02: "GPSLatitude",
    0x03: "GPSLongitudeRef",
    0x04: "GPSLongitude",
    0x05: "GPSAltitudeRef",
    0x06: "GPSAltitude",
    0x07: "GPSTimeStamp",
    0x09: "GPSStatus",
    0x0B: "GPSDOP",
    0x0C: "GPSSpeedRef",
    0x0D: "GPSSpeed",
    0x0E: "GPSTrackRef",
    0x0F: "GPSTrack",
    0x10: "GPSImgDirectionRef",
    0x11: "GPSImgDirection",
    0x12: "GPSMapDatum",
    0x1D: "GPSDateStamp",
    0x1F: "GPSHPositioningError",
}
#: A rational with one of these denominators says "unknown" (Exif 2.31, section 4.6.5).
UNKNOWN_DENOMINATORS = (0, -1, 0xFFFFFFFF)


def read_tags(path: Path) -> dict[str, Any]:
    """Exif of one file by standard name; unknown values are left out, and no Exif is an empty dict.

    Numbers are floats, several numbers tuples of floats, texts are stripped.
    """
    try:
        return tags_of(_exif(path))
    except Exception:  # noqa: BLE001 - broken metadata may raise anything; the pixels are still good
        return {}


def tags_of(exif: Image.Exif) -> dict[str, Any]:
    """Tags of an open picture's Exif, as `read_tags` gives them; broken ones are an empty dict."""
    try:
        groups = ((EXIF_TAGS, EXIF_DIRECTORY), (GPS_TAGS, GPS_DIRECTORY))
        raw = {names[k]: v for names, where in groups for k, v in exif.get_ifd(where).items() if k in names}
    except Exception:  # noqa: BLE001 - broken metadata may raise anything; the pixels are still good
        return {}
    plain = {name: _plain(value) for name, value in raw.items()}
    return {name: value for name, value in plain.items() if value not in (None, "")}


def _exif(path: Path) -> Image.Exif:
    if path.suffix.lower() not in (".tif", ".tiff"):
        with Image.open(path) as picture:
            return picture.getexif()
    exif = Image.Exif()
    with path.open("rb") as file:
        exif.load_from_fp(file)
        for directory in (EXIF_DIRECTORY, GPS_DIRECTORY):
            exif.get_ifd(directory)
    return exif


def _plain(value: Any) -> Any:
    if isinstance(value, str):
        return value.strip("\x00 ")
    if isinstance(value, bytes):
        return float(value[0]) if len(value) == 1 else value.decode("ascii", "replace").strip("\x00 ")
    if isinstance(value, tuple):
        parts = tuple(_plain(v) for v in value)
        return None if None in parts else parts
    if getattr(value, "denominator", 1) in UNKNOWN_DENOMINATORS:
        return None
    return float(value)


def stamp_from_tags(tags: Mapping[str, Any], poses: PosesSpec) -> Stamp:
    """Time, place and air from Exif tags.

    Parameters
    ----------
    tags : mapping
        As `read_tags` gives them.
    poses : PosesSpec
        Its ``time_zone`` and ``clock_offset_s`` say what a camera time without zone means.

    Notes
    -----
    Time: DateTimeOriginal when OffsetTimeOriginal gives its zone, else the GPS time (UTC), else
    DateTimeOriginal by the zone in flight.toml. A direction from magnetic north is not used: the
    declination is unknown. A fix that the receiver calls void, or exactly 0, 0, is no place.
    """
    lon, lat = _place(tags)
    return Stamp(
        time=_time(tags, poses),
        lon_deg=lon,
        lat_deg=lat,
        height_m=_height(tags),
        yaw_deg=_number(tags, "GPSImgDirection") if tags.get("GPSImgDirectionRef", "T") == "T" else None,
        pitch_deg=_number(tags, "CameraElevationAngle"),
        air_temperature_c=_number(tags, "AmbientTemperature"),
        relative_humidity_pct=_number(tags, "Humidity"),
        pressure_hpa=_number(tags, "Pressure"),
    )


def _number(tags: Mapping[str, Any], name: str) -> float | None:
    value = tags.get(name)
    return value if isinstance(value, float) else None


def _angle(parts: Any, reference: Any, limit: float) -> float | None:
    if not isinstance(parts, tuple) or len(parts) != 3:
        return None
    size = parts[0] + parts[1] / 60 + parts[2] / 3600
    return (-size if str(reference).upper() in ("S", "W") else size) if 0 <= size <= limit else None


def _place(tags: Mapping[str, Any]) -> tuple[float | None, float | None]:
    lon = _angle(tags.get("GPSLongitude"), tags.get("GPSLongitudeRef"), 180)
    lat = _angle(tags.get("GPSLatitude"), tags.get("GPSLatitudeRef"), 90)
    no_fix = tags.get("GPSStatus") == "V" or (lon, lat) == (0, 0)
    return (None, None) if no_fix or lon is None or lat is None else (lon, lat)


def _height(tags: Mapping[str, Any]) -> float | None:
    height = _number(tags, "GPSAltitude")
    below = _number(tags, "GPSAltitudeRef") in (1.0, 3.0)
    return height if height is None or not below else -height


def _time(tags: Mapping[str, Any], poses: PosesSpec) -> float | None:
    taken = _taken(tags)
    zone = tags.get("OffsetTimeOriginal")
    gps = _gps_time(tags)
    if taken is not None and zone:
        return iso_time(f"{taken}{zone}")
    if gps is not None or taken is None:
        return gps
    return clock_time(taken, time_zone=poses.time_zone, clock_offset=poses.clock_offset_s)


def _taken(tags: Mapping[str, Any]) -> str | None:
    """DateTimeOriginal in ISO 8601 with its fraction of a second; None when it is blank or no date."""
    text = str(tags.get("DateTimeOriginal", ""))
    fraction = str(tags.get("SubSecTimeOriginal", "")).strip()
    date, _, clock = text.partition(" ")
    iso = f"{date.replace(':', '-')}T{clock}" + (f".{fraction}" if fraction.isdigit() else "")
    return iso if iso_time(iso) is not None else None


def _gps_time(tags: Mapping[str, Any]) -> float | None:
    clock, date = tags.get("GPSTimeStamp"), str(tags.get("GPSDateStamp", ""))
    if not isinstance(clock, tuple) or len(clock) != 3:
        return None
    hours, minutes, seconds = clock
    try:
        day = datetime.strptime(date, "%Y:%m:%d").replace(tzinfo=UTC)
        return (day + timedelta(hours=hours, minutes=minutes, seconds=seconds)).timestamp()
    except (ValueError, OverflowError):
        return None
