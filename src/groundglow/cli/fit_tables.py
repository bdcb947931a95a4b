"""How kits look in 80 columns: what a kit file holds, the matrix, the limits card, the smallest set."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from groundglow.cli.show import bullets, console, plain_table
from groundglow.kit.fleet import Fleet
from groundglow.paper.measures import Measures
from groundglow.steps.fit import Card, Cover, Matrix
from groundglow.steps.fit.card import ACCURACY, CONDITIONS
from groundglow.steps.fit.telling import stands_out_words

__all__ = ["show_card", "show_cover", "show_kit", "show_matrix"]


def show_cover(cover: Cover) -> None:
    """The smallest set of kits for several questions."""
    screen = console()
    how = "The smallest set of kits that serves all" if cover.smallest else "A small set of kits (too many to try all)"
    screen.print(f"\n{how}:", style="bold")
    for kit in cover.kits:
        names = ", ".join(name for name, serves in cover.serves.items() if serves == kit)
        screen.print(f"- {kit.id}: {names}")
    for name in cover.unserved:
        screen.print(f"- {name}: no kit serves it")


def show_kit(path: Path, fleet: Fleet, faults: Sequence[str], *, quiet: bool) -> None:
    """What a kit file adds, or every fault of it."""
    for fault in faults:
        console(stderr=True).print(fault, soft_wrap=True)
    if quiet:
        return
    if faults:
        console(stderr=True).print(f"{path.name}: {len(faults)} fault(s).")
        return
    cameras, aircraft = len(fleet.cameras), len(fleet.aircraft)
    console().print(f"{path.name} is sound. With the catalogue: {cameras} cameras, {aircraft} aircraft.")
    for kit in fleet.owned:
        console().print(f"- owned: {kit.id}")


def show_matrix(found: Matrix, units: Measures) -> None:
    """Cameras by aircraft: minutes a battery, or why not."""
    screen = console()
    screen.print(f"Which camera goes under which aircraft? Wind {units.speed(found.wind)}.", style="bold")
    for camera, row in zip(found.cameras, found.cells, strict=True):
        screen.print(f"{camera.id} ({camera.name})")
        table = plain_table(("", "left"), ("", "left"))
        table.show_header = False
        for cell in row:
            if cell.useful is None:
                said = "no: " + "; ".join(f"{r.kind}, {units.spoken(r.words)}" for r in cell.reasons)
            else:
                longest, shortest = (round(seconds / 60) for seconds in cell.useful)
                span = f"{longest}" if longest == shortest else f"{shortest} to {longest}"
                said = f"{span} min a battery; {', '.join(cell.lenses)}"
            table.add_row(f"  {cell.aircraft.id}", said)
        screen.print(table)


def show_card(card: Card, units: Measures) -> None:
    """Largest distances of one kit."""
    screen = console()
    screen.print(f"What can {card.combination.id} do?", style="bold")
    screen.print(
        f"Largest distance, {units.long}: tasks with {100 * card.probability:.0f} %, "
        f"measuring within {units.within(ACCURACY)}; {units.spoken(card.place.words)}."
    )
    table = plain_table(("target", "left"), ("task", "left"), *((name, "right") for name in CONDITIONS))
    before = ""
    for row in card.rows:
        cells = ["-" if v is None else f"{units.long_value(v):.0f}" for v in row.reach.values()]
        name = row.target.name if row.target.name != before else ""
        before = row.target.name
        table.add_row(name, row.task, *cells)
    screen.print(table)
    screen.print("0: not even close by, or the rise is no larger than its doubt. -: it gives no temperatures.")
    bullets(
        screen, "Hours at which it stands out from close by, local solar time, dry air:", stands_out_words(card.hours)
    )
    bullets(screen, "Mind:", (row.target.caution for row in card.rows if row.target.caution))
