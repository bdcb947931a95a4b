"""How answers about the hour look in 80 columns."""

from __future__ import annotations

import json
from collections.abc import Mapping

from rich.console import Console

from groundglow.cli.show import bullets, console, plain_table
from groundglow.kit.rules import TASK
from groundglow.records.kit import Figure
from groundglow.steps.plan.asking import WindowAnswer
from groundglow.steps.plan.charts import clock, local_date, open_span
from groundglow.steps.plan.levels import Levels, Shares
from groundglow.steps.plan.pairs import Pair

__all__ = ["show_answer", "show_pairs"]

_ZERO_C = 273.15


def show_pairs(every: Mapping[str, Pair], *, as_json: bool) -> None:
    """The pairs that can be asked about."""
    if as_json:
        rows = {p.id: {"name": p.name, "aliases": list(p.aliases)} for p in every.values()}
        console().print_json(json.dumps({"pairs": rows}))
        return
    table = plain_table(("pair", "left"), ("what", "left"))
    for p in every.values():
        table.add_row(p.id, p.name)
    console().print(table)


def show_answer(found: WindowAnswer) -> None:
    """The answer to one question."""
    screen, ask = console(), found.ask
    screen.print(f"When do we fly? {ask.pair.name}, {local_date(found)}, UTC{ask.offset / 3600:+g} h.", style="bold")
    _show_windows(screen, found)
    _show_hours(screen, found)
    _show_levels(screen, found.levels, ask.offset)
    bullets(screen, "Rules", (_rule(name, figure) for name, figure in ask.pair.rules.items()))
    bullets(screen, "Taken for this", (*ask.assumed, *found.day.notes))
    bullets(screen, "Mind", found.cautions)


def _rule(name: str, figure: Figure) -> str:
    value = f"{figure.value:g} {figure.unit}".strip()
    return f"{TASK[name].words} {value} ({name}): {figure.source}"


def _show_windows(screen: Console, found: WindowAnswer) -> None:
    off = found.ask.offset
    if not found.windows.windows:
        screen.print("No window keeps the rules on this day.", style="red")
    for w in found.windows.windows:
        words = f"{w.contrast:+.1f} K +- {1.96 * w.contrast_sd:.1f}, {w.contrast_to_noise:.1f} of noise, {w.light}"
        screen.print(f"  {w.rank}. {open_span(w, found.day, off)}; best from {clock(w.best, off)}: {words}")
    for c in found.crossovers:
        turns = "warmer" if c.sign > 0 else "colder"
        doubt = 1.96 * c.standard_uncertainty / 60.0
        told = f"+- {doubt:.0f} min" if doubt < 360 else "not sure to the hour"
        screen.print(f"  crossover {clock(c.time, off)} ({told}): then the target is {turns}")


def _show_hours(screen: Console, found: WindowAnswer) -> None:
    heads = ("h", "air C", "target", "around", "read K", "95 %", "/noise")
    table = plain_table(*((h, "right") for h in heads), ("closed by", "left"))
    for h in found.windows.hours:
        celsius = (f"{t - _ZERO_C:.0f}" for t in (h.air, h.target, h.background))
        why = h.reasons[0] if h.reasons else ""
        part = f"{100 * h.open_share:.0f} % open: " if h.reasons and h.open_share > 0.05 else ""
        table.add_row(
            clock(h.time, found.ask.offset)[:2], *celsius, f"{h.contrast:+.1f}", f"{h.low:+.1f} {h.high:+.1f}",
            f"{h.contrast_to_noise:.1f}", part + why + (f"; {len(h.reasons) - 1} more" if len(h.reasons) > 1 else ""),
        )  # fmt: skip
    screen.print(table)


def _show_levels(screen: Console, levels: Levels, offset: float) -> None:
    side = "over" if levels.hot else "under"
    screen.print(f"\nLevels to set at {clock(levels.time, offset)}", style="bold")
    near, far = sorted(abs(v) for v in levels.band)
    screen.print(f"  isotherm band: {near:.1f} to {far:.1f} K {side} the surroundings as read on the spot")
    back = levels.background - _ZERO_C
    screen.print(f"  expected reading of the surroundings: {back:.1f} C +- {1.96 * levels.background_sd:.1f}")
    table = plain_table(("level", "left"), ("K", "right"), ("found", "right"), ("false", "right"), ("source", "left"))
    for level in (levels.expected, *levels.others):
        table.add_row(level.name, f"{level.rise:+.1f}", *_shares(level.relative), level.source)
    screen.print(table)
    blind = _shares(levels.expected.absolute)
    screen.print(f"  set blindly, without a reading on the spot: {blind[0]} found, {blind[1]} false")


def _shares(shares: Shares) -> tuple[str, str]:
    return f"{100 * shares.detected:.0f} %", f"{100 * shares.false_cues:.2g} %"
