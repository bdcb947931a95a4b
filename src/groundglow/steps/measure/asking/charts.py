"""The chart of a budget: what the doubt is made of, and what the reading would say with other inputs."""

from __future__ import annotations

import math

from groundglow.paper.drawing import (
    FLIGHT,
    FRAME,
    INK,
    PIXEL,
    SOFT,
    Axis,
    Colour,
    Sheet,
    round_steps,
)
from groundglow.steps.measure.asking.alternatives import Alternative
from groundglow.steps.measure.asking.explaining import BudgetLine, Explanation

__all__ = ["budget_chart"]

ZERO_CELSIUS = 273.15
WIDTH, MARGIN, LABELS, ROW = 900, 36, 330, 26
COLOURS = {"pixel": PIXEL, "frame": FRAME, "flight": FLIGHT}
#: Band of the 95 % interval.
BAND: Colour = (229, 226, 214)


def budget_chart(found: Explanation) -> bytes:
    """One reading explained, as a PNG file.

    Parameters
    ----------
    found : Explanation

    Returns
    -------
    bytes
    """
    others = [a for a in found.alternatives if math.isfinite(a.kelvin)]
    upper, lower = 128, 128 + ROW * len(found.lines) + 86
    sheet = Sheet(WIDTH, lower + ROW * len(others) + 72)
    _head(sheet, found)
    _bars(sheet, found.lines, upper)
    _others(sheet, found, others, lower)
    return sheet.png()


def _c(kelvin: float) -> str:
    return f"{kelvin - ZERO_CELSIUS:.1f} °C"


def _ends(found: Explanation) -> str:
    if math.isinf(found.low) or math.isinf(found.high):
        bounded = "below " + _c(found.high) if math.isfinite(found.high) else "above " + _c(found.low)
        return "95 % interval " + (bounded if math.isfinite(found.low) or math.isfinite(found.high) else "not bounded")
    return f"95 % interval {found.low - ZERO_CELSIUS:.1f} to {_c(found.high)}"


def _head(sheet: Sheet, found: Explanation) -> None:
    sheet.text((MARGIN, 34), "Why is my temperature wrong?", size=24)
    way = "" if found.trials.agree else " (by trials: first order does not hold)"
    shown = f"Camera shows {_c(found.apparent)}. Surface {_c(found.kelvin)}, {_ends(found)}{way}."
    sheet.text((MARGIN, 66), shown, size=15, colour=SOFT)


def _bars(sheet: Sheet, lines: tuple[BudgetLine, ...], top: float) -> None:
    """Contributions, K, by what shares them."""
    sheet.text((MARGIN, top - 24), "What the doubt is made of: K for one standard uncertainty of each input", size=15)
    most = max(abs(line.contribution) for line in lines) or 1.0
    axis = Axis(0.0, most, LABELS, WIDTH - MARGIN - 170)
    bottom = top + ROW * len(lines)
    sheet.ticks_across(axis, round_steps(0.0, most, 5), (top, bottom))
    for i, line in enumerate(lines):
        y = top + ROW * (i + 0.5)
        end = axis.at(abs(line.contribution))
        sheet.text((LABELS - 12, y), line.name, anchor="rm")
        sheet.box((LABELS, y - 7), (max(end, LABELS + 1), y + 7), COLOURS[line.part])
        words = f"{abs(line.contribution):.2f} K, {100 * line.share:.0f} %, {line.part}"
        sheet.text((end + 8, y), words, size=13, colour=SOFT)
    _legend(sheet, bottom + 40)


def _legend(sheet: Sheet, y: float) -> None:
    x = float(LABELS)
    for part, words in (("pixel", "new in each pixel"), ("frame", "shared by a frame"), ("flight", "by the flight")):
        sheet.box((x, y - 6), (x + 16, y + 6), COLOURS[part])
        sheet.text((x + 22, y), words, size=13, colour=SOFT)
        x += 40 + sheet.width_of(words, 13)


def _others(sheet: Sheet, found: Explanation, others: list[Alternative], top: float) -> None:
    """Where the reading would lie with other inputs, beside the interval it has."""
    top += 24
    sheet.text((MARGIN, top - 22), "What it would say with other inputs (band: the 95 % interval)", size=15)
    axis = _axis_of(found, others)
    bottom = top + ROW * len(others)
    low, high = (min(max(end, axis.low), axis.high) for end in (found.low, found.high))
    sheet.box((axis.at(low), top), (axis.at(high), bottom), BAND)
    ticks = round_steps(axis.low - ZERO_CELSIUS, axis.high - ZERO_CELSIUS, 6)
    celsius = Axis(axis.low - ZERO_CELSIUS, axis.high - ZERO_CELSIUS, axis.start, axis.end)
    sheet.ticks_across(celsius, ticks, (top, bottom), form="{:g} °C")
    middle = axis.at(found.kelvin)
    sheet.line([(middle, top), (middle, bottom)], width=1.5)
    for i, other in enumerate(others):
        y = top + ROW * (i + 0.5)
        sheet.text((LABELS - 12, y), other.words, anchor="rm")
        _other(sheet, axis, (found.kelvin, other), y)


def _axis_of(found: Explanation, others: list[Alternative]) -> Axis:
    values = [a.kelvin for a in others] + [v for v in (found.low, found.high, found.kelvin) if math.isfinite(v)]
    margin = 0.04 * (max(values) - min(values))
    return Axis(min(values) - margin, max(values) + margin, LABELS + 64, WIDTH - MARGIN - 70)


def _other(sheet: Sheet, axis: Axis, pair: tuple[float, Alternative], y: float) -> None:
    kelvin, other = pair
    x = axis.at(other.kelvin)
    sheet.line([(axis.at(kelvin), y), (x, y)], colour=SOFT, width=1.5)
    sheet.dot((x, y), 4.5, INK)
    right = other.kelvin >= kelvin
    words = f"{other.change:+.1f} K" if abs(other.change) >= 0.05 else "0.0 K"
    sheet.text((x + (9 if right else -9), y), words, size=13, colour=SOFT, anchor="lm" if right else "rm")
