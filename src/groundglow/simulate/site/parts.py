"""What a site is built of: surfaces with an outline, a height plane and a temperature; grids; features."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Feature", "Grid", "Outline", "Plane", "Site", "Surface", "rectangle"]

Outline = NDArray[np.float64]
#: Height of a surface over the local plane: ``a + b x + c y``, m.
Plane = tuple[float, float, float]


@dataclass(frozen=True)
class Grid:
    """A raster over the local plane: row 0 lies furthest south, column 0 furthest west.

    Examples
    --------
    >>> Grid(-1.0, -1.0, 0.5, 4, 4).place(0, 3)
    (0.75, -0.75)
    """

    west: float
    south: float
    step: float
    rows: int
    columns: int

    @classmethod
    def spanning(cls, bounds: tuple[float, float, float, float], step: float) -> Grid:
        """The grid of this step over ``(west, south, east, north)``."""
        west, south, east, north = bounds
        return cls(west, south, step, round((north - south) / step), round((east - west) / step))

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.rows, self.columns

    def place(self, row: float, column: float) -> tuple[float, float]:
        """East and north of a cell's centre, m."""
        return self.west + (column + 0.5) * self.step, self.south + (row + 0.5) * self.step

    def cells(self, outline: Outline) -> NDArray[np.float64]:
        """Fractional (column, row) of places given as (east, north)."""
        cells: NDArray[np.float64] = (np.asarray(outline) - np.array([self.west, self.south])) / self.step - 0.5
        return cells

    def window(self, outline: Outline, margin: float = 0.0) -> tuple[slice, slice]:
        """Rows and columns that hold an outline and a margin (m) around it, cut to the grid."""
        low = np.floor(self.cells(np.min(outline, axis=0) - margin)).astype(int)
        high = np.ceil(self.cells(np.max(outline, axis=0) + margin)).astype(int) + 1
        rows = slice(*np.clip((low[1], high[1]), 0, self.rows).tolist())
        return rows, slice(*np.clip((low[0], high[0]), 0, self.columns).tolist())

    def places(self, window: tuple[slice, slice]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """East (columns,) and north (rows,) of the cells of a window."""
        rows, columns = window
        east = self.west + (np.arange(columns.start, columns.stop) + 0.5) * self.step
        return east, self.south + (np.arange(rows.start, rows.stop) + 0.5) * self.step


@dataclass(frozen=True)
class Surface:
    """One surface of one kind, painted over what was painted before it.

    Parameters
    ----------
    name, kind : str
        ``kind`` is a key of `groundglow.simulate.site.kinds.KINDS`.
    outline : ndarray, shape (n, 2)
        Convex or concave polygon, east and north in m.
    warmer : float
        Departure of its mean temperature from its kind's, K.
    plane : tuple of 3 float
        Height ``a + b x + c y`` above the ground plane.
    casts : bool
        Throws a shadow.
    floats : bool
        One can look underneath (a table, a busbar); else its sides are walls down to the ground.
    zone : str
        The client's name for where it lies.
    """

    name: str
    kind: str
    outline: Outline
    warmer: float = 0.0
    plane: Plane = (0.0, 0.0, 0.0)
    casts: bool = False
    floats: bool = False
    zone: str = ""

    def height(self, east: float, north: float) -> float:
        """Height above the ground plane at a place, m."""
        return self.plane[0] + self.plane[1] * east + self.plane[2] * north

    @property
    def centre(self) -> tuple[float, float]:
        """Mean of its corners."""
        east, north = np.mean(self.outline, axis=0)
        return float(east), float(north)


@dataclass(frozen=True)
class Feature:
    """A soft-edged departure of temperature: a disc, a square (both by diameter) or a polygon.

    ``size`` is (east-west, north-south) in m as seen from above; ``edge`` the width of its edge, m;
    ``kelvin`` the departure at its centre.
    """

    east: float
    north: float
    size: tuple[float, float]
    kelvin: float
    form: str = "disc"
    edge: float = 0.02
    outline: Outline | None = None

    @property
    def box(self) -> Outline:
        """Its south-west and north-east corners."""
        if self.outline is not None:
            return np.stack([self.outline.min(axis=0), self.outline.max(axis=0)])
        east, north = self.size[0] / 2, self.size[1] / 2
        return np.array([[self.east - east, self.north - north], [self.east + east, self.north + north]])


@dataclass(frozen=True)
class Site:
    """All surfaces in the order of painting, the zones a client would draw, and added warmth."""

    surfaces: tuple[Surface, ...]
    zones: dict[str, tuple[str, Outline]]
    features: tuple[Feature, ...] = ()

    def named(self, kind: str) -> tuple[Surface, ...]:
        """All surfaces of a kind."""
        return tuple(s for s in self.surfaces if s.kind == kind)


def rectangle(west: float, south: float, east: float, north: float) -> Outline:
    """Corners of a rectangle, from south-west, counter-clockwise."""
    return np.array([[west, south], [east, south], [east, north], [west, north]])
