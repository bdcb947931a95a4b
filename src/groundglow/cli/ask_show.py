"""How readings, budgets and lessons look in 80 columns."""

from __future__ import annotations

import csv
import math
from collections.abc import Sequence
from pathlib import Path

from rich.table import Table

from groundglow.cli.ask_words import (
    ZERO_CELSIUS,
    celsius,
    doubt_text,
    input_row,
    interval_text,
    sensitivity_text,
    short,
    signed,
    value_text,
)
from groundglow.cli.show import console, plain_table
from groundglow.steps.measure.asking.explaining import Explanation
from groundglow.steps.measure.asking.knowns import Known
from groundglow.steps.measure.asking.lessons import LESSONS, Sheet
from groundglow.steps.measure.asking.plain import assumed_of
from groundglow.steps.measure.asking.reading import RegionReading, Rise
from groundglow.steps.measure.asking.setting import Setting

__all__ = ["show_budget", "show_lesson", "show_lessons", "show_readings", "write_profiles"]


def show_readings(setting: Setting, readings: Sequence[RegionReading], rises: Sequence[Rise]) -> None:
    """Table of regions, why each is supported as it is, rises, and what all was computed with."""
    screen = console()
    unit = "counts" if setting.signal.unit == "counts" else "°C"
    table = plain_table(
        ("label", "left"), (f"mean {unit}", "right"), ("least to most", "right"), ("95 % interval", "right"),
        ("px", "right"), ("support", "left"),
    )  # fmt: skip
    for reading in readings:
        table.add_row(*_reading_row(reading))
        if reading.corrected is not None:
            table.add_row(*_corrected_row(reading))
    screen.print(table)
    for reading in readings:
        screen.print(f"{reading.region.label}: {_because(reading)}.")
    for rise in rises:
        screen.print(_rise_line(rise))
    screen.print()
    show_inputs(assumed_of(setting, readings), setting.notes)


def _reading_row(r: RegionReading) -> tuple[str, ...]:
    shift = 0.0 if r.unit == "counts" else ZERO_CELSIUS
    support = "" if r.corrected else str(r.support)
    if r.pixels == 0:
        return r.region.label, "none", "", "none", "0", support
    mean, ends = f"{r.mean - shift:.1f}", f"{r.least - shift:.1f} to {r.greatest - shift:.1f}"
    within = interval_text(r.value.low, r.value.high) if r.value else "none"
    return r.region.label, mean, ends, within, str(r.pixels), support


def _corrected_row(r: RegionReading) -> tuple[str, ...]:
    if r.corrected is None:
        return ()
    value = r.corrected.value
    return "  for size", celsius(value.kelvin, unit=False), "", interval_text(value.low, value.high), "", str(r.support)


def _because(r: RegionReading) -> str:
    said = [r.reason]
    if r.corrected is not None:
        c = r.corrected
        spread = 1.96 * (c.factor.independent**2 + c.factor.optics**2) ** 0.5
        side = "low" if c.bias < 0 else "high"
        said.append(
            f"the plain reading is {abs(c.bias):.1f} K too {side}: its rise was taken {c.factor.value:.2f} ± "
            f"{spread:.2f} times"
        )
    if r.left_out and r.pixels:
        said.append(f"bad pixels left out: {r.left_out}")
    if r.value is not None and not r.value.first_order:
        said.append("the interval is from trials, first order does not hold")
    return "; ".join(said)


def _rise_line(rise: Rise) -> str:
    a, b = rise.over
    if rise.value is None:
        counts = "none" if math.isnan(rise.counts) else f"{rise.counts:+.1f} counts, no interval"
        return f"{a} over {b}: {counts}. {rise.reason}."
    v = rise.value
    gone = f" Cancelled: {', '.join(rise.cancelled)}." if rise.cancelled else ""
    bent = "" if v.first_order else " First order does not hold for one of them: take the interval as too narrow."
    return f"{a} over {b}: {v.kelvin:+.1f} K, 95 % {v.low:+.1f} to {v.high:+.1f} K.{gone}{bent}"


def show_inputs(knowns: Sequence[Known], notes: Sequence[str]) -> None:
    """What was taken as known, with doubt and origin; then notes."""
    screen = console()
    if knowns:
        table = plain_table(("computed with", "left"), ("", "right"), ("95 %", "left"), ("from", "left"))
        for known in knowns:
            table.add_row(*input_row(known))
        screen.print(table)
    for note in notes:
        screen.print(note)


def write_profiles(path: Path, readings: Sequence[RegionReading]) -> int:
    """Pixels along all lines as a CSV file; returns the number of lines."""
    lines = [r for r in readings if r.profile is not None]
    unit = "counts" if lines and lines[0].unit == "counts" else "c"
    with path.open("w", encoding="utf-8", newline="") as stream:
        out = csv.writer(stream, lineterminator="\n")
        out.writerow(["label", "number", "column", "row", f"value_{unit}", f"low_{unit}", f"high_{unit}", "reason"])
        for reading in lines:
            out.writerows(_profile_rows(reading))
    return len(lines)


def _profile_rows(reading: RegionReading) -> list[list[str]]:
    profile = reading.profile
    if profile is None:
        return []
    shift = 0.0 if reading.unit == "counts" else ZERO_CELSIUS
    values = zip(profile.value, profile.low, profile.high, strict=True)
    cells = [[f"{v - shift:.3f}" if v == v and abs(v) < 1e9 else "" for v in row] for row in values]
    places = zip(profile.column, profile.row, cells, profile.reason, strict=True)
    return [[reading.region.label, str(i), str(c), str(r), *row, why] for i, (c, r, row, why) in enumerate(places)]


