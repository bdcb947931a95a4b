"""Frames that we write come back the same, with their stamp, and always as the same bytes."""

from __future__ import annotations

import hashlib
import subprocess
import sys
from dataclasses import astuple
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image

from groundglow.errors import InputError
from groundglow.frames.exif import stamp_from_tags
from groundglow.frames.reading import read_frame
from groundglow.frames.writing import _stamp_tags, write_frame_tiff
from groundglow.records.flight import FlightSpec, PosesSpec
from groundglow.records.frame import Stamp

STAMP = Stamp(
    time=1770091506.25,
    lon_deg=-8.1234567,
    lat_deg=-47.6543215,
    height_m=-12.3,
    yaw_deg=271.25,
    pitch_deg=-89.5,
    air_temperature_c=-3.5,
    relative_humidity_pct=62.5,
    pressure_hpa=955.2,
)


@pytest.mark.parametrize("compress", [False, True])
@pytest.mark.parametrize("dtype", ["uint16", "float32"])
def test_pixels_and_stamp_come_back(
    tmp_path: Path, counts: NDArray[np.uint16], counts_spec: FlightSpec, dtype: str, compress: bool
) -> None:
    """Time to the microsecond, place to a millimetre, every pixel."""
    values = (counts * np.float64(1.25)).astype(dtype)
    path = tmp_path / "frame é 1.tif"
    write_frame_tiff(path, values, STAMP, compress=compress)
    frame = read_frame(path, counts_spec)
    np.testing.assert_array_equal(frame.values, values)
    assert frame.values.dtype == dtype
    known = [v for v in astuple(STAMP) if v is not None]
    assert [v for v in astuple(frame.stamp) if v is not None] == pytest.approx(known, rel=0, abs=2e-8)


@pytest.mark.parametrize("compress", [False, True])
def test_another_library_reads_the_same_pixels(tmp_path: Path, counts: NDArray[np.uint16], compress: bool) -> None:
    """The file is an ordinary TIFF to Pillow's libtiff as well."""
    path = tmp_path / "a.tif"
    write_frame_tiff(path, counts, STAMP, compress=compress)
    with Image.open(path) as picture:
        np.testing.assert_array_equal(np.asarray(picture), counts)


@given(
    st.floats(-180, 180),
    st.floats(-90, 90),
    st.floats(-400, 9000),
    st.floats(0, 4e9),
)
def test_any_place_and_time_survives_its_exif_tags(lon: float, lat: float, height: float, time: float) -> None:
    """Degrees, minutes and seconds never carry over wrongly."""
    if abs(lon) < 1e-6 and abs(lat) < 1e-6:
        return  # exactly 0, 0 is "no fix"
    tags = _stamp_tags(Stamp(time=time, lon_deg=lon, lat_deg=lat, height_m=height))
    plain = {name: float(v) if isinstance(v, int) else v for name, v in tags.items()}
    stamp = stamp_from_tags(plain, PosesSpec())
    assert stamp.lon_deg == pytest.approx(lon, abs=2e-9)
    assert stamp.lat_deg == pytest.approx(lat, abs=2e-9)
    assert stamp.height_m == pytest.approx(height, abs=1e-6)
    assert stamp.time == pytest.approx(time, abs=1e-6)


def test_an_empty_stamp_writes_no_tags(tmp_path: Path, counts: NDArray[np.uint16], counts_spec: FlightSpec) -> None:
    """Unknown stays unknown; nothing is written as zero."""
    write_frame_tiff(tmp_path / "a.tif", counts, Stamp())
    frame = read_frame(tmp_path / "a.tif", counts_spec)
    assert frame.stamp == Stamp()
    assert frame.tags == {}


def test_further_tags_are_written_by_name_and_unknown_ones_refused(
    tmp_path: Path, counts: NDArray[np.uint16], counts_spec: FlightSpec
) -> None:
    """Only standard names go into a file."""
    write_frame_tiff(tmp_path / "a.tif", counts, STAMP, {"GPSHPositioningError": 1.5, "GPSAltitude": 20.0})
    tags = read_frame(tmp_path / "a.tif", counts_spec).tags
    assert (tags["GPSHPositioningError"], tags["GPSAltitude"]) == (1.5, 20.0)
    with pytest.raises(InputError, match="Colour"):
        write_frame_tiff(tmp_path / "b.tif", counts, STAMP, {"Colour": "blue"})


@pytest.mark.parametrize("values", [np.zeros((4, 4)), np.zeros((4, 4, 3), np.uint16), np.zeros((4, 4), np.uint8)])
def test_only_frames_are_written(tmp_path: Path, values: NDArray[np.uint8]) -> None:
    """Doubles, colours and 8-bit pictures are no thermal frames."""
    with pytest.raises(InputError, match="uint16 or float32"):
        write_frame_tiff(tmp_path / "a.tif", values, STAMP)


SCRIPT = """
import sys, numpy as np
from pathlib import Path
from groundglow.frames.writing import write_frame_tiff
from groundglow.records.frame import Stamp
write_frame_tiff(Path(sys.argv[1]), np.arange(600, dtype=np.uint16).reshape(20, 30),
                 Stamp(time=1e9, lon_deg=8.0, lat_deg=47.0, air_temperature_c=1.0), compress=True)
"""


def test_a_fresh_process_writes_the_same_bytes(tmp_path: Path) -> None:
    """No time of writing, no library version, no order of a set goes into the file."""
    digests = set()
    for name in ("a.tif", "b.tif"):
        subprocess.run([sys.executable, "-c", SCRIPT, str(tmp_path / name)], check=True)
        digests.add(hashlib.sha256((tmp_path / name).read_bytes()).hexdigest())
    assert len(digests) == 1
