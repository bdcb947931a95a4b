"""Pixels as bytes: a header in JSON, then arrays, each at a multiple of eight bytes."""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["MAGIC", "Named", "packed", "unpacked"]

MAGIC = b"GGF1"
STEP = 8


@dataclass(frozen=True)
class Named:
    """One array of a frame: true value = add + scale * stored."""

    name: str
    values: NDArray[Any]
    unit: str
    words: str
    scale: float = 1.0
    add: float = 0.0


def packed(header: Mapping[str, Any], arrays: Sequence[Named]) -> bytes:
    """Header and arrays, little endian.

    Examples
    --------
    >>> raw = packed({"frame": "a"}, [Named("mask", np.zeros((2, 3), np.uint8), "", "why")])
    >>> head, found = unpacked(raw)
    >>> raw[:4], head["rows"], found["mask"].shape
    (b'GGF1', 2, (2, 3))
    """
    parts = [_bytes(a.values) for a in arrays]
    starts = np.cumsum([0, *(len(p) + (-len(p)) % STEP for p in parts)])
    rows, columns = arrays[0].values.shape
    told = [
        {"name": a.name, "dtype": a.values.dtype.name, "offset": int(at), "bytes": len(p), "scale": a.scale,
         "add": a.add, "unit": a.unit, "words": a.words}
        for a, p, at in zip(arrays, parts, starts, strict=False)
    ]  # fmt: skip
    text = json.dumps({**header, "rows": rows, "columns": columns, "arrays": told}).encode()
    text += b" " * (-(len(MAGIC) + 4 + len(text)) % STEP)
    return MAGIC + struct.pack("<I", len(text)) + text + b"".join(p + b"\0" * (-len(p) % STEP) for p in parts)


def _bytes(values: NDArray[Any]) -> bytes:
    return np.ascontiguousarray(values, dtype=values.dtype.newbyteorder("<")).tobytes()


def unpacked(raw: bytes) -> tuple[dict[str, Any], dict[str, NDArray[Any]]]:
    """Header and arrays as stored, from what `packed` gave."""
    (length,) = struct.unpack("<I", raw[4:8])
    header: dict[str, Any] = json.loads(raw[8 : 8 + length])
    body = raw[8 + length :]
    shape = header["rows"], header["columns"]
    return header, {
        a["name"]: np.frombuffer(body[a["offset"] : a["offset"] + a["bytes"]], dtype=a["dtype"]).reshape(shape)
        for a in header["arrays"]
    }
