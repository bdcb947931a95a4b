"""How the command line looks: progress, one line a step, a table of findings. Fits 80 columns."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from types import TracebackType
from typing import Any, Self

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeElapsedColumn
from rich.table import Table
from rich.text import Text

__all__ = ["QUESTIONS", "ProgressWatcher", "bullets", "console", "findings_table", "plain_table", "steps_table"]

QUESTIONS = {
    "fit": "Can it be seen?",
    "plan": "How do we fly?",
    "check": "Did we get it?",
    "register": "How hot? (ties, levels)",
    "measure": "How hot, how surely?",
    "find": "What is wrong, where?",
    "report": "What do we tell them?",
}
WIDTH = 80


def console(*, stderr: bool = False) -> Console:
    """A console that is plain when piped or when NO_COLOR is set, never wider than 80 columns when piped."""
    stream = sys.stderr if stderr else sys.stdout
    plain = "NO_COLOR" in os.environ or not stream.isatty()
    width = None if stream.isatty() else WIDTH
    return Console(file=stream, no_color=plain, highlight=False, width=width, emoji=False, markup=False)


class ProgressWatcher:
    """Progress bars on the terminal's error stream; silent when it is no terminal."""

    def __init__(self, quiet: bool) -> None:
        screen = console(stderr=True)
        self._progress = Progress(
            TextColumn("{task.description:<24}"),
            BarColumn(bar_width=24),
            TextColumn("{task.completed}/{task.total}"),
            TimeElapsedColumn(),
            console=screen,
            transient=True,
            disable=quiet or not screen.is_terminal,
        )
        self._task: TaskID | None = None

    def __enter__(self) -> Self:
        self._progress.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self._progress.stop()

    def begin(self, step: str, total: int, kept: int, why: str) -> None:
        """A batch of items begins."""
        if self._task is not None:
            self._progress.remove_task(self._task)
        self._task = self._progress.add_task(QUESTIONS.get(step, step), total=total) if total else None

    def advance(self, item: str, set_aside: str) -> None:
        """One item is done."""
        if self._task is not None:
            self._progress.advance(self._task)


def plain_table(*headings: tuple[str, str]) -> Table:
    """A table without lines; headings are (name, justify)."""
    table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="bold")
    for name, justify in headings:
        table.add_column(name, justify=justify, overflow="fold")  # type: ignore[arg-type]
    return table


def steps_table(rows: Sequence[tuple[str, str, str, str]]) -> Table:
    """Rows of (step, state, when or seconds, why)."""
    table = plain_table(("question", "left"), ("step", "left"), ("state", "left"), ("", "right"), ("why", "left"))
    for step, state, when, why in rows:
        style = {"done": "green", "stale": "yellow", "missing": "red"}.get(state.split(",")[0], "")
        table.add_row(QUESTIONS[step], step, Text(state, style=style), when, why)
    return table


def findings_table(findings: Sequence[Any], reviews: Mapping[str, Any], most: int = 20) -> Table:
    """Findings with their rise and its 95 % interval, and what people made of them where anybody looked."""
    unit = findings[0].unit if findings else "K"
    table = plain_table(
        ("no.", "right"), ("looked for", "left"), (f"rise {unit}", "right"), ("95 % interval", "left"),
        ("views", "right"), ("people", "left") if reviews else ("px", "right"), ("support", "left"),
    )  # fmt: skip
    for f in findings[:most]:
        people = reviews[f.id].decision if f.id in reviews else ""
        table.add_row(
            str(f.number), f.question, f"{f.rise:+.1f}", f"{f.rise_low:+.1f} to {f.rise_high:+.1f}",
            f"{f.seen_in}/{f.in_view}", people if reviews else str(f.area_px), str(f.support),
        )  # fmt: skip
    return table


def bullets(screen: Console, title: str, lines: Iterable[str]) -> None:
    """A heading and its lines, each once, wrapped under themselves; nothing when there are none."""
    said = list(dict.fromkeys(lines))
    if said:
        screen.print(f"\n{title}", style="bold")
    for line in said:
        table = plain_table(("", "left"), ("", "left"))
        table.show_header = False
        table.add_row("-", line)
        screen.print(table)
