"""The solar field: rows of tilted tables, modules of cells under glass, boxes and soiling on them."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from groundglow.simulate.site.parts import Feature, Plane, Surface, rectangle

__all__ = [
    "CELL_M",
    "MODULES_A_ROW",
    "ROWS",
    "TILT_DEG",
    "cell_place",
    "field_bounds",
    "field_surfaces",
    "junction_box",
    "soiling",
]

#: Tables face due south.
TILT_DEG = 23.0
ROWS = 4
MODULES_A_ROW = 13
CELL_M = 0.182
_WIDTH, _LENGTH, _GAP = 1.12, 1.68, 0.07
_WEST, _SOUTH, _PITCH, _LOW = (-32.5, -16.0), 3.0, 6.6, 0.8
_RUN = math.cos(math.radians(TILT_DEG))
_RISE = math.tan(math.radians(TILT_DEG))


def field_bounds() -> tuple[float, float, float, float]:
    """West, south, east, north of all tables, m."""
    east = _WEST[-1] + MODULES_A_ROW * (_WIDTH + _GAP)
    north = _SOUTH + (ROWS - 1) * _PITCH + 2 * (_LENGTH + _GAP) * _RUN
    return _WEST[0], _SOUTH, east, north


def _plane(row: int) -> Plane:
    foot = _SOUTH + row * _PITCH
    return _LOW - _RISE * foot, 0.0, _RISE


def field_surfaces(rng: np.random.Generator) -> Iterator[Surface]:
    """Tables (their frames) and on each the modules, each a little warmer or cooler than the others."""
    for row in range(ROWS):
        for part, west in enumerate(_WEST):
            yield _table(row, part, west)
            for column in range(MODULES_A_ROW):
                for tier in range(2):
                    yield _module((row, part, column, tier), float(rng.normal(0.0, 0.35)))


def _table(row: int, part: int, west: float) -> Surface:
    foot = _SOUTH + row * _PITCH
    east = west + MODULES_A_ROW * (_WIDTH + _GAP)
    outline = rectangle(west, foot, east, foot + 2 * (_LENGTH + _GAP) * _RUN)
    return Surface(f"table {row}{part}", "frame", outline, plane=_plane(row), casts=True, floats=True, zone="field")


def _module(where: tuple[int, int, int, int], warmer: float) -> Surface:
    row, part, column, tier = where
    west = _WEST[part] + column * (_WIDTH + _GAP) + _GAP / 2
    south = _SOUTH + row * _PITCH + (tier * (_LENGTH + _GAP) + _GAP / 2) * _RUN
    outline = rectangle(west, south, west + _WIDTH, south + _LENGTH * _RUN)
    name = f"module {row}{part}-{column:02d}{'ab'[tier]}"
    return Surface(name, "module", outline, warmer, _plane(row), floats=True, zone="field")


def cell_place(module: Surface, across: int, up: int) -> tuple[float, float]:
    """Centre of a cell (0-5 across, 0-8 up) of a module, east and north in m."""
    west, south = module.outline.min(axis=0)
    margin = (_WIDTH - 6 * CELL_M) / 2, (_LENGTH - 9 * CELL_M) / 2
    east = west + margin[0] + (across + 0.5) * CELL_M
    return float(east), float(south + (margin[1] + (up + 0.5) * CELL_M) * _RUN)


def junction_box(module: Surface, kelvin: float) -> Feature:
    """A warm junction box showing through the upper edge of a module."""
    east, north = module.centre[0], float(module.outline[:, 1].max()) - 0.17 * _RUN
    return Feature(east, north, (0.16, 0.14 * _RUN), kelvin, form="square", edge=0.03)


def soiling(module: Surface, rng: np.random.Generator) -> Surface:
    """Dust and droppings on the lower edge of a module: another emissivity, a little warmer."""
    west, south = module.outline.min(axis=0)
    middle = west + rng.uniform(0.3, _WIDTH - 0.3), south + 0.17
    angle = np.linspace(0, 2 * np.pi, 14, endpoint=False)
    radius = rng.uniform(0.75, 1.1, angle.size)
    ring = np.stack([0.22 * np.cos(angle), 0.13 * np.sin(angle)], axis=1) * radius[:, None]
    return Surface(
        f"soiling on {module.name}", "soiled module", middle + ring, 1.0, module.plane, floats=True, zone="field"
    )


def cells_across(module: Surface) -> tuple[float, float, float]:
    """West edge, south edge and pitch of the cells along north, for the fine lines between cells."""
    east, north = cell_place(module, 0, 0)
    return east - CELL_M / 2, north - CELL_M / 2 * _RUN, CELL_M * _RUN
