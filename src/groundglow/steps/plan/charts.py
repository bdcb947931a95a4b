"""The day as a picture: temperatures of both surfaces and the air, contrast with its interval, windows shaded."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from groundglow.paper.drawing import FLIGHT, FRAME, INK, PIXEL, SOFT, Axis, Colour, Sheet, round_steps
from groundglow.steps.plan.asking import WindowAnswer
from groundglow.steps.plan.when import Day
from groundglow.steps.plan.windows import Window

__all__ = ["clock", "day_chart", "local_date", "open_span"]

Array = NDArray[np.float64]
WIDTH, HEIGHT, LEFT, RIGHT = 520, 540, 48, 92
UPPER, LOWER = (94.0, 254.0), (332.0, 486.0)
#: Shade of open windows, light so that lines stay clear; and of the bar that marks the night.
OPEN: Final[Colour] = (221, 233, 214)
NIGHT: Final[Colour] = (120, 118, 122)
_ZERO_C: Final = 273.15


def clock(time: float, offset: float) -> str:
    """Hour and minute of local time.

    Examples
    --------
    >>> clock(3600.0, 7200.0)
    '03:00'
    """
    return datetime.fromtimestamp(round((time + offset) / 60.0) * 60.0, UTC).strftime("%H:%M")


def open_span(window: Window, day: Day, offset: float) -> str:
    """When a window is open, in local time; one that the day's ends cut is told from or until.

    A day that is drawn starts where it ends: what is open at both ends is open through the night.
    """
    first, last = float(day.time[0]), float(day.time[-1])
    if window.end > last:
        return f"{clock(window.start, offset)} to {clock(window.end, offset)}, through the night"
    begins, ends = window.start <= first, window.end >= last
    if begins and ends:
        return "all day"
    if begins:
        return f"until {clock(window.end, offset)}"
    if ends:
        return f"from {clock(window.start, offset)}"
    return f"{clock(window.start, offset)} to {clock(window.end, offset)}"


def local_date(found: WindowAnswer) -> str:
    """Date at noon of the day, local time."""
    noon = float(found.day.time[0]) + found.ask.offset + 43200.0
    return datetime.fromtimestamp(noon, UTC).strftime("%Y-%m-%d")


def day_chart(found: WindowAnswer) -> bytes:
    """PNG of the day; the same answer gives the same bytes."""
    day, sheet = found.day, Sheet(WIDTH, HEIGHT)
    across = Axis(float(day.time[0]), float(day.time[-1]), LEFT, WIDTH - RIGHT)
    _shade(sheet, found, across)
    sheet.text((LEFT - 36, 22), f"The day of {found.ask.pair.name}", size=17)
    date = local_date(found)
    hours = found.ask.offset / 3600.0
    sheet.text(
        (LEFT - 36, 44), f"{date}, UTC{hours:+g} h; green: open windows; grey bar: sun down", size=13, colour=SOFT
    )
    sides = [
        ("target", day.target, FRAME),
        ("surroundings", day.background, FLIGHT),
        ("air", day.series["air_temperature"], PIXEL),
    ]
    _panel(sheet, across, UPPER, [(n, v - _ZERO_C, c) for n, v, c in sides], "°C at the surface")
    low, high = day.interval
    _contrast(sheet, across, (low, high), found)
    for panel in (UPPER, LOWER):
        _hours(sheet, across, panel, found.ask.offset)
    sheet.text((0.5 * (across.start + across.end), HEIGHT - 16), "local time, h", size=13, colour=SOFT, anchor="mm")
    return sheet.png()


def _shade(sheet: Sheet, found: WindowAnswer, across: Axis) -> None:
    day = found.day
    step = float(day.time[1] - day.time[0])
    for top, bottom in (UPPER, LOWER):
        for time, sun in zip(day.time[:-1].tolist(), day.sun[:-1].tolist(), strict=True):
            if sun < 0:
                sheet.box((across.at(time), top - 9), (across.at(time + step) + 0.5, top), NIGHT)
        for window in found.windows.windows:
            for start, end in _parts(window, across):
                sheet.box((across.at(start), top), (across.at(end), bottom), OPEN)
    for window in found.windows.windows:
        start, end = max(_parts(window, across), key=lambda part: part[1] - part[0])
        middle = across.at(0.5 * (start + end))
        sheet.text((middle, UPPER[1] + 33), f"window {window.rank}", size=12, colour=SOFT, anchor="mm")


def _parts(window: Window, across: Axis) -> list[tuple[float, float]]:
    """Where a window lies in the day that is drawn: in two parts when it runs through its end."""
    over = window.end - across.high
    if over <= 0:
        return [(window.start, window.end)]
    return [(window.start, across.high), (across.low, across.low + over)]


def _hours(sheet: Sheet, across: Axis, panel: tuple[float, float], offset: float) -> None:
    first = np.ceil((across.low + offset) / 10800.0) * 10800.0 - offset
    for time in np.arange(first, across.high + 1.0, 10800.0).tolist():
        x = across.at(time)
        sheet.line([(x, panel[1]), (x, panel[1] + 4)], colour=INK)
        sheet.text((x, panel[1] + 6), clock(time, offset)[:2].lstrip("0") or "0", size=13, colour=SOFT, anchor="ma")
    sheet.line([(across.start, panel[1]), (across.end, panel[1])], colour=INK)


def _up(sheet: Sheet, across: Axis, panel: tuple[float, float], values: tuple[float, float]) -> Axis:
    span = max(values[1] - values[0], 1.0)
    up = Axis(values[0] - 0.05 * span, values[1] + 0.05 * span, panel[1], panel[0])
    sheet.ticks_up(up, round_steps(up.low, up.high, 5), (across.start, across.end))
    return up


def _panel(
    sheet: Sheet, across: Axis, panel: tuple[float, float], curves: list[tuple[str, Array, Colour]], title: str
) -> None:
    low, high = min(float(v.min()) for _, v, _ in curves), max(float(v.max()) for _, v, _ in curves)
    up = _up(sheet, across, panel, (low, high))
    time = np.linspace(across.low, across.high, curves[0][1].size)
    for _, values, colour in curves:
        sheet.line(
            [(across.at(t), up.at(v)) for t, v in zip(time.tolist(), values.tolist(), strict=True)],
            colour=colour,
            width=2,
        )
    ends = sorted(((up.at(float(v[-1])), n, c) for n, v, c in curves), key=lambda e: e[0])
    last = min(ends[0][0], panel[1] - 8.0 - 16.0 * (len(ends) - 1)) - 16.0
    for y, name, colour in ends:
        last = max(y, last + 16.0)
        sheet.text((across.end + 8, last), name, size=13, colour=colour)
    sheet.text((across.start, panel[0] - 20), title, size=12, colour=SOFT)


def _contrast(sheet: Sheet, across: Axis, interval: tuple[Array, Array], found: WindowAnswer) -> None:
    low, high = interval
    day = found.day
    up = _up(sheet, across, LOWER, (min(float(low.min()), 0.0), max(float(high.max()), 0.0)))
    for end in (low, high):
        edge = [(across.at(t), up.at(v)) for t, v in zip(day.time.tolist(), end.tolist(), strict=True)]
        sheet.line(edge, colour=FLIGHT, width=1)
    line = [(across.at(t), up.at(v)) for t, v in zip(day.time.tolist(), day.contrast.tolist(), strict=True)]
    sheet.line(line, colour=FLIGHT, width=2.5)
    if up.low < 0 < up.high:
        sheet.line([(across.start, up.at(0.0)), (across.end, up.at(0.0))], colour=INK, dash=5)
    sheet.text((across.end + 8, line[-1][1]), "contrast", size=13, colour=FLIGHT)
    for last in (float(low[-1]), float(high[-1])):
        if abs(up.at(last) - line[-1][1]) > 12:
            sheet.text((across.end + 8, up.at(last)), "95 %", size=12, colour=FLIGHT)
    for crossing in found.crossovers:
        sheet.dot((across.at(crossing.time), up.at(0.0)), 4.5, FRAME)
    words = "K as the camera reads it, target less surroundings" + ("; dots: crossovers" if found.crossovers else "")
    sheet.text((across.start, LOWER[0] - 20), words, size=12, colour=SOFT)
