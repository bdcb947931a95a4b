"""How answers of fit look in 80 columns."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from rich.console import Console

from groundglow.cli.show import bullets, console, plain_table
from groundglow.kit.fleet import Fleet
from groundglow.paper.measures import Measures
from groundglow.records.fit import Answer, Ask
from groundglow.steps.fit import Card, Cover, FitFindings, Matrix
from groundglow.steps.fit.card import ACCURACY, CONDITIONS
from groundglow.steps.fit.changes import Turn
from groundglow.steps.fit.recording import advice_for
from groundglow.steps.fit.telling import recording_words

__all__ = ["asked_words", "show_card", "show_cover", "show_findings", "show_kit", "show_matrix"]

_DOES = {"detect": "detected", "recognise": "recognised", "identify": "identified"}


def asked_words(ask: Ask, units: Measures) -> str:
    """The question in one sentence."""
    if ask.task == "measure":
        what = f"measured within ±{ask.accuracy:.1f} K of its {ask.of}"
    else:
        what = f"{_DOES[ask.task]} with {100 * ask.probability:.0f} %"
    far = f" from {units.length(ask.distance)}" if ask.distance is not None else ""
    hour = f" at {ask.hour:02d}:00 local solar time" if ask.hour is not None else ""
    return f"{ask.target.name} to be {what}{far}{hour}"


def show_findings(found: FitFindings, units: Measures, *, top: int) -> None:
    """The answer to one question."""
    screen = console()
    screen.print(f"Can it be seen? {_capital(asked_words(found.ask, units))}.", style="bold")
    if len(found.answers) == 1:
        _show_one(screen, found.answers[0], found, units)
    else:
        _show_ranked(screen, found, units, top)
    _show_turns(screen, found.turns, len(found.answers) > 1)
    _show_upgrades(screen, found, units)
    bullets(screen, "How to record:", recording_words(advice_for(found.ask, found.best), found.best, units))
    bullets(screen, "Place of use:", (flag for a in _told(found, top) for flag in a.flags))
    bullets(screen, "Taken for this:", found.assumed)
    bullets(screen, "Mind:", found.cautions)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _told(found: FitFindings, top: int) -> Sequence[Answer]:
    return found.fit[:top] or found.answers[:1]


def _show_one(screen: Console, answer: Answer, found: FitFindings, units: Measures) -> None:
    screen.print("Yes." if answer.fit else "No.", style="green" if answer.fit else "red")
    for reason in answer.reasons:
        screen.print(f"  {reason.kind}: {reason.words}")
    at = answer.at
    table = plain_table(("", "left"), ("", "left"))
    table.show_header = False
    rows = [
        ("kit", answer.combination.id),
        ("at", f"{units.length(at.distance)}{_hour(at.hour)}"),
        ("pixels on the target", f"{at.pixels[0]:.1f} x {at.pixels[1]:.1f}"),
        ("rise, over noise and clutter", f"{at.rise:+.1f} K, {abs(at.contrast):.0f} times"),
        *((f"probability to {task}", _share(p)) for task, p in at.probability.items()),
        *_measured_rows(answer),
        ("ground in a pixel", units.length(at.ground_sampling)),
        ("ground in a frame", _footprint(answer, units)),
        ("farthest to " + ", ".join(_DOES), _reaches(answer, units)),
        *([("farthest to measure", units.length(answer.reach.measure))] if answer.reach.measure is not None else []),
    ]
    if answer.combination.aircraft:
        rows += [
            ("speed, motion in the picture", f"{units.speed(at.speed)}, {at.smear:.1f} px"),
            *_effort_rows(answer, units),
        ]
    rows += _offer_rows(answer)
    if answer.hours:
        rows.append(("hours of the day that work", hours_words(answer.hours)))
    for row in rows:
        table.add_row(*row)
    screen.print(table)


def _measured_rows(answer: Answer) -> list[tuple[str, str]]:
    at = answer.at
    if at.interval is None or at.bias is None:
        return [("as a measurement", "no temperatures: " + (at.support))]
    return [
        ("95 % interval, corrected", f"±{at.interval:.1f} K; {at.support}"),
        ("peak pixel uncorrected", f"{at.bias:+.1f} K off"),
    ]


def _effort_rows(answer: Answer, units: Measures) -> list[tuple[str, str]]:
    work = answer.effort
    if work is None:
        return []
    if work.unit == "looks":
        amount = f"{work.per_battery:.0f} looks"
    else:
        amount = units.area(work.per_battery) if work.unit == "m2" else units.length(work.per_battery)
    return [
        ("a battery", f"{work.endurance / 60:.0f} min of work: {amount}"),
        ("the whole work", f"{work.flights} flight(s), {work.seconds / 60:.0f} min in the air"),
    ]


def _offer_rows(answer: Answer) -> list[tuple[str, str]]:
    """Warm-up, and what is known of price and delivery."""
    kit = answer.combination
    rows = [("warm-up before a reading counts", f"{kit.camera.warm_up / 60:.0f} min")] if kit.camera.warm_up else []
    if kit.price is not None:
        currency = " ".join(sorted({offer.currency for offer in kit.offers if offer.currency}))
        rows.append(("price", f"{kit.price:,.0f} {currency}".rstrip()))
    if kit.lead_time_days is not None:
        rows.append(("comes in", f"{kit.lead_time_days:.0f} days"))
    return rows


def _hour(hour: int | None) -> str:
    return "" if hour is None else f", {hour:02d}:00 local solar time"


def _share(p: float) -> str:
    return "over 99 %" if p > 0.99 else "below 1 %" if p < 0.01 else f"{100 * p:.0f} %"


def _footprint(answer: Answer, units: Measures) -> str:
    across, along = answer.at.footprint
    return f"{units.length(across)} x {units.length(along)}"


def _reaches(answer: Answer, units: Measures) -> str:
    r = answer.reach
    return ", ".join(units.length(v) for v in (r.detect, r.recognise, r.identify))


def hours_words(hours: Sequence[bool]) -> str:
    """Spans of hours that work.

    Examples
    --------
    >>> hours_words([h < 6 or h > 21 for h in range(24)]), hours_words([True] * 24), hours_words([False] * 24)
    ('00-06, 22-24', 'all', 'none')
    """
    if all(hours):
        return "all"
    edges = [h for h in range(25) if (h < 24 and hours[h]) != (h > 0 and hours[h - 1])]
    return ", ".join(f"{a:02d}-{b:02d}" for a, b in zip(edges[::2], edges[1::2], strict=True)) or "none"


def _show_ranked(screen: Console, found: FitFindings, units: Measures, top: int) -> None:
    fit, unfit = found.fit, [a for a in found.answers if not a.fit]
    screen.print(f"{len(fit)} of {len(found.answers)} combinations serve.{' None does.' if not fit else ''}")
    if fit:
        screen.print(_ranked_table(fit[:top], units))
        screen.print(_sight_table(fit[:top], units, found.ask))
        screen.print("* no other is better in all that counts. " + found.rule)
        for a in fit[: min(top, 3)]:
            if a.hours:
                screen.print(f"{a.rank:>2}  works at {hours_words(a.hours)} h local solar time")
    if unfit:
        kinds = Counter(kind for a in unfit for kind in {r.kind for r in a.reasons})
        said = ", ".join(f"{kind} {n}" for kind, n in kinds.most_common())
        screen.print(f"{len(unfit)} do not, by reason: {said}.")


def _ranked_table(fit: Sequence[Answer], units: Measures) -> object:
    table = plain_table(
        ("no.", "right"), ("camera + lens + aircraft", "left"), ("from", "right"), ("margin", "right"),
        ("flights", "right"), ("hours", "right"),
    )  # fmt: skip
    for a in fit:
        hours = str(sum(a.hours)) if a.hours else "?"
        flights = str(a.effort.flights) if a.effort else "-"
        margin = f"{100 * a.margin:+.0f} %" if math.isfinite(a.margin) else ""
        mark = "*" if a.pareto else " "
        table.add_row(f"{a.rank}{mark}", a.combination.id, units.length(a.at.distance), margin, flights, hours)
    return table


def _sight_table(fit: Sequence[Answer], units: Measures, ask: Ask) -> object:
    last = "±K" if ask.task == "measure" else "prob."
    table = plain_table(
        ("no.", "right"), ("detect", "right"), ("recog.", "right"), ("ident.", "right"), ("meas.", "right"),
        ("px", "right"), ("frame", "right"), ("m/s", "right"), (last, "right"), ("support", "left"),
    )  # fmt: skip
    for a in fit:
        r, at = a.reach, a.at
        figure = f"{at.interval:.1f}" if ask.task == "measure" and at.interval is not None else ""
        table.add_row(
            f"{a.rank} ", units.length(r.detect), units.length(r.recognise), units.length(r.identify),
            "-" if r.measure is None else units.length(r.measure), f"{at.pixels[0]:.0f}x{at.pixels[1]:.0f}",
            "x".join(f"{units.long_value(v):.0f}" for v in at.footprint), f"{at.speed:.1f}",
            figure or _share(at.probability[ask.task]).replace("over ", ">"),
            at.support if at.interval else "seen only",
        )  # fmt: skip
    return table


def _show_turns(screen: Console, turns: Sequence[Turn], many: bool) -> None:
    if not turns:
        return
    screen.print("\nWhat would change the answer:", style="bold")
    for turn in turns:
        a = turn.answer
        who = f"{a.combination.id}: " if many else ""
        said = "; ".join(c.words for c in turn.changes)
        if not said:
            said = "no single change of height, speed, lens or hour"
        verdict = "the best fit one fails" if a.fit and many else "it fails" if a.fit else "would do"
        why = "" if a.fit else f" (now: {'; '.join(r.words for r in a.reasons)})"
        screen.print(f"- {who}{verdict} with {said}{why}" if not turn.changes else f"- {who}{verdict} {said}{why}")


def _show_upgrades(screen: Console, found: FitFindings, units: Measures) -> None:
    if not found.upgrades:
        return
    screen.print("\nWhat an upgrade buys:", style="bold")
    table = plain_table(("owned", "left"), ("new", "left"), ("reach", "right"), ("price", "right"))
    for u in found.upgrades:
        gain = "from none" if math.isinf(u.gain) else f"x {u.gain:.1f}"
        price = "not known" if u.price is None else f"{u.price:,.0f}"
        table.add_row(u.owned.combination.id, ", ".join(u.new), gain, price)
    screen.print(table)


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


def show_matrix(found: Matrix) -> None:
    """Cameras by aircraft: minutes a battery, or why not."""
    screen = console()
    screen.print(f"Which camera goes under which aircraft? Wind {found.wind:.0f} m/s.", style="bold")
    for camera, row in zip(found.cameras, found.cells, strict=True):
        screen.print(f"{camera.id} ({camera.name})")
        table = plain_table(("", "left"), ("", "left"))
        table.show_header = False
        for cell in row:
            if cell.useful is None:
                said = "no: " + "; ".join(f"{r.kind}, {r.words}" for r in cell.reasons)
            else:
                said = f"{cell.useful[1] / 60:.0f} to {cell.useful[0] / 60:.0f} min a battery; {', '.join(cell.lenses)}"
            table.add_row(f"  {cell.aircraft.id}", said)
        screen.print(table)


def show_card(card: Card, units: Measures) -> None:
    """Largest distances of one kit."""
    screen = console()
    screen.print(f"What can {card.combination.id} do?", style="bold")
    screen.print(
        f"Largest distance, {units.long}: tasks with {100 * card.probability:.0f} %, "
        f"measuring within ±{ACCURACY:.0f} K; {card.place.words}."
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
    for caution in dict.fromkeys(row.target.caution for row in card.rows if row.target.caution):
        screen.print(f"- {caution}")
