"""Simulated views side by side: one grey scale for all with its legend, one scale bar, the probability under each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.model.band import Band
from groundglow.paper.drawing import INK, PAPER, SOFT, Sheet, round_down, round_steps
from groundglow.paper.measures import METRIC, Measures
from groundglow.steps.fit.telling import chance_words
from groundglow.steps.fit.views import Conditions, Look, View, Window, simulated_view

__all__ = ["GreyScale", "Tile", "common_scale", "grey_legend", "scale_bar", "shown_across", "tiles", "views_picture"]

Array = NDArray[np.float64]

#: Places on the sheet, in its units.
TILE, GAP, MARGIN, HEAD, LINE, LEGEND = (300, 225), 16, 24, 66, 20, 96
#: Where the scale ends, as shares of the pixels of all views that lie below and above.
_BELOW, _ABOVE = 0.5, 99.8


@dataclass(frozen=True)
class GreyScale:
    """Apparent temperatures, K, drawn black and white."""

    low: float
    high: float

    def levels(self, kelvin: Array) -> NDArray[np.uint8]:
        """Grey levels; what lies beyond the ends is drawn as the ends."""
        share = np.clip((kelvin - self.low) / (self.high - self.low), 0.0, 1.0)
        return np.asarray(np.round(255 * share), dtype=np.uint8)


@dataclass(frozen=True)
class Tile:
    """A view with what stands above and below it."""

    view: View
    title: str
    under: tuple[str, ...]


def common_scale(views: Sequence[View]) -> GreyScale:
    """One scale for all views: white is the warmest that the middle one of them shows, or the coldest black."""
    low = float(np.median([np.percentile(v.values, _BELOW) for v in views]))
    high = float(np.median([np.percentile(v.values, _ABOVE) for v in views]))
    lowest, highest = (float(f([f(v.values) for v in views])) for f in (np.min, np.max))
    spare = 0.05 * max(high - low, 0.2)
    return GreyScale(max(lowest, low - spare) - 0.01, min(highest, high + spare) + 0.01)


def tiles(
    conditions: Sequence[Conditions],
    looks: Sequence[Look],
    window: Window,
    bands: Sequence[Band],
    measures: Measures = METRIC,
) -> tuple[Tile, ...]:
    """The views of several kits of the same part of the same scene; one set of conditions and one band a look."""
    made = []
    for number, (condition, look, band) in enumerate(zip(conditions, looks, bands, strict=True)):
        view = simulated_view(condition, look, window, band=band, seed=number)
        title = look.label or look.combination.camera.name
        made.append(Tile(view, title, _under(look, view, measures)))
    return tuple(made)


def _under(look: Look, view: View, measures: Measures) -> tuple[str, ...]:
    from_where = f"{look.combination.lens.focal_length * 1e3:.3g} mm, from {measures.length(look.distance)}"
    moving = f", {measures.speed(look.speed)}" if look.speed else ", standing"
    chances = ", ".join(f"{task} {chance_words(chance)}" for task, chance in look.probability.items())
    lines = (f"{from_where}{moving}; pixel {measures.short_length(view.sampling)}", chances, measures.spoken(look.note))
    return tuple(line for line in lines if line)


def views_picture(made: Sequence[Tile], *, title: str, columns: int = 3, measures: Measures = METRIC) -> bytes:
    """PNG of the views on one grey scale.

    Parameters
    ----------
    made : sequence of Tile
    title : str
    columns : int
        Views in a row.
    measures : Measures

    Returns
    -------
    bytes
    """
    scale = common_scale([tile.view for tile in made])
    columns = min(columns, len(made))
    rows = math.ceil(len(made) / columns)
    caption = 24 + LINE * max(len(tile.under) for tile in made)
    wide, high = TILE[0] + GAP, 26 + TILE[1] + caption
    sheet = Sheet(2 * MARGIN + columns * wide - GAP + LEGEND, HEAD + rows * high + 22)
    sheet.text((MARGIN, 26), title[:1].upper() + title[1:], size=18)
    sheet.text((MARGIN, 49), "Simulated before anything flew: what the model expects, not a photograph.", colour=SOFT)
    for k, tile in enumerate(made):
        corner = (MARGIN + k % columns * wide, HEAD + 26 + k // columns * high)
        _draw(sheet, tile, corner, scale)
        scale_bar(sheet, corner, TILE, shown_across(tile.view), measures)
    right = MARGIN + columns * wide + 8
    grey_legend(sheet, (right, HEAD + 26), rows * high - 26 - caption, scale, measures)
    return sheet.png()


def _draw(sheet: Sheet, tile: Tile, corner: tuple[float, float], scale: GreyScale) -> None:
    x, y = corner
    sheet.text((x, y - 13), _short(sheet, tile.title, TILE[0]), size=14)
    sheet.grey(corner, (x + TILE[0], y + TILE[1]), scale.levels(tile.view.values))
    for n, line in enumerate(tile.under):
        size, colour = (13, SOFT) if n == 0 else (14, INK)
        sheet.text((x, y + TILE[1] + 15 + LINE * n), _short(sheet, line, TILE[0], size), size=size, colour=colour)


def _short(sheet: Sheet, words: str, room: float, size: float = 14) -> str:
    """Words that fit, cut with an ellipsis."""
    if sheet.width_of(words, size) <= room:
        return words
    while words and sheet.width_of(words + "…", size) > room:
        words = words[:-1]
    return words.rstrip(" ,") + "…"


def shown_across(view: View) -> float:
    """Width of what a view shows, m: whole pixels, and of very fine ones only so many as are worth drawing."""
    return float(view.values.shape[1] * view.sampling)


def scale_bar(
    sheet: Sheet, corner: tuple[float, float], size: tuple[float, float], across: float, measures: Measures
) -> None:
    """A bar of a round length in the lower left corner of a view of a size on the sheet, ``across`` m wide."""
    unit = size[0] / across / measures.long_value(1.0)
    length = round_down(max(0.3 * size[0], 40.0) / unit)
    x, y = corner[0] + 8, corner[1] + size[1] - 8
    words = f"{length:g} {measures.long}"
    sheet.box((x - 4, y - 22), (x + max(length * unit, sheet.width_of(words, 12)) + 5, y + 5), PAPER)
    sheet.text((x, y - 12), words, size=12)
    sheet.box((x, y - 2), (x + length * unit, y + 1), INK)


def grey_legend(sheet: Sheet, corner: tuple[float, float], height: float, scale: GreyScale, measures: Measures) -> None:
    """The ramp with numbers in the unit of temperature that is shown."""
    x, y = corner
    height = min(height, 260.0)
    ramp = np.linspace(255, 0, 256).astype(np.uint8)[:, None]
    sheet.grey((x, y), (x + 16, y + height), ramp)
    sheet.line([(x, y), (x + 16, y), (x + 16, y + height), (x, y + height), (x, y)], colour=SOFT)
    low, high = measures.warm_value(scale.low), measures.warm_value(scale.high)
    for value in round_steps(low, high, 6):
        at = y + height * (high - value) / (high - low)
        sheet.line([(x + 16, at), (x + 20, at)], colour=INK)
        sheet.text((x + 24, at), f"{value:g}", size=13)
    sheet.text((x, y + height + 16), measures.degree, size=13)
    sheet.text((x, y + height + 34), "apparent", size=12, colour=SOFT)
