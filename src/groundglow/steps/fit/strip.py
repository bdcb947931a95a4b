"""Successive frames at two frame rates in the same time, laid out along it: what a faster camera adds and what not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from groundglow.errors import InputError
from groundglow.model.band import Band
from groundglow.paper.drawing import INK, SOFT, Axis, Sheet, round_steps
from groundglow.paper.measures import METRIC, Measures
from groundglow.steps.fit.tiles import GreyScale, common_scale, grey_legend, scale_bar
from groundglow.steps.fit.views import Conditions, Look, View, Window, simulated_view

__all__ = ["RATES", "Passage", "Row", "frames_in_view", "passage_of", "rows_of", "strip_picture"]

#: Frame rates that are compared, Hz.
RATES: Final = (30.0, 9.0)
#: Most frames in a row, and how long the strip may last, s.
_MOST, _LONGEST = 14, 1.5
LEFT, RIGHT, MARGIN, HEAD, HIGH, CAPTION = 92, 104, 24, 92, 170, 56
ROOM = 1040


class Passage(NamedTuple):
    """What the strip shows: a window that things pass through, and for how long, s."""

    window: Window
    seconds: float


class Row(NamedTuple):
    """Frames of one rate: their times, s, and views."""

    rate: float
    times: tuple[float, ...]
    views: tuple[View, ...]


def passage_of(look: Look, *, size: float, fastest: float) -> Passage:
    """A window of some sizes of the target along the flight, and the time in which the target passes it.

    Raises
    ------
    InputError
        When the kit stands still.
    """
    if not look.speed > 0:
        raise InputError("A strip of frames needs a speed: from a place that stands still all frames are alike.")
    along = max(3.0 * size, 0.35 * look.speed)
    seconds = min(along / look.speed, _MOST / fastest, _LONGEST)
    narrow = max(1.4 * size, 0.42 * along)
    return Passage(Window(along, narrow) if look.sideways else Window(narrow, along), seconds)


def rows_of(
    conditions: Conditions, look: Look, passage: Passage, *, band: Band, rates: Sequence[float] = RATES
) -> tuple[Row, ...]:
    """The frames of each rate within the passage; all rates start at the same moment."""
    rows = []
    for rate in rates:
        times = np.arange(math.ceil(passage.seconds * rate - 1e-9)) / rate
        views = tuple(_frame(conditions, look, passage, float(t), band) for t in times)
        rows.append(Row(rate, tuple(float(t) for t in times), views))
    return tuple(rows)


def _frame(conditions: Conditions, look: Look, passage: Passage, time: float, band: Band) -> View:
    """The view at a time after the start; flights past a thing are turned so that all things run down the strip."""
    ahead = look.speed * (time - 0.5 * passage.seconds)
    middle = (-ahead, 0.0) if look.sideways else (0.0, ahead)
    view = simulated_view(conditions, look, passage.window._replace(middle=middle), band=band, seed=_seed(time))
    return View(view.values.T, view.sampling) if look.sideways else view


def _seed(time: float) -> int:
    """Frames taken at the same moment are the same frame."""
    return round(time * 1e6)


def frames_in_view(look: Look, rate: float) -> float:
    """How many frames hold the target while the whole picture passes over it."""
    detector = look.combination.camera.detector
    along = (detector.columns if look.sideways else detector.rows) * look.combination.ifov * look.distance
    return along / look.speed * rate


def strip_picture(
    rows: Sequence[Row], look: Look, passage: Passage, *, title: str, measures: Measures = METRIC
) -> bytes:
    """PNG of the frames along a time line, one row a rate, on one grey scale."""
    scale = common_scale([view for row in rows for view in row.views])
    sheet = Sheet(LEFT + ROOM + RIGHT, HEAD + len(rows) * (HIGH + CAPTION) + 46)
    sheet.text((MARGIN, 26), title[:1].upper() + title[1:], size=18)
    what = "Simulated. The same part of the picture, frame after frame; things run downwards as the aircraft flies on."
    sheet.text((MARGIN, 50), what, colour=SOFT)
    wide = _width(rows, passage)
    time = Axis(0.0, passage.seconds, LEFT, LEFT + ROOM - wide)
    for k, row in enumerate(rows):
        _draw_row(sheet, row, HEAD + k * (HIGH + CAPTION), time, (wide, scale))
        words = _caption(look, row.rate, measures)
        sheet.text((LEFT, HEAD + k * (HIGH + CAPTION) + HIGH + 18), words, size=14)
    _bar(sheet, passage, wide, measures)
    bottom = HEAD + len(rows) * (HIGH + CAPTION) - 8
    _time_line(sheet, time, bottom)
    grey_legend(sheet, (LEFT + ROOM + 18, HEAD), HIGH + 60, scale, measures)
    return sheet.png()


def _bar(sheet: Sheet, passage: Passage, wide: float, measures: Measures) -> None:
    """The scale bar, in the first frame."""
    along = max(passage.window.across, passage.window.upright)
    scale_bar(sheet, (LEFT, HEAD), (wide, HIGH), wide / HIGH * along, measures)


def _width(rows: Sequence[Row], passage: Passage) -> float:
    """Width of a frame: true to scale, unless neighbours would lie over each other."""
    window = passage.window
    true = HIGH * min(window.across, window.upright) / max(window.across, window.upright)
    most = max(len(row.times) for row in rows)
    return min(true, (ROOM - 4 * (most - 1)) / most)


def _draw_row(sheet: Sheet, row: Row, top: float, time: Axis, style: tuple[float, GreyScale]) -> None:
    wide, scale = style
    sheet.text((MARGIN, top + HIGH / 2), f"{row.rate:g} Hz", size=16)
    for at, view in zip(row.times, row.views, strict=True):
        x = time.at(at)
        sheet.grey((x, top), (x + wide, top + HIGH), scale.levels(_cut(view.values, wide)))


def _cut(values: np.ndarray, wide: float) -> np.ndarray:
    """The middle columns that keep pixels square in a frame of this width."""
    columns = max(round(values.shape[0] * wide / HIGH), 1)
    spare = max(values.shape[1] - columns, 0)
    return values[:, spare // 2 : values.shape[1] - (spare - spare // 2)]


def _caption(look: Look, rate: float, measures: Measures) -> str:
    step = look.speed / rate
    pixels = step / (look.combination.ifov * look.distance)
    seen = frames_in_view(look, rate)
    return (
        f"{measures.length(step)} and {pixels:.1f} pixels from frame to frame; the whole picture holds the target in "
        f"{seen:.0f} frames"
    )


def _time_line(sheet: Sheet, time: Axis, y: float) -> None:
    sheet.line([(time.start, y), (time.end, y)], colour=SOFT)
    for value in round_steps(time.low, time.high, 8):
        x = time.at(value)
        sheet.line([(x, y), (x, y + 5)], colour=INK)
        sheet.text((x, y + 9), f"{value:g}", size=13, anchor="ma")
    sheet.text((time.end + 14, y), "s", size=13)
    note = "Smear within a frame is the detector's own lag at this speed: the same at every frame rate."
    sheet.text((time.start, y + 40), note, size=13, colour=SOFT)
