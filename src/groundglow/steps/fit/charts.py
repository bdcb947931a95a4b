"""Pixels on the target and the width of ground in the picture, by lens and distance, in the user's units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from groundglow.model.seeing import JOHNSON_CYCLES, critical_dimension, cycles_for_probability
from groundglow.paper.drawing import INK, PAPER, RULE, SOFT, Axis, Colour, Sheet
from groundglow.paper.measures import METRIC, Measures
from groundglow.records.fit import Ask
from groundglow.records.kit import Combination, Detector, Lens
from groundglow.steps.fit.evaluate import TASKS

__all__ = ["Optics", "geometry_chart", "needed_pixels", "optics_of", "pixels_on_target", "width_of_ground"]

Array = NDArray[np.float64]

WIDTH, HEIGHT, TOP, BOTTOM, SIDE, GAP, LABEL = 1180, 430, 84, 62, 62, 52, 122
#: Colours of lines: they differ in lightness too, and each line is named at its end.
COLOURS: Final[tuple[Colour, ...]] = (
    (46, 74, 92), (150, 92, 64), (104, 122, 70), (132, 88, 128), (186, 150, 64), (60, 128, 128), (110, 104, 100),
    (170, 74, 84),
)  # fmt: skip
#: Most lines in a chart.
MOST: Final = len(COLOURS)


@dataclass(frozen=True)
class Optics:
    """A lens before an array: what decides pixels and width."""

    detector: Detector
    lens: Lens

    @property
    def ifov(self) -> float:
        """Of a pixel, rad."""
        return self.detector.pitch / self.lens.focal_length

    @property
    def name(self) -> str:
        """Array and focal length."""
        return f"{self.detector.columns} px, {self.lens.focal_length * 1e3:.3g} mm"


def optics_of(combinations: Sequence[Combination]) -> tuple[Optics, ...]:
    """Arrays and lenses that differ in what they see, from the widest pixel to the narrowest; the first few.

    Those of the first combination are kept.
    """
    found: dict[tuple[int, float], Optics] = {}
    for kit in combinations:
        made = Optics(kit.camera.detector, kit.lens)
        found.setdefault((made.detector.columns, round(made.ifov, 9)), made)
    kept = list(found.values())[:MOST]
    return tuple(sorted(kept, key=lambda o: -o.ifov))


def pixels_on_target(optics: Optics, size: float, distance: Array) -> Array:
    """Pixels across a size square to the line of sight, by distance, m."""
    return np.asarray(size / (optics.ifov * distance))


def width_of_ground(optics: Optics, distance: Array) -> Array:
    """Long side of what is in the picture straight ahead, m."""
    return np.asarray(optics.detector.columns * optics.ifov * distance)


def needed_pixels(ask: Ask) -> Mapping[str, float]:
    """Pixels across the target that each task needs for the asked probability: two for each line pair."""
    return {task: 2.0 * float(cycles_for_probability(ask.probability, JOHNSON_CYCLES[task])) for task in TASKS}


def geometry_chart(ask: Ask, combinations: Sequence[Combination], measures: Measures = METRIC) -> bytes:
    """PNG of both charts side by side.

    Parameters
    ----------
    ask : Ask
        Target, task and limits of the stand-off.
    combinations : sequence of Combination
        Whose lenses are drawn, the most important first.
    measures : Measures

    Returns
    -------
    bytes
    """
    lenses = optics_of(combinations)
    far = max(1.6 * ask.highest, 1.3 * (ask.distance or 0.0))
    distance = np.geomspace(max(min(ask.nearest, 0.05 * far), 0.01 * far), far, 60)
    sheet = Sheet(WIDTH, HEIGHT)
    half = (WIDTH - GAP) / 2
    _pixels(sheet, ask, lenses, distance, measures)
    _ground(sheet, lenses, distance, (half + GAP + SIDE - 20, WIDTH - LABEL), measures)
    return sheet.png()


def _frame(sheet: Sheet, left: float, words: tuple[str, str], axis: Axis, measures: Measures) -> None:
    sheet.text((left - 46, 24), words[0], size=17)
    sheet.text((left - 46, 48), words[1], size=13, colour=SOFT)
    ticks = _decades(axis.low, axis.high)
    sheet.ticks_across(axis, ticks, (TOP, HEIGHT - BOTTOM))
    middle = 0.5 * (axis.start + axis.end)
    sheet.text((middle, HEIGHT - 18), f"distance, {measures.long}", size=13, colour=SOFT, anchor="mm")


def _decades(low: float, high: float) -> list[float]:
    """1, 2 and 5 times powers of ten within a logarithmic axis."""
    powers = range(int(np.floor(np.log10(low))), int(np.ceil(np.log10(high))) + 1)
    each = [round(m * 10.0**p, 10) for p in powers for m in (1, 2, 5)]
    return [v for v in each if low * 0.999 <= v <= high * 1.001]


def _pixels(sheet: Sheet, ask: Ask, lenses: Sequence[Optics], distance: Array, measures: Measures) -> None:
    """The left chart: critical dimension over what a pixel spans."""
    size = float(critical_dimension(*ask.target.sides(ask.view)))
    shown = np.array([measures.long_value(float(d)) for d in distance])
    across = Axis(float(shown[0]), float(shown[-1]), SIDE, (WIDTH - GAP) / 2 - LABEL + 30, logarithmic=True)
    curves = [pixels_on_target(o, size, distance) for o in lenses]
    needs = needed_pixels(ask)
    low = min(1.0, 0.8 * float(min(c.min() for c in curves)))
    high = max(1.5 * max(needs.values()), min(float(max(c.max() for c in curves)), 200.0))
    up = Axis(low, high, HEIGHT - BOTTOM, TOP, logarithmic=True)
    above = (
        f"{ask.target.name}, {measures.length(size)} across; dashed: for {100 * ask.probability:.0f} % in good contrast"
    )
    _frame(sheet, SIDE, ("Pixels on target", above), across, measures)
    sheet.ticks_up(up, _decades(low, high), (across.start, across.end))
    for pixels in needs.values():
        sheet.line([(across.start, up.at(pixels)), (across.end, up.at(pixels))], colour=SOFT, dash=7)
    _curves(sheet, (across, up), shown, curves, [o.name for o in lenses])
    for task, pixels in needs.items():
        _name_line(sheet, (across, up), task, pixels, curves)


def _name_line(sheet: Sheet, axes: tuple[Axis, Axis], task: str, pixels: float, curves: Sequence[Array]) -> None:
    """Name a dashed line at the end where the curves leave more room."""
    across, up = axes
    wide, y = sheet.width_of(task, 12) + 6, up.at(pixels)
    room = [min(abs(np.log(float(c[at]) / pixels)) for c in curves) for at in (5, -8)]  # a little inside of either end
    x = across.start + 5 if room[0] > room[1] else across.end - wide - 5
    sheet.box((x, y - 8), (x + wide, y + 8), PAPER)
    sheet.text((x + 3, y), task, size=12, colour=SOFT)


def _ground(
    sheet: Sheet, lenses: Sequence[Optics], distance: Array, span: tuple[float, float], measures: Measures
) -> None:
    """The right chart: the long side of the picture on the ground."""
    shown = np.array([measures.long_value(float(d)) for d in distance])
    across = Axis(float(shown[0]), float(shown[-1]), *span, logarithmic=True)
    curves = [np.array([measures.long_value(float(w)) for w in width_of_ground(o, distance)]) for o in lenses]
    low, high = float(min(c.min() for c in curves)), float(max(c.max() for c in curves))
    up = Axis(low, high, HEIGHT - BOTTOM, TOP, logarithmic=True)
    words = ("Ground in the picture", f"long side, {measures.long}, square to the line of sight")
    _frame(sheet, span[0], words, across, measures)
    sheet.ticks_up(up, _decades(low, high), (across.start, across.end))
    _curves(sheet, (across, up), shown, curves, [o.name for o in lenses])


def _curves(sheet: Sheet, axes: tuple[Axis, Axis], shown: Array, curves: Sequence[Array], names: Sequence[str]) -> None:
    """Lines, each named at its right end; names are pushed apart."""
    across, up = axes
    ends = []
    for k, curve in enumerate(curves):
        inside = (curve >= up.low) & (curve <= up.high)
        points = [(across.at(float(x)), up.at(float(y))) for x, y in zip(shown[inside], curve[inside], strict=True)]
        if len(points) > 1:
            sheet.line(points, colour=COLOURS[k % MOST], width=2)
            ends.append((points[-1], COLOURS[k % MOST], names[k]))
    for (place, colour, name), y in zip(*_apart(ends), strict=True):
        sheet.line([place, (place[0] + 8, y)], colour=colour)
        sheet.text((place[0] + 12, y), name, size=12, colour=colour)
    sheet.line([(across.start, up.start), (across.end, up.start)], colour=INK)
    sheet.line([(across.start, up.start), (across.start, up.end)], colour=RULE)


Ends = list[tuple[tuple[float, float], Colour, str]]


def _apart(ends: Ends, least: float = 15.0) -> tuple[Ends, list[float]]:
    """Line ends from above, and heights of their names, so far apart that they can be read."""
    ordered = sorted(ends, key=lambda end: end[0][1])
    heights = [end[0][1] for end in ordered]
    for k in range(1, len(heights)):
        heights[k] = max(heights[k], heights[k - 1] + least)
    over = (heights[-1] - (HEIGHT - BOTTOM - 6)) if heights else 0.0
    return ordered, [h - max(over, 0.0) for h in heights]
