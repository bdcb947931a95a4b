"""What is kept of a frame for tying it to others: its features, and its values as means of small blocks."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FrameError
from groundglow.steps.register.features import Features, describe
from groundglow.steps.register.fine import Load
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["Description", "block_means", "describe_frame", "read_description", "write_description"]


@dataclass(frozen=True)
class Description:
    """One frame, small enough to hand around.

    Parameters
    ----------
    name : str
    shape : tuple of int
        Rows and columns of the frame.
    features : Features
    blocks : ndarray float32, shape (rows // block_px, columns // block_px)
        Means of square blocks, fine pattern removed, unit of the values; NaN where half a block or more is
        unusable.
    block_px : int
    """

    name: str
    shape: tuple[int, int]
    features: Features
    blocks: NDArray[np.float32]
    block_px: int


def describe_frame(
    name: str, load: Load, fine: NDArray[np.float32], settings: RegisterSettings | None = None
) -> Description:
    """Features and block means of one frame.

    Parameters
    ----------
    name : str
    load : callable
        See `estimate_fine_pattern`.
    fine : ndarray float32, shape (rows, columns)
        The flight's fine pattern.
    settings : RegisterSettings, optional

    Raises
    ------
    FrameError
        When the frame has not the shape of the pattern, or no usable pixel.
    """
    settings = settings or RegisterSettings()
    values, mask = load(name)
    if values.shape != fine.shape:
        raise FrameError(f"{name}: {values.shape} is not the shape of the fixed pattern {fine.shape}")
    usable = (mask == 0) & np.isfinite(values)
    if not usable.any():
        raise FrameError(f"{name}: no usable pixel")
    clean = (values - fine).astype(np.float32)
    features = describe(clean, usable, settings.features)
    blocks = block_means(clean, usable, settings.block_px)
    return Description(name, (values.shape[0], values.shape[1]), features, blocks, settings.block_px)


def block_means(values: NDArray[np.float32], usable: NDArray[np.bool_], size: int) -> NDArray[np.float32]:
    """Means of square blocks over usable pixels; rows and columns left over at the end are dropped.

    Examples
    --------
    >>> block_means(np.arange(16, dtype=np.float32).reshape(4, 4), np.ones((4, 4), bool), 2)
    array([[ 2.5,  4.5],
           [10.5, 12.5]], dtype=float32)
    """
    count = _block_sums(usable.astype(np.float64), size)
    total = _block_sums(np.where(usable, values, 0.0).astype(np.float64), size)
    enough = count > size * size / 2
    return np.where(enough, total / np.maximum(count, 1.0), np.nan).astype(np.float32)


def _block_sums(values: NDArray[np.float64], size: int) -> NDArray[np.float64]:
    rows, columns = (n // size for n in values.shape)
    cut = values[: rows * size, : columns * size]
    return np.asarray(cut.reshape(rows, size, columns, size).sum(axis=(1, 3)))


def write_description(path: Path, description: Description) -> None:
    """Write a description as a NumPy archive; equal descriptions give equal bytes."""
    with path.open("wb") as file:
        np.savez(
            file,
            name=np.array(description.name),
            shape=np.array(description.shape),
            places=description.features.places,
            descriptors=description.features.descriptors,
            blocks=description.blocks,
            block_px=np.array(description.block_px),
        )


def read_description(path: Path) -> Description:
    """The description that `write_description` wrote."""
    with np.load(path) as raw:
        features = Features(raw["places"], raw["descriptors"])
        rows, columns = (int(n) for n in raw["shape"])
        return Description(str(raw["name"]), (rows, columns), features, raw["blocks"], int(raw["block_px"]))
