"""Frames of every kind are read as stored; a bad one is a FrameError with its reason, never a crash."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable
from importlib.metadata import EntryPoint
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from PIL import Image

from groundglow.errors import FileError, FrameError, InputError
from groundglow.frames import reading
from groundglow.frames.reading import list_frames, read_frame, readers
from groundglow.frames.writing import write_frame_tiff
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Stamp, ValueKind

Counts = NDArray[np.uint16]


def encoded(values: NDArray[Any], kind: str, **options: Any) -> bytes:
    """A picture file in memory."""
    out = io.BytesIO()
    Image.fromarray(values).save(out, kind, **options)
    return out.getvalue()


def npy(values: NDArray[Any]) -> bytes:
    """A .npy file in memory."""
    out = io.BytesIO()
    np.save(out, values)
    return out.getvalue()


def tiff(values: NDArray[Any], **options: Any) -> bytes:
    """A TIFF in memory, by another writer than ours."""
    out = io.BytesIO()
    tifffile.imwrite(out, values, photometric="minisblack", **options)
    return out.getvalue()


def png_claiming(width: int, height: int) -> bytes:
    """A PNG whose header claims a size that its data does not have."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    header = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 16, 0, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + header + chunk(b"IDAT", zlib.compress(b"\0" * 99)) + chunk(b"IEND", b"")


def put(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


@pytest.mark.parametrize(
    ("name", "write"),
    [
        ("a.tif", lambda v: encoded(v, "TIFF")),
        ("deflate.tiff", lambda v: encoded(v, "TIFF", compression="tiff_adobe_deflate")),
        ("lzw.tif", lambda v: encoded(v, "TIFF", compression="tiff_lzw")),
        ("tiles.tif", lambda v: tiff(v, tile=(16, 16))),
        ("big-endian.tif", lambda v: tiff(v, byteorder=">")),
        ("BIG.TIF", lambda v: tiff(v, bigtiff=True)),
        ("a.png", lambda v: encoded(v, "PNG")),
        ("a.npy", npy),
        ("with space é 温.tif", lambda v: encoded(v, "TIFF")),
    ],
)
def test_sixteen_bit_counts_come_back_untouched_from_every_format(
    tmp_path: Path, counts: Counts, counts_spec: FlightSpec, name: str, write: Callable[[Counts], bytes]
) -> None:
    """Whatever the container, the stored numbers are the numbers in the frame."""
    frame = read_frame(put(tmp_path, name, write(counts)), counts_spec)
    assert frame.name == name
    assert frame.kind is ValueKind.COUNTS
    assert frame.values.dtype == np.uint16
    np.testing.assert_array_equal(frame.values, counts)


@pytest.mark.parametrize("name", ["f.tif", "f.npy"])
def test_float_frames_keep_every_bit(tmp_path: Path, flight: Callable[..., FlightSpec], name: str) -> None:
    """Radiances and temperatures are stored as 32-bit floats and are not rounded on the way in."""
    values = np.random.default_rng(3).normal(20, 5, (16, 24)).astype(np.float32)
    write = npy if name.endswith("npy") else tiff
    spec = flight(values={"kind": "apparent_temperature", "unit": "C"})
    frame = read_frame(put(tmp_path, name, write(values)), spec)
    assert frame.kind is ValueKind.APPARENT_TEMPERATURE
    np.testing.assert_array_equal(frame.values, values)


@pytest.mark.parametrize("dtype", ["int16", "int32", "uint32", "float64"])
def test_other_number_types_become_float32_without_loss(
    tmp_path: Path, counts: Counts, counts_spec: FlightSpec, dtype: str
) -> None:
    """Whole counts up to 2**24 are exact in float32."""
    frame = read_frame(put(tmp_path, "a.tif", tiff(counts.astype(dtype))), counts_spec)
    assert frame.values.dtype == np.float32
    np.testing.assert_array_equal(frame.values, counts)


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("grey.png", encoded(np.full((8, 9), 7, np.uint8), "PNG")),
        ("colour.png", encoded(np.full((8, 9, 3), 7, np.uint8), "PNG")),
        ("colour.tif", encoded(np.full((8, 9, 3), 7, np.uint8), "TIFF")),
        ("grey.tif", encoded(np.full((8, 9), 7, np.uint8), "TIFF")),
        ("shot.jpg", encoded(np.full((8, 9), 7, np.uint8), "JPEG")),
    ],
)
def test_eight_bit_frames_are_pictures_and_say_so_when_flight_toml_says_otherwise(
    tmp_path: Path, counts_spec: FlightSpec, flight: Callable[..., FlightSpec], name: str, data: bytes
) -> None:
    """An 8-bit picture never passes for a measurement."""
    path = put(tmp_path, name, data)
    frame = read_frame(path, counts_spec)
    assert frame.kind is ValueKind.PICTURE
    assert frame.values.shape == (8, 9)
    assert "8-bit picture: no temperature can be stated" in frame.tags["reason"]
    said = read_frame(path, flight(values={"kind": "picture"}))
    assert said.kind is ValueKind.PICTURE
    assert "reason" not in said.tags


