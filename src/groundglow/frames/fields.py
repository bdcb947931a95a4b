"""A measured field as one multi-band GeoTIFF: value, doubt, mask and every shared source of doubt.

Bands: 1 the value, 2 its independent standard uncertainty, 3 the mask, then one band for each shared
source that varies over the frame. A source that is the same for all pixels is kept as a tag. Band names
follow the CF conventions' standard name modifiers (``standard_error``, ``status_flag``).

The file is in pixel places: column to the right, row downwards, pixel centres at whole numbers.

References
----------
CF Conventions 1.11, appendix C (standard name modifiers) and section 3.5 (flags).
OGC GeoTIFF 1.1 (19-008r4).
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import FileError
from groundglow.frames.optional import require
from groundglow.model.doubt import Doubt
from groundglow.records.field import REASON_TEXT, Field

__all__ = ["UNCERTAINTY_BITS", "VALUE_STEP", "read_field", "read_value", "rounded_mantissa", "write_field"]

#: Values are rounded to this step (K or counts): 0.28 mK standard deviation, far below any camera's noise.
VALUE_STEP = 2.0**-10
#: Mantissa bits kept of uncertainties and sensitivities: 0.05 % of each.
UNCERTAINTY_BITS = 10
FORMAT = "groundglow field 1"
PROFILE = {
    "driver": "GTiff",
    "dtype": "float32",
    "compress": "zstd",
    "zstd_level": 1,
    "predictor": 3,
    "interleave": "band",
    "blockysize": 128,
}

Bands = list[tuple[str, NDArray[np.float32], dict[str, str]]]


def rounded_mantissa(values: ArrayLike, bits: int = UNCERTAINTY_BITS) -> NDArray[np.float32]:
    """Values as float32 rounded to so many bits of mantissa; zero, NaN and infinity stay.

    Relative error at most 2**-(bits + 1).

    Examples
    --------
    >>> float(rounded_mantissa([0.1], 10)[0])
    0.0999755859375
    """
    whole = np.array(values, dtype=np.float32, order="C", ndmin=1).view(np.uint32)
    cut = 23 - bits
    special = (whole & 0x7F800000) == 0x7F800000
    rounded = (whole + np.uint32(1 << (cut - 1))) & np.uint32(0xFFFFFFFF << cut & 0xFFFFFFFF)
    return np.where(special, whole, rounded).astype(np.uint32).view(np.float32)


def write_field(path: Path, field: Field, tags: Mapping[str, str] | None = None) -> None:
    """Write a field; the same field gives the same bytes.

    Parameters
    ----------
    path : Path
        Conventionally ``<stem>.tif``.
    field : Field
    tags : mapping of str to str, optional
        Further tags of the file, such as the frame's name.

    See Also
    --------
    read_field : reads it back, values to within half of `VALUE_STEP`, uncertainties to 0.05 %.
    """
    rasterio = require("rasterio", extra="geo")
    bands = [*_own_bands(field), *_source_bands(field.doubt)]
    rows, columns = field.value.shape
    size = {"width": columns, "height": rows, "count": len(bands), "transform": _pixel_places()}
    with rasterio.open(path, "w", **PROFILE, **size) as file:
        file.write(np.stack([values for _, values, _ in bands]))
        file.update_tags(**_file_tags(field), **(tags or {}))
        for index, (name, _, band_tags) in enumerate(bands, start=1):
            file.set_band_description(index, name)
            file.update_tags(index, **band_tags)
            file.set_band_unit(index, band_tags.get("units", ""))


def _pixel_places() -> Any:
    """Pixel centres at whole numbers; not the identity, so that no library takes it for absent."""
    return require("rasterio", extra="geo").Affine.translation(-0.5, -0.5)


def _own_bands(field: Field) -> Bands:
    flags = {
        "flag_values": " ".join(str(int(r)) for r in REASON_TEXT),
        "flag_meanings": " ".join(r.name.lower() for r in REASON_TEXT),
    }
    value = np.round(field.value / VALUE_STEP).astype(np.float32) * np.float32(VALUE_STEP)
    name = field.quantity
    return [
        (name, value, {"units": field.unit}),
        (f"{name} standard_error", rounded_mantissa(field.doubt.independent), {"units": field.unit}),
        (f"{name} status_flag", field.mask.astype(np.float32), flags),
    ]


def _sources(doubt: Doubt) -> Iterator[tuple[str, str, NDArray[np.floating]]]:
    for part in ("frame", "flight"):
        for name, values in getattr(doubt, part).items():
            yield part, name, np.asarray(values)


def _source_bands(doubt: Doubt) -> Bands:
    shape = np.shape(doubt.independent)
    return [
        (
            f"sensitivity {name}",
            np.broadcast_to(rounded_mantissa(values).reshape(values.shape), shape),
            {"shared_by": part, "source": name},
        )
        for part, name, values in _sources(doubt)
        if values.ndim
    ]


def _file_tags(field: Field) -> dict[str, str]:
    constants = [[part, name, float(values)] for part, name, values in _sources(field.doubt) if not values.ndim]
    order = {part: list(getattr(field.doubt, part)) for part in ("frame", "flight")}
    return {
        "format": FORMAT,
        "quantity": field.quantity,
        "units": field.unit,
        "value_step": repr(VALUE_STEP),
        "uncertainty_bits": str(UNCERTAINTY_BITS),
        "constant_sources": json.dumps(constants),
        "source_order": json.dumps(order),
    }


def read_field(path: Path) -> Field:
    """The field that `write_field` wrote.

    Raises
    ------
    FileError
        When the file is missing, broken or no field of ours.
    """
    with _opened(path) as file:
        tags, bands = file.tags(), file.read()
        band_tags = [file.tags(i) for i in range(1, file.count + 1)]
    return Field(bands[0], _doubt(tags, band_tags, bands), bands[2].astype(np.uint8), tags["quantity"], tags["units"])


def read_value(path: Path) -> NDArray[np.float32]:
    """The value alone of a field that `write_field` wrote, shape (rows, columns): a tenth of the work of all.

    Raises
    ------
    FileError
        As `read_field`.
    """
    with _opened(path) as file:
        return np.asarray(file.read(1))


@contextmanager
def _opened(path: Path) -> Iterator[Any]:
    rasterio = require("rasterio", extra="geo")
    if not path.is_file():
        raise FileError(path, "there is no such file", "Run the measuring step.")
    try:
        with rasterio.open(path) as file:
            if file.tags().get("format") != FORMAT:
                raise FileError(path, f'is no field of this version (expected "{FORMAT}")', "Measure again.")
            yield file
    except rasterio.errors.RasterioError as error:
        raise FileError(path, f"cannot be read ({error})", "Run the measuring step again.") from error


def _doubt(tags: dict[str, str], band_tags: list[dict[str, str]], bands: NDArray[np.float32]) -> Doubt:
    found: dict[tuple[str, str], NDArray[np.floating]] = {
        (part, name): np.asarray(value) for part, name, value in json.loads(tags["constant_sources"])
    }
    for own, values in zip(band_tags[3:], bands[3:], strict=True):
        found[own["shared_by"], own["source"]] = values
    order = json.loads(tags["source_order"])
    parts = {part: {name: found[part, name] for name in names} for part, names in order.items()}
    return Doubt(bands[1], frame=parts["frame"], flight=parts["flight"])