def show_budget(found: Explanation, knowns: Sequence[Known], notes: Sequence[str]) -> None:
    """Why a temperature may be wrong: in words, input by input, with other inputs, and what would help."""
    screen = console()
    screen.print("Why is my temperature wrong?\n", style="bold")
    for line in budget_words(found):
        screen.print(line)
    screen.print()
    screen.print(_lines_table(found))
    screen.print()
    screen.print(_alternatives_table(found))
    screen.print()
    screen.print(_measures_table(found))
    for line in halving_words(found):
        screen.print(line)
    screen.print()
    show_inputs(knowns, notes)


def budget_words(found: Explanation) -> list[str]:
    """The reading and its doubt in sentences."""
    eps, far = found.scene.made.emissivity.value, found.scene.distance.value
    first = found.dominant
    return [
        f"The camera showed {celsius(found.apparent)}, as of a black body with nothing between. Emissivity {eps:.2f} "
        f"and what it reflects ({celsius(found.mirrored.kelvin)}) change that by {signed(found.by_surface)} K, "
        f"{far:.0f} m of air by {signed(found.by_air)} K.",
        f"The surface is at {celsius(found.kelvin)}, 95 % interval {interval_text(found.low, found.high, unit=' °C')}.",
        f"Most of the doubt is from the {first.name}: {100 * first.share:.0f} % of the variance.",
        *_interval_words(found),
    ]


def _interval_words(found: Explanation) -> list[str]:
    trials = found.trials
    order, tried = interval_text(*found.first_order), interval_text(trials.low, trials.high)
    said = f"First order gives {order} °C, {trials.count} trials {tried} °C: "
    if trials.agree:
        return [said + "they agree."]
    still = "" if trials.settled else " Its ends have not settled yet."
    ends = [end for end in (trials.low, trials.high) if math.isinf(end)]
    open_end = " The reading does not exclude any temperature beyond the end that is given." if ends else ""
    return [
        said + "WARNING: they do not agree. The model bends over the doubt of its inputs (low emissivity, cold sky, "
        f"emissivity near 1, hot surface), so the interval of the trials is stated.{open_end}{still}"
    ]


def _lines_table(found: Explanation) -> Table:
    table = plain_table(
        ("input", "left"), ("value", "right"), ("st. unc.", "right"), ("K for a step", "right"), ("K", "right"),
        ("share", "right"), ("shared by", "left"),
    )  # fmt: skip
    for line in found.lines:
        table.add_row(
            short(line.name),
            value_text(line.name, line.value, line.unit),
            doubt_text(line.name, line.standard_uncertainty, line.unit),
            sensitivity_text(line),
            signed(line.contribution, 2),
            f"{100 * line.share:.0f} %",
            line.part,
        )
    table.add_row("all together", celsius(found.kelvin), "", "", f"{found.standard_uncertainty:.2f}", "100 %", "")
    return table


def _alternatives_table(found: Explanation) -> Table:
    table = plain_table(("with other inputs it would say", "left"), ("°C", "right"), ("change K", "right"))
    for other in found.alternatives:
        change = "" if other.change != other.change else signed(other.change)
        table.add_row(other.words, celsius(other.kelvin, unit=False), change)
    return table


def _measures_table(found: Explanation) -> Table:
    table = plain_table(("measured on site", "left"), ("alone leaves K", "right"), ("how", "left"))
    for measure, left in found.halving.alone:
        table.add_row(measure.name, f"{left:.2f}", measure.words)
    return table


def halving_words(found: Explanation) -> list[str]:
    """What to measure to halve the doubt, in sentences."""
    h = found.halving
    figures = "(What each leaves is common practice, no source; counted to first order.)"
    if not h.together:
        return [f"Not even all of these halve the doubt of {h.now:.2f} K: they leave {h.best:.2f} K. {figures}"]
    return [f"To halve the doubt of {h.now:.2f} K, measure: {h.names}. That leaves {h.then:.2f} K. {figures}"]


def show_lessons() -> None:
    """The lessons there are."""
    screen = console()
    screen.print("Lessons: groundglow lesson NAME [--with VALUE=NUMBER]\n")
    table = plain_table(("name", "left"), ("shows", "left"), ("values that may be changed", "left"))
    for name, lesson in LESSONS.items():
        table.add_row(name, lesson.title, ", ".join(lesson.values))
    screen.print(table)


def show_lesson(sheet: Sheet, units: dict[str, str]) -> None:
    """One lesson."""
    screen = console()
    screen.print(f"{sheet.title}\n", style="bold")
    for paragraph in sheet.before:
        screen.print(f"{paragraph}\n")
    table = plain_table(*((name, "left" if i == 0 else "right") for i, name in enumerate(sheet.headings)))
    for row in sheet.rows:
        table.add_row(*row)
    screen.print(table)
    for paragraph in sheet.after:
        screen.print(f"\n{paragraph}")
    given = ", ".join(
        f"{name}={value:g}{' ' + units[name] if units[name] else ''}" for name, value in sheet.values.items()
    )
    screen.print(f"\nWorked out by the model for: {given}. Change one with --with NAME=NUMBER.")
