"""Which pixels are asked about: points, rectangles, discs, polygons and lines across one frame.

Text form, with a label of one's own in front if wanted: ``clamp=120,80``. A pixel place is column,row; pixel
centres are whole numbers, the first pixel is 0,0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError

__all__ = ["Region", "parse_region", "parse_regions", "ring_around"]

Kind = Literal["point", "rectangle", "disc", "polygon", "line"]
Places = NDArray[np.intp]

#: How each kind is written, for errors and help.
FORMS: dict[Kind, str] = {
    "point": "COLUMN,ROW",
    "rectangle": "LEFT,TOP,RIGHT,BOTTOM (right and bottom outside)",
    "disc": "COLUMN,ROW,RADIUS",
    "polygon": "C1,R1 C2,R2 C3,R3 ...",
    "line": "C1,R1:C2,R2",
}
LETTERS: dict[Kind, str] = {"point": "p", "rectangle": "r", "disc": "d", "polygon": "a", "line": "l"}


@dataclass(frozen=True)
class Region:
    """Pixels of a frame under one label.

    Parameters
    ----------
    label : str
    kind : str
        point, rectangle, disc, polygon or line.
    numbers : tuple of float
        As written.
    """

    label: str
    kind: Kind
    numbers: tuple[float, ...]

    def pixels(self, shape: tuple[int, int]) -> tuple[Places, Places]:
        """Rows and columns of its pixels, in order along a line.

        Raises
        ------
        InputError
            When it reaches out of the frame or holds no pixel.
        """
        rows, columns = _PIXELS[self.kind](self.numbers)
        if not len(rows):
            raise InputError(f"{self.label}: no pixel's centre lies in this {self.kind}. Make it larger.")
        outside = (rows < 0) | (rows >= shape[0]) | (columns < 0) | (columns >= shape[1])
        if outside.any():
            at = int(np.argmax(outside))
            raise InputError(
                f"{self.label}: pixel {columns[at]},{rows[at]} lies outside the frame; columns 0 to {shape[1] - 1}, "
                f"rows 0 to {shape[0] - 1}."
            )
        return rows, columns

    def width(self, shape: tuple[int, int]) -> float:
        """Shortest side of the region, px: diameter of the largest disc it could hold, roughly; 1 for a line."""
        if self.kind in ("point", "line"):
            return 1.0
        rows, columns = self.pixels(shape)
        box = float(min(np.ptp(rows), np.ptp(columns)) + 1)
        return min(box, float(np.sqrt(len(rows) * 4 / np.pi))) if self.kind == "polygon" else box

    def middle(self, shape: tuple[int, int]) -> tuple[float, float]:
        """Column and row of its centroid."""
        rows, columns = self.pixels(shape)
        return float(columns.mean()), float(rows.mean())


def _point(numbers: Sequence[float]) -> tuple[Places, Places]:
    column, row = np.rint(numbers).astype(np.intp)
    return np.array([row]), np.array([column])


def _rectangle(numbers: Sequence[float]) -> tuple[Places, Places]:
    left, top, right, bottom = np.rint(numbers).astype(np.intp)
    rows, columns = np.mgrid[top:bottom, left:right]
    return rows.ravel(), columns.ravel()


def _grid(low: Sequence[float], high: Sequence[float]) -> tuple[Places, Places]:
    """Rows and columns of all pixels in a box of (column, row) corners."""
    (left, top), (right, bottom) = np.floor(low).astype(int), np.ceil(high).astype(int)
    rows, columns = np.mgrid[top : bottom + 1, left : right + 1]
    return rows.ravel(), columns.ravel()


def _disc(numbers: Sequence[float]) -> tuple[Places, Places]:
    column, row, radius = numbers
    rows, columns = _grid((column - radius, row - radius), (column + radius, row + radius))
    inside = (columns - column) ** 2 + (rows - row) ** 2 <= radius**2
    return rows[inside], columns[inside]


def _polygon(numbers: Sequence[float]) -> tuple[Places, Places]:
    """Even-odd rule on pixel centres."""
    corners = np.reshape(numbers, (-1, 2))
    rows, columns = _grid(tuple(corners.min(axis=0)), tuple(corners.max(axis=0)))
    inside = np.zeros(rows.shape, dtype=bool)
    for (x1, y1), (x2, y2) in zip(corners, np.roll(corners, 1, axis=0), strict=True):
        crosses = (y1 > rows) != (y2 > rows)
        with np.errstate(divide="ignore", invalid="ignore"):
            left_of = columns < (x2 - x1) * (rows - y1) / (y2 - y1) + x1
        inside ^= crosses & left_of
    return rows[inside], columns[inside]


def _line(numbers: Sequence[float]) -> tuple[Places, Places]:
    """Nearest pixels at steps of one pixel along the longer axis, ends included."""
    c1, r1, c2, r2 = numbers
    count = int(np.ceil(max(abs(c2 - c1), abs(r2 - r1)))) + 1
    return np.rint(np.linspace(r1, r2, count)).astype(np.intp), np.rint(np.linspace(c1, c2, count)).astype(np.intp)


_PIXELS = {"point": _point, "rectangle": _rectangle, "disc": _disc, "polygon": _polygon, "line": _line}
_COUNTS = {"point": 2, "rectangle": 4, "disc": 3, "line": 4}


def parse_region(kind: Kind, text: str, number: int = 1) -> Region:
    """A region from its text; without a label it is named by its kind's letter and ``number``.

    Raises
    ------
    InputError
        When it is not written as its kind asks.

    Examples
    --------
    >>> parse_region("disc", "clamp=120,80,4").label, parse_region("point", "3,4", 2).label
    ('clamp', 'p2')
    >>> parse_region("disc", "120,80")
    Traceback (most recent call last):
    groundglow.errors.InputError: disc '120,80' is not written as COLUMN,ROW,RADIUS (3 numbers, found 2).
    """
    head, equals, tail = text.partition("=")
    body = tail if equals else head
    try:
        numbers = tuple(float(part) for part in body.replace(":", " ").replace(",", " ").split())
    except ValueError:
        raise InputError(f"{kind} {text!r} is not written as {FORMS[kind]}: a part is no number.") from None
    _check(kind, text, numbers)
    return Region(head.strip() if equals and head.strip() else f"{LETTERS[kind]}{number}", kind, numbers)


def _check(kind: Kind, text: str, numbers: tuple[float, ...]) -> None:
    asked = _COUNTS.get(kind)
    if asked is not None and len(numbers) != asked:
        raise InputError(f"{kind} {text!r} is not written as {FORMS[kind]} ({asked} numbers, found {len(numbers)}).")
    if kind == "polygon" and (len(numbers) < 6 or len(numbers) % 2):
        raise InputError(f"polygon {text!r} needs three corners or more: {FORMS[kind]}.")
    if not np.isfinite(numbers).all():
        raise InputError(f"{kind} {text!r} holds a number that is not finite.")


def parse_regions(asked: Sequence[tuple[Kind, Sequence[str]]]) -> tuple[Region, ...]:
    """All regions asked for, in order; labels have to differ.

    Raises
    ------
    InputError
        When two have one label.

    Examples
    --------
    >>> [r.label for r in parse_regions([("point", ["1,2", "3,4"]), ("disc", ["hub=9,9,2"])])]
    ['p1', 'p2', 'hub']
    """
    found = [parse_region(kind, text, i) for kind, texts in asked for i, text in enumerate(texts, start=1)]
    labels = [region.label for region in found]
    twice = sorted({label for label in labels if labels.count(label) > 1})
    if twice:
        raise InputError(f"The label {', '.join(twice)} is given twice. Give each region its own: label=...")
    return tuple(found)


def ring_around(
    middle: tuple[float, float], radii: tuple[float, float], shape: tuple[int, int]
) -> tuple[Places, Places]:
    """Rows and columns of the pixels of the frame between two distances from a place, px.

    Examples
    --------
    >>> len(ring_around((5.0, 5.0), (1.5, 2.5), (11, 11))[0])
    12
    """
    column, row = middle
    rows, columns = _grid((column - radii[1], row - radii[1]), (column + radii[1], row + radii[1]))
    away = np.hypot(columns - column, rows - row)
    kept = (away >= radii[0]) & (away <= radii[1])
    kept &= (rows >= 0) & (rows < shape[0]) & (columns >= 0) & (columns < shape[1])
    return rows[kept], columns[kept]
