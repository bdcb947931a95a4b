"""Natural unevenness: correlated noise on many scales, anchored to the ground."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.simulate.site.parts import Grid

__all__ = ["SCALES_M", "Texture", "grain", "make_texture", "sample"]

#: Wavelengths of the long, middle and fine unevenness, m.
SCALES_M: tuple[tuple[float, ...], ...] = ((16.0, 8.0, 4.0, 2.0), (1.5, 0.8, 0.5), (0.3, 0.2, 0.13))

Texture = tuple[Grid, NDArray[np.float32]]
_STEP = 0.0625


def _octave(rng: np.random.Generator, grid: Grid, wavelength: float) -> NDArray[np.float32]:
    """Noise whose lattice is half a wavelength wide, stretched over the grid."""
    lattice = 0.5 * wavelength / grid.step
    rows, columns = (int(np.ceil(n / lattice)) + 2 for n in grid.shape)
    small = rng.standard_normal((rows, columns), dtype=np.float32)
    large = cv2.resize(small, None, fx=lattice, fy=lattice, interpolation=cv2.INTER_CUBIC)
    return np.asarray(large[: grid.rows, : grid.columns])


def _layer(rng: np.random.Generator, grid: Grid, wavelengths: tuple[float, ...]) -> NDArray[np.float32]:
    total = np.zeros(grid.shape, dtype=np.float32)
    for wavelength in wavelengths:
        total += _octave(rng, grid, wavelength)
    return np.asarray((total - total.mean()) / total.std(), dtype=np.float32)


def make_texture(rng: np.random.Generator, bounds: tuple[float, float, float, float]) -> Texture:
    """Three layers of unit rms (long, middle, fine) over the whole site.

    Returns
    -------
    (Grid, ndarray float32, shape (3, rows, columns))

    Examples
    --------
    >>> grid, layers = make_texture(np.random.default_rng(1), (0.0, 0.0, 20.0, 20.0))
    >>> layers.shape, [round(float(x.std()), 3) for x in layers]
    ((3, 320, 320), [1.0, 1.0, 1.0])
    """
    grid = Grid.spanning(bounds, _STEP)
    return grid, np.stack([_layer(rng, grid, scale) for scale in SCALES_M])


def sample(texture: Texture, grid: Grid, layer: int) -> NDArray[np.float32]:
    """One layer of the texture as another grid's cells see it (cubic between lattice points)."""
    source, layers = texture
    ratio = grid.step / source.step
    first = source.cells(np.array(grid.place(0, 0)))
    matrix = np.array([[ratio, 0.0, first[0]], [0.0, ratio, first[1]]])
    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    size = (grid.columns, grid.rows)
    found = cv2.warpAffine(layers[layer], matrix, size, flags=flags, borderMode=cv2.BORDER_REFLECT)
    return np.asarray(found)


def grain(rng: np.random.Generator, grid: Grid, wavelength: float) -> NDArray[np.float32]:
    """Unit noise finer than the site's texture, a tile of some 10 m repeated, for a close look."""
    side = min(1024, max(grid.shape))
    tile = _layer(rng, Grid(0.0, 0.0, grid.step, side, side), (wavelength,))
    repeats = (-(-grid.rows // side), -(-grid.columns // side))
    return np.asarray(np.tile(tile, repeats)[: grid.rows, : grid.columns])
