"""Write the tables of docs/intervals.md.

    python tools/make_interval_page.py [docs] [--quick]

``--quick`` leaves the counts of the experiment (some minutes) and makes the budgets anew.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

import interval_experiment as experiment
import numpy as np

from groundglow.model.band import nominal_band
from groundglow.model.reading import (
    Situation,
    Stated,
    apparent_temperature,
    camera_doubt,
    reading_budget,
    reading_with_interval,
)

BAND = nominal_band("7.5-13.5")
CAMERA = camera_doubt(BAND, noise=Stated(0.0, 0.05), calibration=Stated(0.0, 1.0), drift=Stated(0.0, 0.3))
COOL = {"air_temperature": Stated(283.15, 1.0), "relative_humidity": Stated(0.5, 0.05)}
WARM = {"air_temperature": Stated(303.15, 1.0), "relative_humidity": Stated(0.8, 0.05)}


def _seen(
    emissivity: tuple[float, float], mirrored: tuple[float, float], metres: float, weather: Mapping[str, Stated] = COOL
) -> Situation:
    return Situation(Stated(*emissivity), Stated(*mirrored), distance=Stated(metres, 0.03 * metres), **weather)


#: Name, surface temperature, K, and what is known.
EXAMPLES: Mapping[str, tuple[float, Situation]] = {
    "dull roof 20 °C, clear, 60 m": (293.15, _seen((0.93, 0.02), (235.0, 8.0), 60.0)),
    "the same at 60 °C": (333.15, _seen((0.93, 0.02), (235.0, 8.0), 60.0)),
    "river 12 °C, clear, 100 m": (285.15, _seen((0.985, 0.005), (235.0, 8.0), 100.0)),
    "glass module 45 °C, clear, 30 m": (318.15, _seen((0.86, 0.02), (230.0, 8.0), 30.0)),
    "dull roof 60 °C, hot and humid, 500 m": (333.15, _seen((0.93, 0.02), (275.0, 8.0), 500.0, WARM)),
    "painted steel 40 °C, overcast, 60 m": (313.15, _seen((0.90, 0.03), (280.0, 5.0), 60.0)),
    "rusted steel 40 °C, clear, 60 m": (313.15, _seen((0.80, 0.07), (235.0, 8.0), 60.0)),
    "bare sheet 40 °C, clear, 60 m": (313.15, _seen((0.25, 0.03), (235.0, 8.0), 60.0)),
}
#: Columns of the table of budgets and the sources that each holds.
COLUMNS = {
    "camera": ("noise", "calibration", "drift"),
    "response": ("response, short edge", "response, long edge", "response, tilt"),
    "emissivity": ("emissivity",),
    "reflected": ("reflected temperature",),
    "spectra": ("spectra",),
    "weather, distance": ("air temperature", "relative humidity", "distance"),
    "air model": ("transmittance",),
}


def _row(cells: list[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _table(head: list[str], rows: list[list[str]]) -> str:
    return "\n".join([_row(head), "|---" * len(head) + "|", *(_row(row) for row in rows)])


def _end(kelvin: float) -> str:
    return "open" if np.isinf(kelvin) else f"{kelvin - 273.15:.1f}"


def budgets() -> str:
    """What the doubt of typical readings consists of, K, and their interval, C."""
    rows = []
    for name, (kelvin, around) in EXAMPLES.items():
        shown = float(apparent_temperature(BAND, kelvin, around))
        budget = reading_budget(BAND, shown, around, CAMERA)
        change = {line.quantity.name: line.contribution for line in budget.lines}
        parts = [float(np.sqrt(sum(change[source] ** 2 for source in sources))) for sources in COLUMNS.values()]
        found = reading_with_interval(BAND, shown, around, CAMERA)
        ends = f"{_end(float(found.low))} to {_end(float(found.high))}"
        way = "first order" if found.first_order else "trials"
        rows.append([name, *(f"{part:.2f}" for part in parts), f"{budget.standard_uncertainty:.2f}", ends, way])
    return _table(["reading", *COLUMNS, "together", "95 % interval, °C", "by"], rows)


def _counts(counts: list[experiment.Count], head: str) -> str:
    rows = [
        [c.name, str(c.misses), str(c.readings), f"{100 * c.share:.2f} %", f"{c.allowed[0]} to {c.allowed[1]}"]
        for c in counts
    ]
    return _table([head, "misses", "readings", "share", "allowed"], rows)


def pooled(found: experiment.Outcome) -> str:
    """All readings, the two kinds of truth, the two sides."""
    whole = experiment.counted(found.missed, {"all": np.ones(found.cell.size, dtype=bool)})
    return _counts([*whole, *experiment.truths(found), *experiment.tails(found)], "pooled")


def cells(found: experiment.Outcome) -> str:
    """Misses by class and range down, sky across."""
    counts = experiment.cells(found)
    across = len(experiment.SKIES)
    rows = []
    for start in range(0, len(counts), across):
        kind, span, _ = counts[start].name.split(", ", 2)
        rows.append([kind, span, *(f"{c.misses} / {c.readings}" for c in counts[start : start + across])])
    return _table(["surface", "temperature", *experiment.SKIES], rows)


def margins(found: experiment.Outcome) -> str:
    """Misses by each property alone."""
    counts = experiment.margins(found)
    rows = [
        [a.name.split("; ")[0], *(f"{c.misses} / {c.readings} ({c.allowed[0]} to {c.allowed[1]})" for c in (a, b))]
        for a, b in zip(counts[::2], counts[1::2], strict=True)
    ]
    return _table(["", "as stated", "other response and spectra"], rows)


def widths(found: experiment.Outcome) -> str:
    """How wide the intervals are: an interval is honest, but is it of use?"""
    rows = []
    for i, name in enumerate(experiment.CLASSES):
        here = found.where(0, i)
        closed = np.isfinite(found.low[here]) & np.isfinite(found.high[here])
        half = np.full(closed.size, np.inf)
        half[closed] = 0.5 * (found.high[here][closed] - found.low[here][closed])
        low, middle, high = np.quantile(half, [0.1, 0.5, 0.9], method="nearest")
        shares = (found.first_order[here].mean(), np.isinf(found.low[here]).mean(), np.isinf(found.high[here]).mean())
        ends = ["open" if np.isinf(v) else f"{v:.1f} K" for v in (low, middle, high)]
        rows.append([name, *ends, *(f"{100 * share:.0f} %" for share in shares)])
    head = ["surface", "half width, best tenth", "median", "worst tenth", "first order", "open below", "open above"]
    return _table(head, rows)


#: Sections of the page that need the experiment.
COUNTED = {"pooled": pooled, "cells": cells, "margins": margins, "widths": widths}


def replaced(page: str, name: str, text: str) -> str:
    """The page with one of its tables made anew."""
    start, end = f"<!-- {name}: made by tools/make_interval_page.py -->", f"<!-- end of {name} -->"
    before, rest = page.split(start)
    return f"{before}{start}\n\n{text}\n\n{end}{rest.split(end)[1]}"


def with_budgets(page: str) -> str:
    """The page with its budgets made anew."""
    return replaced(page, "budgets", budgets())


def with_counts(page: str, found: experiment.Outcome) -> str:
    """The page with its counts made anew."""
    for name, make in COUNTED.items():
        page = replaced(page, name, make(found))
    return page


def main(arguments: list[str]) -> None:
    """Rewrite the page."""
    folder = next((a for a in arguments if not a.startswith("--")), "docs")
    path = Path(folder) / "intervals.md"
    page = with_budgets(path.read_text(encoding="utf-8"))
    if "--quick" not in arguments:
        page = with_counts(page, experiment.run().telling())
    path.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
