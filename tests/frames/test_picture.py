"""8-bit pictures are read as grey, with their Exif."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from groundglow.frames.picture import PictureReader
from groundglow.records.frame import ValueKind


@pytest.mark.parametrize("name", ["a.jpg", "a é.JPEG", "a.bmp", "a.webp"])
@pytest.mark.parametrize("mode", ["L", "RGB"])
def test_every_kind_of_picture_is_grey_of_its_size(tmp_path: Path, name: str, mode: str) -> None:
    """A uniform grey stays that grey within the loss of the format."""
    Image.new(mode, (12, 9), 128 if mode == "L" else (128, 128, 128)).save(tmp_path / name)
    frame = PictureReader().read(tmp_path / name)
    assert frame.kind is ValueKind.PICTURE
    assert frame.values.shape == (9, 12)
    np.testing.assert_allclose(frame.values, 128, atol=2)


def test_its_exif_comes_along(tmp_path: Path) -> None:
    """Places and times are what pictures are good for."""
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = "2026:02:03 04:05:06"
    Image.new("L", (4, 4)).save(tmp_path / "a.jpg", exif=exif)
    frame = PictureReader().read(tmp_path / "a.jpg")
    assert frame.tags == {"DateTimeOriginal": "2026:02:03 04:05:06"}
    assert frame.stamp.time == 1770091506.0  # date -u -d 2026-02-03T04:05:06 +%s