NOISE = np.random.default_rng(5).integers(0, 2**16, (64, 64), dtype=np.uint16)
BAD = {
    "empty.tif": (b"", "empty"),
    "text.tif": (b"these are notes, not a picture" * 20, "not a TIFF"),
    "text.png": (b"these are notes, not a picture" * 20, "not what its suffix says"),
    "text.jpg": (b"these are notes, not a picture" * 20, "not what its suffix says"),
    "text.npy": (b"these are notes, not a picture" * 20, "cannot be read"),
    "cut.tif": (encoded(np.ones((64, 64), np.uint16), "TIFF")[:3000], "cut short"),
    "cut-deflate.tif": (
        encoded(np.arange(4096, dtype=np.uint16).reshape(64, 64), "TIFF", compression="tiff_adobe_deflate")[:999],
        "cut short",
    ),
    "cut.png": (encoded(NOISE, "PNG")[:3000], "truncated"),
    "cut.npy": (npy(np.ones((64, 64), np.uint16))[:-5], "cut short"),
    "nan.npy": (npy(np.full((8, 8), np.nan, np.float32)), "100% of its pixels are not numbers"),
    "nan.tif": (tiff(np.full((8, 8), np.nan, np.float32)), "100% of its pixels are not numbers"),
    "infinite.npy": (npy(np.full((8, 8), np.inf, np.float32)), "100% of its pixels are not numbers"),
    "three.npy": (npy(np.ones((3, 8, 8), np.uint16)), "one band"),
    "line.npy": (npy(np.ones(8, np.uint16)), "one band"),
    "none.npy": (npy(np.ones((0, 8), np.uint16)), "holds no pixels"),
    "objects.npy": (npy(np.array([[{}]], dtype=object)), "never loaded"),
    "complex.npy": (npy(np.ones((8, 8), np.complex64)), "complex64"),
    "large.tif": (tiff(np.full((8, 8), 2**30, np.int32)), "too large to be counts"),
    "stack.tif": (tiff(np.ones((3, 8, 8), np.uint16)), "holds 3 frames"),
    "claims.png": (png_claiming(100_000, 100_000), "exceeds limit"),
    "claims-less.png": (png_claiming(9_000, 9_000), "claims 9000 x 9000"),
    "notes.xyz": (b"1", "no reader for .xyz"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_frame_is_a_frame_error_that_names_the_file_and_the_reason(
    tmp_path: Path, counts_spec: FlightSpec, name: str
) -> None:
    """One bad frame never costs a flight: it is set aside with words that help."""
    data, reason = BAD[name]
    with pytest.raises(FrameError) as caught:
        read_frame(put(tmp_path, name, data), counts_spec)
    assert str(caught.value).startswith(f"{name}: ")
    assert reason in str(caught.value)


def test_a_tiff_header_that_claims_an_enormous_width_is_refused_before_decoding(
    tmp_path: Path, counts: Counts, counts_spec: FlightSpec
) -> None:
    """A patched header must not make the program ask for gigabytes."""
    path = tmp_path / "bomb.tif"
    write_frame_tiff(path, counts, Stamp())
    data = path.read_bytes()
    width = data.find(struct.pack("<HHI", 256, 4, 1))
    assert width > 0
    path.write_bytes(data[: width + 8] + struct.pack("<I", 2**31 - 1) + data[width + 12 :])
    with pytest.raises(FrameError, match="claims"):
        read_frame(path, counts_spec)


def test_a_missing_frame_and_a_folder_are_frame_errors(tmp_path: Path, counts_spec: FlightSpec) -> None:
    """A frame deleted since it was listed is set aside like any other bad frame."""
    (tmp_path / "folder.tif").mkdir()
    for name in ("folder.tif", "gone.tif"):
        with pytest.raises(FrameError, match="no such file"):
            read_frame(tmp_path / name, counts_spec)


def test_random_damage_only_ever_gives_a_frame_error(tmp_path: Path, counts: Counts, counts_spec: FlightSpec) -> None:
    """Flipped and lost bytes, Exif included, never raise anything else."""
    write_frame_tiff(tmp_path / "good.tif", counts, Stamp(time=1e9, lon_deg=8.0, lat_deg=47.0, height_m=400.0))
    whole = {
        ".tif": (tmp_path / "good.tif").read_bytes(),
        ".png": encoded(counts, "PNG"),
        ".npy": npy(counts),
    }
    rng = np.random.default_rng(11)
    outcomes = set()
    for turn in range(150):
        suffix = list(whole)[turn % len(whole)]
        data = bytearray(whole[suffix])
        for place in rng.integers(0, min(len(data), 700), size=rng.integers(1, 6)):
            data[place] = rng.integers(0, 256)
        path = put(tmp_path, f"hurt{suffix}", bytes(data[: len(data) - int(rng.integers(0, 3)) * 500]))
        try:
            read_frame(path, counts_spec)
            outcomes.add("read")
        except FrameError:
            outcomes.add("refused")
    assert outcomes == {"read", "refused"}


def test_a_frame_of_another_size_than_flight_toml_says_is_refused(
    tmp_path: Path, counts: Counts, flight: Callable[..., FlightSpec]
) -> None:
    """A thumbnail between the frames must not be measured."""
    path = put(tmp_path, "a.png", encoded(counts, "PNG"))
    assert read_frame(path, flight(camera={"width_px": 64, "height_px": 48})).values.shape == (48, 64)
    with pytest.raises(FrameError, match=r"64 x 48 px; flight.toml .camera. says 640 x 512"):
        read_frame(path, flight(camera={"width_px": 640, "height_px": 512}))


def test_some_missing_pixels_are_no_reason_to_lose_a_frame(tmp_path: Path, flight: Callable[..., FlightSpec]) -> None:
    """A fifth of the pixels without a value leaves a usable frame."""
    values = np.full((10, 10), 300.0, np.float32)
    values[:2] = np.nan
    spec = flight(values={"kind": "apparent_temperature", "unit": "K"})
    frame = read_frame(put(tmp_path, "a.npy", npy(values)), spec)
    assert int(np.isnan(frame.values).sum()) == 20


def test_the_value_that_stands_for_no_data_counts_as_missing(tmp_path: Path, counts_spec: FlightSpec) -> None:
    """A GeoTIFF's nodata value is kept among the tags and counted against the frame."""
    nodata = [(42113, "s", 0, "0", True)]
    mostly_empty = np.zeros((8, 8), np.uint16)
    mostly_empty[0] = 500
    with pytest.raises(FrameError, match="88% of its pixels"):
        read_frame(put(tmp_path, "empty.tif", tiff(mostly_empty, extratags=nodata)), counts_spec)
    full = np.full((8, 8), 500, np.uint16)
    frame = read_frame(put(tmp_path, "full.tif", tiff(full, extratags=nodata)), counts_spec)
    assert frame.tags["nodata"] == 0.0


def test_listing_is_sorted_and_takes_companions_for_what_they_are(tmp_path: Path, counts: Counts) -> None:
    """Of files with one stem the one with the most in it is the frame; notes and hidden files are none."""
    for name in ("b.tif", "a.png", "b.jpg", "c 1.npy", "d.JPG"):
        put(tmp_path, name, b"x")
    for name in ("poses.csv", ".hidden.tif", "readme.txt"):
        put(tmp_path, name, b"x")
    assert [p.name for p in list_frames(tmp_path)] == ["a.png", "b.tif", "c 1.npy", "d.JPG"]


def test_a_folder_without_frames_says_what_would_be_read(tmp_path: Path) -> None:
    """An empty folder and a missing one are errors of the job, not of a frame."""
    with pytest.raises(FileError, match=r"holds no frames.*\.npy"):
        list_frames(tmp_path)
    with pytest.raises(FileError, match="no such folder"):
        list_frames(tmp_path / "nowhere")


def test_a_companion_picture_lends_its_exif(tmp_path: Path, counts: Counts, counts_spec: FlightSpec) -> None:
    """frame.png without metadata takes time and place from frame.tif or frame.jpg beside it."""
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:02:03 04:05:06"
    exif.get_ifd(0x8769)[0x9011] = "+00:00"
    exif.get_ifd(0x8825).update({1: "S", 2: (10.0, 30.0, 0.0), 3: "E", 4: (20.0, 0.0, 36.0)})
    path = put(tmp_path, "frame 1.png", encoded(counts, "PNG"))
    Image.fromarray(np.zeros((4, 4), np.uint8)).save(tmp_path / "frame 1.jpg", exif=exif)
    stamp = read_frame(path, counts_spec).stamp
    assert (stamp.lon_deg, stamp.lat_deg) == (pytest.approx(20.01), pytest.approx(-10.5))
    assert stamp.time == 1770091506.0  # date -u -d 2026-02-03T04:05:06 +%s


def test_the_frames_own_exif_wins_over_its_companions(tmp_path: Path, counts: Counts, counts_spec: FlightSpec) -> None:
    """What the frame says of itself is not overwritten."""
    write_frame_tiff(tmp_path / "a.tif", counts, Stamp(time=1000.0))
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:02:03 04:05:06"
    Image.fromarray(np.zeros((4, 4), np.uint8)).save(tmp_path / "a.jpg", exif=exif)
    assert read_frame(tmp_path / "a.tif", counts_spec).stamp.time == 1000.0


PLUGIN = """
import numpy as np
from groundglow.frames.base import Reader

class NumbersReader(Reader):
    suffixes = (".nums",)

    def shape(self, path):
        return self.pixels(path).shape

    def pixels(self, path):
        return np.loadtxt(path, delimiter=",", dtype=np.float32, ndmin=2)

    def tags(self, path):
        return {}
"""


@pytest.fixture
def installed(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Pretend that entry points beside our own are installed."""

    def install(*extra: tuple[str, str]) -> None:
        own = reading.entry_points(group=reading.GROUP)
        found = [*own, *(EntryPoint(name, value, reading.GROUP) for name, value in extra)]
        monkeypatch.setattr(reading, "entry_points", lambda group: found)
        readers.cache_clear()

    yield install
    monkeypatch.undo()
    readers.cache_clear()


def test_a_plugin_adds_a_format_by_entry_point(
    tmp_path: Path, counts_spec: FlightSpec, installed: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A new format is one class in somebody's package; nothing of ours has to change."""
    put(tmp_path, "plugin_of_numbers.py", PLUGIN.encode())
    monkeypatch.syspath_prepend(tmp_path)
    installed(("numbers", "plugin_of_numbers:NumbersReader"))
    path = put(tmp_path, "a.nums", b"1,2\n3,4\n")
    np.testing.assert_array_equal(read_frame(path, counts_spec).values, [[1, 2], [3, 4]])
    assert list_frames(tmp_path) == [path]
    with pytest.raises(FrameError, match=r"a\.nums.*cannot be read"):
        read_frame(put(tmp_path, "a.nums", b"one,two"), counts_spec)


def test_a_broken_plugin_is_named(installed: Any) -> None:
    """A plugin that cannot be loaded is an error that names it, not a traceback."""
    installed(("hopeful", "no.such.module:Reader"))
    with pytest.raises(InputError, match="hopeful"):
        readers()


def test_our_own_readers_are_found_through_the_entry_points() -> None:
    """The package's metadata names the readers of the four kinds."""
    assert {".tif", ".tiff", ".png", ".npy", ".jpg", ".jpeg"} <= set(readers())
