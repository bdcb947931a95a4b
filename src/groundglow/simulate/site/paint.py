"""Painting a site on a grid: which surface lies in each cell and how warm it is."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.simulate.site.field import CELL_M, cells_across
from groundglow.simulate.site.kinds import KINDS
from groundglow.simulate.site.parts import Feature, Grid, Outline, Site
from groundglow.simulate.site.shade import shadows
from groundglow.simulate.site.texture import Texture, grain, sample

__all__ = ["Scene", "paint_scene", "stamp"]

_FREEZING = 273.15
#: Grids finer than this show the lines between cells and grain below the site's texture, m.
_CLOSE_STEP = 0.012
#: Levels that receive shadows: (height, lowest and highest mean height of the surfaces concerned), m. A level is
#: not lower than what receives there: a tank does not shade its own top.
_LEVELS = ((0.0, -1.0, 0.5), (1.5, 0.5, 1.85), (2.2, 1.85, 2.5), (3.5, 3.45, 3.55))


@dataclass(frozen=True)
class Scene:
    """A painted site.

    Parameters
    ----------
    grid : Grid
    index : ndarray uint16, shape (rows, columns)
        Number of the surface in ``site.surfaces``.
    temperature : ndarray float32, shape (rows, columns)
        Of the surface, K, without any fault.
    """

    site: Site
    grid: Grid
    index: NDArray[np.uint16]
    temperature: NDArray[np.float32]


def paint_scene(site: Site, grid: Grid, texture: Texture, rng: np.random.Generator) -> Scene:
    """Index and temperature of every cell; only the grain of a close grid uses ``rng``."""
    index = np.zeros(grid.shape, dtype=np.uint16)
    for number, surface in enumerate(site.surfaces):
        _fill(index, grid, surface.outline, number)
    temperature = _warmth(site, index)
    weights = np.array([KINDS[s.kind].texture_k for s in site.surfaces], dtype=np.float32)
    for layer in range(3):
        temperature += weights[:, layer][index] * sample(texture, grid, layer)
    if grid.step < _CLOSE_STEP:
        temperature += 0.5 * weights[:, 2][index] * grain(rng, grid, 0.06)
        _draw_cells(temperature, site, grid)
    _shade(temperature, site, grid, index)
    for feature in site.features:
        stamp(temperature, grid, feature)
    return Scene(site, grid, index, temperature)


def _warmth(site: Site, index: NDArray[np.uint16]) -> NDArray[np.float32]:
    mean = [KINDS[s.kind].celsius + s.warmer + _FREEZING for s in site.surfaces]
    return np.asarray(np.array(mean, dtype=np.float32)[index])


def _fill(raster: NDArray[np.generic], grid: Grid, outline: Outline, value: float) -> None:
    """Cells whose centres lie in a rectangle; other polygons as OpenCV draws them."""
    cells = grid.cells(outline)
    if len(outline) == 4 and len(np.unique(outline[:, 0])) == 2 == len(np.unique(outline[:, 1])):
        low = np.maximum(np.ceil(cells.min(axis=0)), 0).astype(int)
        high = np.maximum(np.ceil(cells.max(axis=0)), 0).astype(int)
        raster[low[1] : high[1], low[0] : high[0]] = value
        return
    points = np.round(cells * 16).astype(np.int32)
    cv2.fillPoly(raster, [points], color=value, shift=4)


def _shade(temperature: NDArray[np.float32], site: Site, grid: Grid, index: NDArray[np.uint16]) -> None:
    heights = np.array([s.height(*s.centre) for s in site.surfaces])
    loss = np.array([KINDS[s.kind].shade_k for s in site.surfaces], dtype=np.float32)
    for level, low, high in _LEVELS:
        dark = np.zeros(grid.shape, dtype=np.uint8)
        for outline in shadows(site, level).values():
            _fill(dark, grid, outline, 255)
        receives = np.where((heights > low) & (heights < high), loss / 255, 0.0).astype(np.float32)
        for rows in _strips(dark):
            soft = cv2.GaussianBlur(dark[rows], (0, 0), max(0.04 / grid.step, 0.5))
            temperature[rows] += receives[index[rows]] * soft


def _strips(mask: NDArray[np.uint8]) -> list[slice]:
    """Row ranges, padded, in which the mask holds anything: most of a site lies in the sun."""
    used = np.flatnonzero(mask.any(axis=1))
    return [] if used.size == 0 else [slice(max(int(used[0]) - 20, 0), int(used[-1]) + 21)]


def _draw_cells(temperature: NDArray[np.float32], site: Site, grid: Grid) -> None:
    """The gaps between cells, 8 mm wide and a little cooler."""
    for module in site.named("module"):
        rows, columns = grid.window(module.outline)
        east, north = grid.places((rows, columns))
        if not (east.size and north.size):
            continue
        west, south, up = cells_across(module)
        lines = _gap(east, west, CELL_M)[None, :] + _gap(north, south, up)[:, None]
        temperature[rows, columns] -= np.minimum(lines, 1).astype(np.float32) * 0.35


def _gap(place: NDArray[np.float64], first: float, pitch: float) -> NDArray[np.float64]:
    return (np.abs((place - first + pitch / 2) % pitch - pitch / 2) < 0.004).astype(float)


def stamp(temperature: NDArray[np.float32], grid: Grid, feature: Feature) -> tuple[slice, slice]:
    """Add a feature to a temperature raster in place; returns the window that changed."""
    window = grid.window(feature.box, margin=4 * feature.edge)
    if not temperature[window].size:
        return window
    temperature[window] += (feature.kelvin * _shape(grid, feature, window)).astype(np.float32)
    return window


def _shape(grid: Grid, feature: Feature, window: tuple[slice, slice]) -> NDArray[np.float64]:
    """0..1 over a window: one within the feature, a soft step at its edge."""
    east, north = grid.places(window)
    if feature.outline is not None:
        mask = np.zeros((north.size, east.size), dtype=np.float32)
        corner = Grid(
            grid.west + window[1].start * grid.step, grid.south + window[0].start * grid.step, grid.step, 0, 0
        )
        _fill(mask, corner, feature.outline, 1.0)
        return np.asarray(cv2.GaussianBlur(mask, (0, 0), max(feature.edge / grid.step, 0.3)), dtype=np.float64)
    across, up = (east - feature.east)[None, :], (north - feature.north)[:, None]
    half = np.array(feature.size) / 2
    if feature.form == "square":
        inside = np.minimum(half[0] - np.abs(across), half[1] - np.abs(up))
    else:
        inside = half.min() * (1 - np.hypot(across / half[0], up / half[1]))
    return np.asarray(np.clip(0.5 + inside / feature.edge, 0, 1))
