"""A field survives its file: value within the stated step, doubt, mask, sources and their order."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import rasterio
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from groundglow.errors import FileError
from groundglow.frames.fields import (
    UNCERTAINTY_BITS,
    VALUE_STEP,
    read_field,
    read_value,
    rounded_mantissa,
    write_field,
)
from groundglow.model.doubt import Doubt, combined
from groundglow.records.field import Field, Reason

SHAPE = (40, 60)


@pytest.fixture
def field() -> Field:
    """Temperatures with all kinds of sources: constant, varying, negative; some pixels masked."""
    rng = np.random.default_rng(4)
    value = rng.normal(290, 8, SHAPE).astype(np.float32)
    mask = np.zeros(SHAPE, np.uint8)
    mask[0, :5] = Reason.SATURATED
    mask[1, :5] = Reason.NO_SOLUTION
    value[1, :5] = np.nan
    doubt = Doubt(
        rng.uniform(0.04, 0.06, SHAPE).astype(np.float32),
        frame={"drift": np.array(0.5), "pattern": rng.normal(0, 0.1, SHAPE)},
        flight={
            "emissivity: roof felt": -0.02 * (value - 270),
            "calibration": np.array(2.887),
            "air é": np.float32(0.1) * np.ones((1, SHAPE[1])),
        },
    )
    return Field(value, doubt, mask, "surface_temperature", "K")


def test_everything_comes_back_within_the_stated_rounding(tmp_path: Path, field: Field) -> None:
    """Half a step for values, one part in 2**11 for doubts; masks, names, units and order exactly."""
    write_field(tmp_path / "a b é.tif", field)
    back = read_field(tmp_path / "a b é.tif")
    np.testing.assert_array_equal(np.isnan(back.value), np.isnan(field.value))
    assert np.nanmax(np.abs(back.value - field.value)) <= VALUE_STEP / 2
    np.testing.assert_array_equal(back.mask, field.mask)
    assert (back.quantity, back.unit) == ("surface_temperature", "K")
    relative = 2.0 ** -(UNCERTAINTY_BITS + 1)
    np.testing.assert_allclose(back.doubt.independent, field.doubt.independent, rtol=relative)
    for ours, theirs in ((back.doubt.frame, field.doubt.frame), (back.doubt.flight, field.doubt.flight)):
        assert list(ours) == list(theirs)
        for name, values in theirs.items():
            np.testing.assert_allclose(ours[name], np.broadcast_to(values, ours[name].shape), rtol=relative)


def test_a_source_that_is_the_same_everywhere_takes_no_band(tmp_path: Path, field: Field) -> None:
    """Constants are kept exactly, as tags."""
    write_field(tmp_path / "a.tif", field)
    back = read_field(tmp_path / "a.tif")
    assert back.doubt.flight["calibration"].shape == ()
    assert float(back.doubt.flight["calibration"]) == 2.887
    with rasterio.open(tmp_path / "a.tif") as file:
        assert file.count == 3 + 3  # value, independent, mask; pattern, emissivity, air


def test_other_programs_find_names_units_and_flags(tmp_path: Path, field: Field) -> None:
    """Band names follow the CF standard name modifiers (CF Conventions 1.11, appendix C and section 3.5)."""
    write_field(tmp_path / "a.tif", field, {"frame": "a.tif"})
    with rasterio.open(tmp_path / "a.tif") as file:
        assert file.descriptions[:3] == (
            "surface_temperature",
            "surface_temperature standard_error",
            "surface_temperature status_flag",
        )
        assert set(file.dtypes) == {"float32"}
        assert file.tags(1)["units"] == "K"
        flags = file.tags(3)
        meanings = dict(zip(flags["flag_values"].split(), flags["flag_meanings"].split(), strict=True))
        assert meanings[str(int(Reason.SATURATED))] == "saturated"
        assert file.tags()["frame"] == "a.tif"
        assert file.xy(0, 0) == (0.0, 0.0)  # pixel centres at whole numbers: column, row
        assert file.xy(3, 7) == (7.0, 3.0)


def test_counts_are_kept_as_counts(tmp_path: Path) -> None:
    """A field without calibration has no kelvin anywhere."""
    ones = np.ones((4, 5), np.float32)
    write_field(
        tmp_path / "a.tif", Field(ones * 12, Doubt(ones), np.zeros((4, 5), np.uint8), "counts_departure", "counts")
    )
    back = read_field(tmp_path / "a.tif")
    assert back.relative
    np.testing.assert_array_equal(back.value, 12)
    assert back.doubt.frame == back.doubt.flight == {}


def test_combined_doubt_is_the_same_after_the_file(tmp_path: Path, field: Field) -> None:
    """What is stated after reading differs by no more than the rounding of its parts."""
    write_field(tmp_path / "a.tif", field)
    np.testing.assert_allclose(combined(read_field(tmp_path / "a.tif").doubt), combined(field.doubt), rtol=5e-4)


@given(
    arrays(np.float32, 8, elements=st.floats(-(2.0**100), 2.0**100, width=32, allow_subnormal=False)),
    st.integers(4, 20),
)
def test_rounding_keeps_the_stated_share_and_the_sign(values: np.ndarray, bits: int) -> None:
    """The relative error is at most half a unit of the last kept bit."""
    rounded = rounded_mantissa(values, bits).astype(np.float64)
    assert np.all(np.abs(rounded - values) <= np.abs(values.astype(np.float64)) * 2.0 ** -(bits + 1))
    assert np.array_equal(np.signbit(rounded), np.signbit(values))


def test_rounding_leaves_zero_nan_and_infinity_alone() -> None:
    """No NaN payload turns into a number."""
    special = np.array([0.0, -0.0, np.nan, np.inf, -np.inf], np.float32)
    np.testing.assert_array_equal(rounded_mantissa(special), special)


SCRIPT = """
import sys, numpy as np
from pathlib import Path
from groundglow.frames.fields import write_field
from groundglow.model.doubt import Doubt
from groundglow.records.field import Field
value = np.random.default_rng(1).normal(290, 5, (30, 40)).astype(np.float32)
doubt = Doubt(np.full(value.shape, 0.05), {"drift": np.array(0.5)}, {"air": value * 1e-3})
write_field(Path(sys.argv[1]), Field(value, doubt, np.zeros(value.shape, np.uint8), "surface_temperature", "K"))
"""


def test_a_fresh_process_writes_the_same_bytes_and_no_second_file(tmp_path: Path) -> None:
    """Running a step again finishes it with the same bytes, without side files."""
    digests = set()
    for name in ("a.tif", "b.tif"):
        subprocess.run([sys.executable, "-W", "error", "-c", SCRIPT, str(tmp_path / name)], check=True)
        digests.add(hashlib.sha256((tmp_path / name).read_bytes()).hexdigest())
    assert len(digests) == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.tif", "b.tif"]


def test_smooth_sensitivities_cost_little_room(tmp_path: Path) -> None:
    """Rounded and predicted, a field with six sources takes less than half of its plain size."""
    rows, columns = np.mgrid[:256, :320].astype(np.float32)
    value = 290 + 5 * np.sin(rows / 40) * np.cos(columns / 50)
    sources = {f"source {i}": (value - 280) * np.float32(0.01 * i) for i in range(1, 7)}
    doubt = Doubt(np.full(value.shape, 0.05, np.float32), flight=sources)
    write_field(tmp_path / "a.tif", Field(value, doubt, np.zeros(value.shape, np.uint8), "surface_temperature", "K"))
    assert (tmp_path / "a.tif").stat().st_size < 9 * value.size * 4 / 2


def test_what_is_no_field_is_said(tmp_path: Path) -> None:
    """A missing file, a broken one and somebody else's GeoTIFF are three different errors."""
    with pytest.raises(FileError, match="no such file"):
        read_field(tmp_path / "a.tif")
    (tmp_path / "text.tif").write_text("nothing")
    with pytest.raises(FileError, match="cannot be read"):
        read_field(tmp_path / "text.tif")
    place = rasterio.Affine.translation(1, 1)
    with rasterio.open(
        tmp_path / "other.tif", "w", driver="GTiff", width=4, height=4, count=1, dtype="uint8", transform=place
    ) as file:
        file.write(np.ones((1, 4, 4), np.uint8))
    with pytest.raises(FileError, match="is no field"):
        read_field(tmp_path / "other.tif")


def test_a_field_cut_short_is_a_file_error(tmp_path: Path, field: Field) -> None:
    """A killed run must not leave something that reads as measured."""
    write_field(tmp_path / "a.tif", field)
    data = (tmp_path / "a.tif").read_bytes()
    (tmp_path / "a.tif").write_bytes(data[: len(data) // 2])
    with pytest.raises(FileError):
        read_field(tmp_path / "a.tif")


def test_tags_of_the_file_are_plain_json(tmp_path: Path, field: Field) -> None:
    """The constants can be read without this package."""
    write_field(tmp_path / "a.tif", field)
    with rasterio.open(tmp_path / "a.tif") as file:
        constants = json.loads(file.tags()["constant_sources"])
    assert ["frame", "drift", 0.5] in constants


def test_the_value_alone_is_that_of_the_whole_field(tmp_path: Path, field: Field) -> None:
    write_field(tmp_path / "a.tif", field)
    np.testing.assert_array_equal(read_value(tmp_path / "a.tif"), read_field(tmp_path / "a.tif").value)
    with pytest.raises(FileError, match="no such file"):
        read_value(tmp_path / "b.tif")
