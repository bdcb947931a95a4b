"""How answers of fit look in 80 columns."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

from rich.console import Console

from groundglow.cli.show import bullets, console, plain_table
from groundglow.paper.measures import Measures
from groundglow.records.fit import Answer, Ask
from groundglow.steps.fit import FitFindings
from groundglow.steps.fit.changes import Turn
from groundglow.steps.fit.recording import advice_for
from groundglow.steps.fit.telling import chance_words, effort_amount, hours_words, recording_words

__all__ = ["asked_words", "show_findings"]

_DOES = {"detect": "detected", "recognise": "recognised", "identify": "identified"}


def asked_words(ask: Ask, units: Measures) -> str:
    """The question in one sentence."""
    if ask.task == "measure":
        what = f"measured within {units.within(ask.accuracy or 0.0)} of its {ask.of}"
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
    _show_turns(screen, found.turns, len(found.answers) > 1, units)
    _show_upgrades(screen, found)
    bullets(screen, "How to record:", recording_words(advice_for(found.ask, found.best), found.best, units))
    bullets(screen, "Place of use:", found.place_of_use)
    bullets(screen, "Taken for this:", map(units.spoken, found.assumed))
    bullets(screen, "Mind:", map(units.spoken, found.cautions))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _show_one(screen: Console, answer: Answer, found: FitFindings, units: Measures) -> None:
    screen.print("Yes." if answer.fit else "No.", style="green" if answer.fit else "red")
    for reason in answer.reasons:
        screen.print(f"  {reason.kind}: {units.spoken(reason.words)}")
    at = answer.at
    table = plain_table(("", "left"), ("", "left"))
    table.show_header = False
    rows = [
        ("kit", answer.combination.id),
        ("at", f"{units.length(at.distance)}{_hour(at.hour)}"),
        ("pixels on the target", f"{at.pixels[0]:.1f} x {at.pixels[1]:.1f}"),
        ("rise, over noise and clutter", f"{units.difference(at.rise, sign='+')}, {abs(at.contrast):.0f} times"),
        *((f"probability to {task}", chance_words(p)) for task, p in at.probability.items()),
        *_measured_rows(answer, units),
        ("ground in a pixel", units.short_length(at.ground_sampling)),
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


def _measured_rows(answer: Answer, units: Measures) -> list[tuple[str, str]]:
    at = answer.at
    if at.interval is None or at.bias is None:
        return [("as a measurement", "no temperatures: " + (at.support))]
    return [
        ("95 % interval, corrected", f"{units.difference(at.interval, sign='±')}; {at.support}"),
        ("peak pixel uncorrected", f"{units.difference(at.bias, sign='+')} off"),
    ]


def _effort_rows(answer: Answer, units: Measures) -> list[tuple[str, str]]:
    work = answer.effort
    if work is None:
        return []
    return [
        ("a battery", f"{work.endurance / 60:.0f} min of work: {effort_amount(work, units)}"),
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


def _footprint(answer: Answer, units: Measures) -> str:
    across, along = answer.at.footprint
    return f"{units.length(across)} x {units.length(along)}"


def _reaches(answer: Answer, units: Measures) -> str:
    r = answer.reach
    return ", ".join(units.length(v) for v in (r.detect, r.recognise, r.identify))


def _show_ranked(screen: Console, found: FitFindings, units: Measures, top: int) -> None:
    fit, unfit = found.fit, [a for a in found.answers if not a.fit]
    screen.print(f"{len(fit)} of {len(found.answers)} combinations serve.{' None does.' if not fit else ''}")
    if fit:
        screen.print(_ranked_table(fit[:top], units))
        screen.print("* no other is better in all that counts. " + found.rule)
        screen.print("\nHow far, and how sure at the distance above:", style="bold")
        screen.print(_sight_table(fit[:top], units, found.ask))
        screen.print("\nWhat the picture holds there, and what a battery does:", style="bold")
        screen.print(_work_table(fit[:top], units))
        for a in fit[: min(top, 3)]:
            if a.hours:
                screen.print(f"{a.rank:>2}  works at {hours_words(a.hours)}, local solar time")
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
    """Largest distances; then at the chosen one the probability, the interval and what it is worth."""
    seen = "detect" if ask.task == "measure" else ask.task
    table = plain_table(
        ("no.", "right"), ("detect", "right"), ("recog.", "right"), ("ident.", "right"), ("meas.", "right"),
        ("px", "right"), (seen, "right"), (f"±{units.difference_unit}", "right"), ("support", "left"),
    )  # fmt: skip
    for a in fit:
        r, at = a.reach, a.at
        table.add_row(
            f"{a.rank} ", units.length(r.detect), units.length(r.recognise), units.length(r.identify),
            "-" if r.measure is None else units.length(r.measure), f"{at.pixels[0]:.0f}x{at.pixels[1]:.0f}",
            chance_words(at.probability[seen]),
            "-" if at.interval is None else f"{units.difference_value(at.interval):.1f}",
            at.support if at.interval is not None else "seen only",
        )  # fmt: skip
    return table


def _work_table(fit: Sequence[Answer], units: Measures) -> object:
    """Ground in a pixel and in the picture, speed and smear, minutes and work of a battery."""
    table = plain_table(
        ("no.", "right"), ("pixel", "right"), (f"picture, {units.long}", "right"), (units.speed_unit, "right"),
        ("smear, px", "right"), ("battery", "right"), ("does", "right"),
    )  # fmt: skip
    for a in fit:
        at, work = a.at, a.effort
        table.add_row(
            f"{a.rank} ", units.short_length(at.ground_sampling),
            " x ".join(f"{units.long_value(v):.0f}" for v in at.footprint), f"{units.speed_value(at.speed):.1f}",
            f"{at.smear:.1f}", f"{work.endurance / 60:.0f} min" if work else "-",
            effort_amount(work, units) if work else "-",
        )  # fmt: skip
    return table


def _show_turns(screen: Console, turns: Sequence[Turn], many: bool, units: Measures) -> None:
    lines = []
    for turn in turns:
        a = turn.answer
        who = f"{a.combination.id}: " if many else ""
        said = units.spoken("; or ".join(c.words for c in turn.changes))
        verdict = "the best fit one fails" if a.fit and many else "it fails" if a.fit else "would do"
        why = "" if a.fit else f" (now: {'; '.join(units.spoken(r.words) for r in a.reasons)})"
        no_change = (
            f"no single change of height, speed, lens, hour or aircraft {'makes it fail' if a.fit else 'turns it'}"
        )
        lines.append(f"{who}{verdict} {said}{why}" if said else f"{who}{no_change}{why}")
    bullets(screen, "What would change the answer:", lines)


def _show_upgrades(screen: Console, found: FitFindings) -> None:
    if not found.upgrades:
        return
    screen.print("\nWhat an upgrade buys:", style="bold")
    table = plain_table(("owned", "left"), ("new", "left"), ("reach", "right"), ("price", "right"))
    for u in found.upgrades:
        gain = "from none" if math.isinf(u.gain) else f"x {u.gain:.1f}"
        price = "not known" if u.price is None else f"{u.price:,.0f}"
        table.add_row(u.owned.combination.id, ", ".join(u.new), gain, price)
    screen.print(table)
