"""What is known of pattern, level and slope of a flight, taken off frames, blocks and links."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.steps.register.large import LargeScale, polynomials, tie_names, unit_places
from groundglow.steps.register.link import Link
from groundglow.steps.register.overlap import overlap_difference
from groundglow.steps.register.settings import RegisterSettings

__all__ = ["Geometry", "relevelled", "scene_blocks", "whole_pattern"]

#: Links that are worked on at a time: memory stays bounded.
BATCH = 200


@dataclass(frozen=True)
class Geometry:
    """Shape of the flight's frames, number of each frame, settings."""

    shape: tuple[int, int]
    index: Mapping[str, int]
    settings: RegisterSettings

    @property
    def blocks(self) -> tuple[int, int]:
        """Shape of block means."""
        return self.shape[0] // self.settings.block_px, self.shape[1] // self.settings.block_px


def scene_blocks(
    blocks: Callable[[str], NDArray[np.float32]], large: LargeScale, geometry: Geometry
) -> Callable[[str], NDArray[np.float32]]:
    """A reader of block means with large-scale pattern, level and slope taken off."""
    places = unit_places(_block_places(geometry), geometry.shape)
    pattern = polynomials(places, geometry.settings.pattern_degree) @ large.coefficients

    def read(name: str) -> NDArray[np.float32]:
        i = geometry.index[name]
        known = pattern + large.levels[i] + places @ large.slopes[i]
        return np.asarray(blocks(name) - known.reshape(geometry.blocks), dtype=np.float32)

    return read


def _block_places(geometry: Geometry) -> NDArray[np.float64]:
    """Middle of each block in px of the frame, shape (n, 2)."""
    size, shape = geometry.settings.block_px, geometry.blocks
    row, column = (np.arange(n) * size + (size - 1) / 2.0 for n in shape)
    return np.stack([np.tile(column, shape[0]), np.repeat(row, shape[1])], axis=1)


def relevelled(links: Sequence[Link], large: LargeScale, middle: NDArray[np.float32], geometry: Geometry) -> list[Link]:
    """Links with pattern and slopes taken off their cells, and level differences from what is left.

    ``middle`` is the pattern of the middle scales on block means.
    """
    size = (geometry.settings.cell_blocks, geometry.settings.cell_blocks)
    smooth = cv2.blur(middle, size)
    batches = (links[i : i + BATCH] for i in range(0, len(links), BATCH))
    return [link for batch in batches for link in _batch(batch, large, smooth, geometry)]


def _batch(links: Sequence[Link], large: LargeScale, smooth: NDArray[np.float32], geometry: Geometry) -> Iterator[Link]:
    counts = [len(x.cells) for x in links]
    cells = np.concatenate([x.cells for x in links])
    a, b = (np.repeat([geometry.index[n] for n in names], counts) for names in tie_names(links))
    cells[:, 4] -= _known(a, cells[:, :2], large, smooth, geometry) - _known(b, cells[:, 2:4], large, smooth, geometry)
    for link, own in zip(links, np.split(cells, np.cumsum(counts)[:-1]), strict=True):
        difference, sd = overlap_difference(own[:, 4], own[:, 5])
        tie = replace(link.tie, level_difference=difference, level_difference_sd=sd)
        yield replace(link, tie=tie, cells=own)


def _known(
    frames: NDArray[np.intp],
    places: NDArray[np.float32],
    large: LargeScale,
    smooth: NDArray[np.float32],
    geometry: Geometry,
) -> NDArray[np.float64]:
    """Pattern and slope at places in px of frames, shape (n,)."""
    unit = unit_places(places.astype(np.float64), geometry.shape)
    pattern = polynomials(unit, geometry.settings.pattern_degree) @ large.coefficients
    slope = np.sum(unit * large.slopes[frames], axis=1)
    return np.asarray(pattern + slope + _sampled(smooth, places, geometry.settings.block_px))


def _sampled(blocks: NDArray[np.float32], places: NDArray[np.float32], size: int) -> NDArray[np.float64]:
    """Block means at places in px of the frame."""
    column, row = ((places[:, k] - np.float32((size - 1) / 2.0)) / np.float32(size) for k in (0, 1))
    sampled = cv2.remap(blocks, column[:, None], row[:, None], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(sampled[:, 0], dtype=np.float64)


def whole_pattern(
    fine: NDArray[np.float32], large: LargeScale, middle: NDArray[np.float32], geometry: Geometry
) -> NDArray[np.float32]:
    """All scales of the fixed pattern together on the pixels of the frame, mean zero."""
    rows, columns = fine.shape
    row, column = np.divmod(np.arange(rows * columns, dtype=np.float64), columns)
    places = unit_places(np.stack([column, row], axis=1), (rows, columns))
    smooth = polynomials(places, geometry.settings.pattern_degree) @ large.coefficients
    whole = fine + smooth.reshape(rows, columns) + _enlarged(middle, (rows, columns), geometry.settings.block_px)
    return np.asarray(whole - whole.mean(), dtype=np.float32)


def _enlarged(blocks: NDArray[np.float32], shape: tuple[int, int], size: int) -> NDArray[np.float32]:
    covered = (blocks.shape[1] * size, blocks.shape[0] * size)
    image = cv2.resize(blocks, covered, interpolation=cv2.INTER_LINEAR)
    missing = ((0, shape[0] - covered[1]), (0, shape[1] - covered[0]))
    return np.pad(image, missing, mode="edge")
