"""How much two frames differ where they show the same ground."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["Cells", "cell_table", "overlap_difference", "reduced_homography", "warped_difference"]

#: Cells (n, 6) float32: column and row in a, column and row in b (px of the frames, mean of the cell's pixels),
#: median of a - b, share of the cell that both frames show.
Cells = NDArray[np.float32]
#: A cell counts when both frames show at least this share of it.
LEAST_SHARE = 0.3


@njit(cache=True)
def warped_difference(
    a: NDArray[np.float32], b: NDArray[np.float32], homography: NDArray[np.float64]
) -> NDArray[np.float32]:
    """a less b, with b sampled where the homography takes each pixel of a; NaN outside and at gaps.

    Sampling is bilinear. Both images have one shape; pixel centres are whole numbers.
    """
    rows, columns = a.shape
    out = np.full((rows, columns), np.nan, dtype=np.float32)
    for row in range(rows):
        for column in range(columns):
            w = homography[2, 0] * column + homography[2, 1] * row + homography[2, 2]
            if w <= 0.0:
                continue
            x = (homography[0, 0] * column + homography[0, 1] * row + homography[0, 2]) / w
            y = (homography[1, 0] * column + homography[1, 1] * row + homography[1, 2]) / w
            if x < 0.0 or y < 0.0 or x > columns - 1 or y > rows - 1:
                continue
            left, top = min(int(x), columns - 2), min(int(y), rows - 2)
            u, v = np.float32(x - left), np.float32(y - top)
            upper = b[top, left] * (1 - u) + b[top, left + 1] * u
            lower = b[top + 1, left] * (1 - u) + b[top + 1, left + 1] * u
            out[row, column] = a[row, column] - (upper * (1 - v) + lower * v)
    return out


def _cell_medians(
    difference: NDArray[np.float32], homography: NDArray[np.float64], size: int, least: float
) -> NDArray[np.float64]:
    """Per square cell: mean column and row, the same in b, median difference, share of pixels known.

    Not compiled: there are some hundred cells a pair, and compiling a median takes longer than a flight's pairs.
    """
    cells = _in_cells(difference, size)
    known = np.isfinite(cells)
    count = known.sum(axis=1)
    enough = count >= max(least * size * size, 1.0)
    cells, known, count = cells[enough], known[enough], count[enough]
    rows, columns = difference.shape
    row, column = np.broadcast_arrays(np.arange(rows, dtype=np.float32)[:, None], np.arange(columns, dtype=np.float32))
    places = (_in_cells(place, size)[enough] for place in (column, row))
    x, y = (np.sum(place, axis=1, where=known, dtype=np.float64) / count for place in places)
    there = np.stack([x, y, np.ones(x.size)], axis=1) @ homography.T
    return np.column_stack([x, y, there[:, :2] / there[:, 2:], _medians(cells, count), count / (size * size)])


def _in_cells(image: NDArray[np.float32], size: int) -> NDArray[np.float32]:
    """Pixels of each square cell, row by row of cells: shape (cells, size * size); NaN beyond the image."""
    rows, columns = ((n + size - 1) // size for n in image.shape)
    whole = np.full((rows * size, columns * size), np.nan, dtype=np.float32)
    whole[: image.shape[0], : image.shape[1]] = image
    return np.ascontiguousarray(whole.reshape(rows, size, columns, size).swapaxes(1, 2)).reshape(-1, size * size)


def _medians(cells: NDArray[np.float32], count: NDArray[np.intp]) -> NDArray[np.float64]:
    """Median of the ``count`` numbers of each row; what is not a number sorts to the end."""
    ordered, row = np.sort(cells, axis=1), np.arange(len(cells))
    return 0.5 * (ordered[row, (count - 1) // 2].astype(np.float64) + ordered[row, count // 2])


def reduced_homography(homography: NDArray[np.float64], block: int) -> NDArray[np.float64]:
    """A homography between frames turned into one between their block means.

    Examples
    --------
    >>> reduced_homography(np.array([[1.0, 0, 8], [0, 1, 4], [0, 0, 1]]), 4)[:2, 2]
    array([2., 1.])
    """
    shift = (1.0 / block - 1.0) / 2.0
    down = np.array([[1.0 / block, 0.0, shift], [0.0, 1.0 / block, shift], [0.0, 0.0, 1.0]])
    reduced = down @ homography @ np.linalg.inv(down)
    return np.ascontiguousarray(reduced / reduced[2, 2])


def cell_table(
    a: NDArray[np.float32], b: NDArray[np.float32], homography: NDArray[np.float64], *, block: int, size: int
) -> tuple[Cells, float]:
    """Differences of two frames in cells of their overlap, and the overlap as a share of a.

    Parameters
    ----------
    a, b : ndarray float32
        Block means of one shape, NaN at gaps.
    homography : ndarray, shape (3, 3)
        From a to b in px of the frames.
    block : int
        Pixels along the side of a block.
    size : int
        Blocks along the side of a cell.

    Returns
    -------
    cells : ndarray float32, shape (n, 6)
        See `Cells`.
    overlap : float
        Share of a that b shows as well.
    """
    reduced = reduced_homography(homography, block)
    difference = warped_difference(a, b, reduced)
    table = _cell_medians(difference, reduced, size, LEAST_SHARE)
    table[:, :4] = table[:, :4] * block + (block - 1) / 2.0
    return table.astype(np.float32), float(np.isfinite(difference).mean())


def overlap_difference(difference: NDArray[np.float32], share: NDArray[np.float32]) -> tuple[float, float]:
    """Median difference over the cells of an overlap and its standard uncertainty.

    Parameters
    ----------
    difference : ndarray, shape (n,)
        Of the cells.
    share : ndarray, shape (n,)
        Their weights: the share of each cell that both frames show.

    Returns
    -------
    median, standard_uncertainty : float
        NaN for no cell. The uncertainty is that of the median of n independent cells, 1.25 s / sqrt(n) with s
        from the median absolute deviation.

    Examples
    --------
    >>> overlap_difference(np.array([1.0, 2.0, 30.0], np.float32), np.ones(3, np.float32))[0]
    2.0
    """
    if len(difference) == 0:
        return float("nan"), float("nan")
    order = np.argsort(difference, kind="stable")
    reached = np.cumsum(share[order], dtype=np.float64)
    median = float(difference[order][np.searchsorted(reached, reached[-1] / 2.0)])
    spread = 1.4826 * float(np.median(np.abs(difference - median)))
    return median, 1.2533 * spread / float(np.sqrt(len(difference)))
