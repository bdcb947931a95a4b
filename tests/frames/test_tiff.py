"""TIFFs of other programs: every usual compression and predictor, nodata, stacks and broken strips."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import rasterio
from numpy.typing import NDArray

from groundglow.errors import FrameError
from groundglow.frames.tiff import TiffReader

CASES = [
    (compress, predictor, dtype)
    for compress in ("deflate", "lzw", "zstd")
    for predictor in (1, 2, 3)
    for dtype in ("uint16", "float32")
    if (predictor, dtype) != (3, "uint16")
]


@pytest.mark.parametrize(("compress", "predictor", "dtype"), CASES)
def test_geotiffs_of_a_reference_library_are_read_exactly(
    tmp_path: Path, counts: NDArray[np.uint16], compress: str, predictor: int, dtype: str
) -> None:
    """Written by GDAL with each of its usual settings."""
    values = (counts * 1.25).astype(dtype)
    size = {"height": values.shape[0], "width": values.shape[1], "count": 1, "dtype": dtype, "nodata": 7}
    place = rasterio.Affine.translation(8, 47)
    path = tmp_path / "a é.tif"
    with rasterio.open(path, "w", "GTiff", compress=compress, predictor=predictor, transform=place, **size) as file:
        file.write(values, 1)
    frame = TiffReader().read(path)
    np.testing.assert_array_equal(frame.values, values)
    assert frame.values.dtype == dtype
    assert frame.tags["nodata"] == 7.0


def test_overviews_are_no_second_frame(tmp_path: Path, counts: NDArray[np.uint16]) -> None:
    """A cloud-optimised GeoTIFF holds smaller copies of the same frame."""
    path = tmp_path / "a.tif"
    size = {"height": counts.shape[0], "width": counts.shape[1], "count": 1, "dtype": "uint16"}
    with rasterio.open(path, "w", "GTiff", transform=rasterio.Affine.translation(1, 1), **size) as file:
        file.write(counts, 1)
        file.build_overviews([2, 4])
    np.testing.assert_array_equal(TiffReader().read(path).values, counts)


def test_a_directory_without_a_picture_is_told(tmp_path: Path) -> None:
    """Eight bytes of header and nothing else."""
    path = tmp_path / "a.tif"
    path.write_bytes(b"II\x2a\x00\x08\x00\x00\x00")
    with pytest.raises(FrameError, match="holds no picture"):
        TiffReader().read(path)
