"""A sheet of paper to draw plain charts on, with Pillow: text, bars, lines, axes with round numbers."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

__all__ = ["FLIGHT", "FRAME", "INK", "PAPER", "PIXEL", "SOFT", "Axis", "Colour", "Sheet", "round_down", "round_steps"]

Colour = tuple[int, int, int]
Point = tuple[float, float]

PAPER: Colour = (251, 248, 241)
INK: Colour = (32, 36, 40)
SOFT: Colour = (109, 104, 89)
RULE: Colour = (221, 214, 199)
#: Colours of what shares an error: the pixel, the frame, the flight; they differ in lightness as well.
PIXEL: Colour = (186, 160, 84)
FRAME: Colour = (150, 92, 64)
FLIGHT: Colour = (46, 74, 92)
#: Dots a unit of length: charts are drawn twice as fine as they are measured.
FINE = 2


@cache
def _font(size: float) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    return ImageFont.load_default(size * FINE)


def round_down(value: float) -> float:
    """The nearest 1, 2 or 5 times a power of ten that is not larger: the length of a scale bar.

    Examples
    --------
    >>> round_down(37.0), round_down(0.6)
    (20.0, 0.5)
    """
    power = 10.0 ** math.floor(math.log10(value))
    return float(max(f for f in (1, 2, 5) if f * power <= value * 1.0001) * power)


def round_steps(low: float, high: float, most: int = 6) -> list[float]:
    """Round numbers within a range, at most ``most`` or so, evenly spaced by 1, 2 or 5 times a power of ten.

    Examples
    --------
    >>> round_steps(0.3, 4.1, 5)
    [1.0, 2.0, 3.0, 4.0]
    """
    raw = max(high - low, 1e-12) / most
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * (1 - 1e-9))
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(k * step, 10) + 0.0 for k in range(first, last + 1)]


@dataclass(frozen=True)
class Axis:
    """Values ``low`` to ``high`` laid from ``start`` to ``end`` on the sheet; logarithmic if asked."""

    low: float
    high: float
    start: float
    end: float
    logarithmic: bool = False

    def at(self, value: float) -> float:
        """Place of a value."""
        a, b, x = (
            (math.log(self.low), math.log(self.high), math.log(value))
            if self.logarithmic
            else (self.low, self.high, value)
        )
        return self.start + (x - a) / (b - a) * (self.end - self.start)


class Sheet:
    """Paper of a width and height; places in units from its top left corner."""

    def __init__(self, width: int, height: int) -> None:
        self._image = Image.new("RGB", (width * FINE, height * FINE), PAPER)
        self._pen = ImageDraw.Draw(self._image)

    def text(self, at: Point, words: str, *, size: float = 14, colour: Colour = INK, anchor: str = "lm") -> None:
        """Words at a place; ``anchor`` as Pillow names it: l, m or r for the side, then a, m or s for the height."""
        place = (at[0] * FINE, at[1] * FINE)
        self._pen.text(place, words, fill=colour, font=_font(size), anchor=anchor)

    def width_of(self, words: str, size: float = 14) -> float:
        """Width that words take."""
        return self._pen.textlength(words, font=_font(size)) / FINE

    def box(self, corner: Point, opposite: Point, colour: Colour) -> None:
        """A filled rectangle."""
        (x1, y1), (x2, y2) = corner, opposite
        left, right, top, bottom = min(x1, x2), max(x1, x2), min(y1, y2), max(y1, y2)
        self._pen.rectangle((left * FINE, top * FINE, right * FINE - 1, bottom * FINE - 1), fill=colour)

    def line(self, points: Sequence[Point], *, colour: Colour = INK, width: float = 1.0, dash: float = 0.0) -> None:
        """A line through points, dashed if asked."""
        for piece in _dashes(points, dash) if dash else [list(points)]:
            flat = [(x * FINE, y * FINE) for x, y in piece]
            self._pen.line(flat, fill=colour, width=max(1, round(width * FINE)), joint="curve")

    def dot(self, at: Point, radius: float, colour: Colour) -> None:
        """A filled disc."""
        (x, y), r = at, radius
        self._pen.ellipse(((x - r) * FINE, (y - r) * FINE, (x + r) * FINE, (y + r) * FINE), fill=colour)

    def grey(self, corner: Point, opposite: Point, levels: NDArray[np.uint8]) -> None:
        """A picture of grey levels laid into a rectangle, its pixels as they are, without smoothing between them."""
        place = (round(corner[0] * FINE), round(corner[1] * FINE))
        size = (round(opposite[0] * FINE) - place[0], round(opposite[1] * FINE) - place[1])
        self._image.paste(Image.fromarray(levels).resize(size, Image.Resampling.NEAREST), place)

    def ticks_across(self, axis: Axis, ticks: Sequence[float], span: Point, *, form: str = "{:g}") -> None:
        """Numbers below and thin rules upwards at values of a horizontal axis; ``span`` is top and bottom."""
        top, bottom = span
        for value in ticks:
            x = axis.at(value)
            self.line([(x, top), (x, bottom)], colour=RULE)
            self.text((x, bottom + 6), form.format(value), size=13, colour=SOFT, anchor="ma")

    def ticks_up(self, axis: Axis, ticks: Sequence[float], span: Point, *, form: str = "{:g}") -> None:
        """Numbers left and thin rules to the right at values of a vertical axis; ``span`` is left and right."""
        left, right = span
        for value in ticks:
            y = axis.at(value)
            self.line([(left, y), (right, y)], colour=RULE)
            self.text((left - 8, y), form.format(value), size=13, colour=SOFT, anchor="rm")

    def png(self) -> bytes:
        """The sheet as a PNG file."""
        stream = io.BytesIO()
        self._image.save(stream, "PNG", optimize=True)
        return stream.getvalue()


def _dashes(points: Sequence[Point], dash: float) -> list[list[Point]]:
    """Pieces of equal length with equal gaps along a line."""
    pieces: list[list[Point]] = [[points[0]]]
    walked = 0.0
    for (x1, y1), (x2, y2) in pairwise(points):
        length = math.hypot(x2 - x1, y2 - y1)
        count = max(1, math.ceil(length / 1.5))
        for k in range(1, count + 1):
            here = (x1 + (x2 - x1) * k / count, y1 + (y2 - y1) * k / count)
            walked += length / count
            if int(walked / dash) % 2 == 0:
                pieces[-1].append(here)
            elif len(pieces[-1]) > 0:
                pieces.append([])
    return [p for p in pieces if len(p) > 1]
