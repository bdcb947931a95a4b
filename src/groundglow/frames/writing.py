"""Writes a frame as a TIFF with Exif and GPS directories: for simulated flights and for tests.

References
----------
TIFF 6.0 (Adobe, 1992) sections 2, 8 and 14 (predictor 2); TIFF technical note 2 (compression 8, deflate,
value from memory); Exif 2.31 (CIPA DC-008-2016) for the directories and their types.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL.TiffImagePlugin import IFDRational, ImageFileDirectory_v2

from groundglow.errors import InputError
from groundglow.frames.exif import EXIF_DIRECTORY, EXIF_TAGS, GPS_DIRECTORY, GPS_TAGS
from groundglow.records.frame import Stamp

__all__ = ["write_frame_tiff"]

HEADER = b"II\x2a\x00"
ASCII, SHORT, LONG, RATIONAL, SRATIONAL = 2, 3, 4, 5, 10
SIGNED = {"AmbientTemperature", "WaterDepth", "CameraElevationAngle"}
#: Denominators of written rationals.
FINE = 1_000_000
DEFLATE, HORIZONTAL = 8, 2


def write_frame_tiff(
    path: Path,
    values: NDArray[Any],
    stamp: Stamp,
    tags: Mapping[str, Any] | None = None,
    *,
    compress: bool = False,
) -> None:
    """Write uint16 or float32 pixels with time, place and air as Exif; the same input gives the same bytes.

    Parameters
    ----------
    path : Path
    values : ndarray, shape (rows, columns)
        uint16 or float32.
    stamp : Stamp
        ``time`` is written as UTC. Yaw goes to GPSImgDirection from true north, pitch to
        CameraElevationAngle, humidity, pressure and air temperature to their Exif 2.31 tags.
    tags : mapping, optional
        Further Exif tags by standard name, such as ``GPSHPositioningError``; they win over the stamp.
    compress : bool
        Deflate, with horizontal differences for uint16.

    See Also
    --------
    groundglow.frames.reading.read_frame : reads it back.

    Raises
    ------
    InputError
        For other pixel types or an unknown tag.
    """
    if values.dtype not in (np.uint16, np.float32) or values.ndim != 2:
        raise InputError(f"a frame holds rows x columns of uint16 or float32, not {values.dtype} {values.shape}")
    named = _stamp_tags(stamp) | dict(tags or {})
    exif, gps = _directory(named, EXIF_TAGS), _directory(named, GPS_TAGS)
    _check_known(named)
    body, places = b"", {}
    for where, directory in ((EXIF_DIRECTORY, exif), (GPS_DIRECTORY, gps)):
        places[where] = 8 + len(body)
        body += _even(directory.tobytes(places[where]))
    data = _packed(values, compress)
    main = _main_directory(values, len(data), compress, places).tobytes(8 + len(body))
    path.write_bytes(HEADER + (8 + len(body)).to_bytes(4, "little") + body + main + data)


def _even(data: bytes) -> bytes:
    return data + b"\x00" * (len(data) % 2)


def _check_known(named: Mapping[str, Any]) -> None:
    unknown = sorted(set(named) - {*EXIF_TAGS.values(), *GPS_TAGS.values()})
    if unknown:
        raise InputError(f"tags cannot be written: {', '.join(unknown)}; use names of Exif 2.31")


def _packed(values: NDArray[Any], compress: bool) -> bytes:
    native = np.ascontiguousarray(values, dtype=values.dtype.newbyteorder("<"))
    if not compress:
        return native.tobytes()
    if native.dtype.kind == "u":
        native = np.diff(native, axis=1, prepend=np.zeros((len(native), 1), native.dtype))
    return zlib.compress(native.tobytes(), 3)


def _main_directory(
    values: NDArray[Any], length: int, compress: bool, places: Mapping[int, int]
) -> ImageFileDirectory_v2:
    rows, columns = values.shape
    floating = values.dtype.kind == "f"
    entries: dict[int, tuple[int, Any]] = {
        256: (LONG, columns),
        257: (LONG, rows),
        258: (SHORT, 8 * values.dtype.itemsize),
        259: (SHORT, DEFLATE if compress else 1),
        262: (SHORT, 1),  # 0 is black
        273: (LONG, 0),  # moved behind the directory by the library
        277: (SHORT, 1),
        278: (LONG, rows),
        279: (LONG, length),
        317: (SHORT, HORIZONTAL if compress and not floating else 1),
        339: (SHORT, 3 if floating else 1),
        **{where: (LONG, place) for where, place in places.items()},
    }
    return _filled(entries)


def _filled(entries: Mapping[int, tuple[int, Any]]) -> ImageFileDirectory_v2:
    directory = ImageFileDirectory_v2(HEADER + bytes(4))
    for tag in sorted(entries):
        directory.tagtype[tag], directory[tag] = entries[tag]
    return directory


def _directory(named: Mapping[str, Any], known: Mapping[int, str]) -> ImageFileDirectory_v2:
    entries = {tag: _typed(name, named[name]) for tag, name in known.items() if name in named}
    return _filled(entries)


def _typed(name: str, value: Any) -> tuple[int, Any]:
    if name == "GPSAltitudeRef":
        return 1, bytes([int(value)])
    if isinstance(value, str):
        return ASCII, value
    kind = SRATIONAL if name in SIGNED else RATIONAL
    parts = tuple(_rational(v) for v in (value if isinstance(value, tuple) else (value,)))
    return kind, parts if isinstance(value, tuple) else parts[0]


def _rational(value: float) -> IFDRational:
    fraction = Fraction(float(value)).limit_denominator(FINE)
    return IFDRational(fraction.numerator, fraction.denominator)


def _stamp_tags(stamp: Stamp) -> dict[str, Any]:
    plain = {
        "GPSImgDirection": None if stamp.yaw_deg is None else stamp.yaw_deg % 360,
        "CameraElevationAngle": stamp.pitch_deg,
        "AmbientTemperature": stamp.air_temperature_c,
        "Humidity": stamp.relative_humidity_pct,
        "Pressure": stamp.pressure_hpa,
    }
    known: dict[str, Any] = {name: value for name, value in plain.items() if value is not None}
    if "GPSImgDirection" in known:
        known["GPSImgDirectionRef"] = "T"
    return _time_tags(stamp) | _place_tags(stamp) | known


def _time_tags(stamp: Stamp) -> dict[str, Any]:
    if stamp.time is None:
        return {}
    moment = datetime.fromtimestamp(round(stamp.time, 6), UTC)
    seconds = moment.second + moment.microsecond / 1e6
    return {
        "DateTimeOriginal": moment.strftime("%Y:%m:%d %H:%M:%S"),
        "OffsetTimeOriginal": "+00:00",
        "SubSecTimeOriginal": f"{moment.microsecond:06d}",
        "GPSTimeStamp": (float(moment.hour), float(moment.minute), seconds),
        "GPSDateStamp": moment.strftime("%Y:%m:%d"),
    }


def _place_tags(stamp: Stamp) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if stamp.lon_deg is not None and stamp.lat_deg is not None:
        found |= {
            "GPSLatitudeRef": "N" if stamp.lat_deg >= 0 else "S",
            "GPSLatitude": _sexagesimal(stamp.lat_deg),
            "GPSLongitudeRef": "E" if stamp.lon_deg >= 0 else "W",
            "GPSLongitude": _sexagesimal(stamp.lon_deg),
        }
    if stamp.height_m is not None:
        found |= {"GPSAltitudeRef": int(stamp.height_m < 0), "GPSAltitude": abs(stamp.height_m)}
    return found


def _sexagesimal(angle: float) -> tuple[float, float, float]:
    """Degrees, minutes and seconds, the seconds to a hundred-thousandth (0.3 mm on the ground)."""
    units = round(abs(angle) * 3_600_00000)
    return float(units // 360000000), float(units // 6000000 % 60), units % 6000000 / 100000
