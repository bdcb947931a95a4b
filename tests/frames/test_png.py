"""PNGs: 16-bit grey is a measurement, everything else a picture."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from groundglow.frames.png import PngReader
from groundglow.records.frame import ValueKind


@pytest.mark.parametrize("extremes", [(0, 65535), (5136, 6280)])
def test_sixteen_bit_grey_keeps_its_range(tmp_path: Path, extremes: tuple[int, int]) -> None:
    """Both ends of the range, no sign, no stretch."""
    values = np.array([extremes], np.uint16)
    Image.fromarray(values).save(tmp_path / "a.png")
    frame = PngReader().read(tmp_path / "a.png")
    assert frame.values.dtype == np.uint16
    np.testing.assert_array_equal(frame.values, values)


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA"])
def test_other_modes_are_pictures(tmp_path: Path, mode: str) -> None:
    """Palettes, colours, transparency."""
    Image.new(mode, (5, 4)).save(tmp_path / "a.png")
    frame = PngReader().read(tmp_path / "a.png")
    assert frame.kind is ValueKind.PICTURE
    assert frame.values.shape == (4, 5)
    assert PngReader().shape(tmp_path / "a.png") == (4, 5)


def test_exif_in_a_png_is_found(tmp_path: Path) -> None:
    """The eXIf chunk of PNG carries time and place like any other Exif."""
    exif = Image.Exif()
    exif[0x010E] = "a frame"  # Pillow writes no Exif without an entry at the top
    exif.get_ifd(0x8769)[0x9003] = "2026:02:03 04:05:06"
    Image.fromarray(np.array([[1, 2]], np.uint16)).save(tmp_path / "a.png", exif=exif)
    assert PngReader().read(tmp_path / "a.png").stamp.time == 1770091506.0  # date -u -d 2026-02-03T04:05:06 +%s
