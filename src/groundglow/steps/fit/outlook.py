"""From an answer to what is shown of it: which kits are looked through, from where, under which conditions."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from groundglow.paper.measures import METRIC, Measures
from groundglow.records.fit import Answer, Ask
from groundglow.records.kit import Combination
from groundglow.steps.fit.air import FARTHEST
from groundglow.steps.fit.answer import answers_of
from groundglow.steps.fit.evaluate import Expected, evaluate
from groundglow.steps.fit.settings import LOWEST_WING
from groundglow.steps.fit.silhouette import Sight
from groundglow.steps.fit.strip import RATES, passage_of, rows_of, strip_picture
from groundglow.steps.fit.tiles import tiles, views_picture
from groundglow.steps.fit.views import Conditions, Look, window_of

__all__ = ["FARTHER", "Seeing", "conditions_of", "kits_to_show", "looks_of", "sight_of", "strip_of", "views_of"]

#: How a target is turned in views from above, rad: neither along nor across the picture (our choice).
HEADING: Final = math.radians(30.0)
#: The second distance of views, as a multiple of the chosen one.
FARTHER: Final = 2.0


@dataclass(frozen=True)
class Seeing:
    """A kit at a distance as it was worked out: its answer there and all that stands behind it."""

    expected: Expected
    answer: Answer
    label: str = ""


def sight_of(ask: Ask) -> Sight:
    """Line of sight of a question: straight down, or level."""
    return Sight(0.0, 0.0) if ask.view == "side" else Sight(0.5 * math.pi, HEADING)


def seen_from(ask: Ask, kit: Combination, distance: float, label: str = "") -> Seeing:
    """A kit at a distance of one's own choice, whatever the limits of the question say."""
    there = replace(ask, distance=distance, nearest=min(ask.nearest, distance), highest=max(ask.highest, distance))
    expected = evaluate(there, [kit])
    return Seeing(expected, answers_of(expected)[0], label)


def conditions_of(seeing: Seeing) -> Conditions:
    """The hour of the answer, as the band of this kit sees it."""
    of, scene, hour = seeing.expected, seeing.expected.scene, seeing.expected.hour
    return Conditions(
        target=of.ask.target,
        target_temperature=float(scene.target[hour]),
        background_temperature=float(scene.background[hour]),
        background_emissivity=scene.background_emissivity,
        reflected_temperature=float(of.seen[0].reflected[hour]),
        air_temperature=float(scene.air[hour]),
        relative_humidity=float(scene.relative_humidity[hour]),
        pressure=scene.pressure,
        visibility=of.ask.sky.visibility,
    )


def look_of(seeing: Seeing) -> Look:
    """The kit's look: distance, speed and probabilities of its answer; the interval where one was asked."""
    at, ask = seeing.answer.at, seeing.expected.ask
    reads = ask.task == "measure"
    within = f"±{at.interval:.1f} K" if at.interval is not None else "no temperature"
    return Look(
        seeing.answer.combination, at.distance, sight_of(ask), at.speed, at.probability, seeing.label,
        note=within if reads else "",
    )  # fmt: skip


def kits_to_show(answers: Sequence[Answer], *, most: int = 3) -> tuple[tuple[Answer, str], ...]:
    """Answers worth looking through, with what to call them: each has pixels of its own size.

    The best fit ones first; the nearest unfit one last, so that the difference can be seen.
    """
    seen: dict[float, Answer] = {}
    for answer in answers:
        seen.setdefault(round(answer.combination.ifov, 5), answer)
    fit = [a for a in seen.values() if a.fit]
    unfit = [a for a in seen.values() if not a.fit]
    chosen = fit[: most - 1] + unfit[:1] if unfit and fit else (fit or unfit)[:most]
    chosen += [a for a in (*fit, *unfit) if a not in chosen][: max(most - len(chosen), 0)]
    return tuple((a, a.combination.camera.name + ("" if a.fit else " (unfit)")) for a in chosen)


def looks_of(ask: Ask, answers: Sequence[Answer]) -> tuple[Seeing, ...]:
    """Kits worth showing: a row at the distance of the first one, and a row at another distance.

    The other is twice as far where the first one is fit; where it is not, as near as it would have to come: never
    nearer than the question allows, and what cannot hover stays higher over ground.
    """
    first, kits = answers[0], kits_to_show(answers)
    near = first.at.distance
    nearer = max(near * (1.0 + first.margin), 0.05 * near, ask.nearest)
    other = FARTHER * near if first.fit or nearer >= near else nearer
    distances = [d for d in (near, other) if d <= FARTHEST]
    return tuple(seen_from(ask, a.combination, _kept(ask, a, d), label) for d in distances for a, label in kits)


def _kept(ask: Ask, of: Answer, distance: float) -> float:
    """A distance that the aircraft keeps."""
    aircraft = of.combination.aircraft
    low = aircraft is not None and not aircraft.hovers and ask.view == "above"
    return max(distance, LOWEST_WING) if low else distance


def views_of(ask: Ask, seen: Sequence[Seeing], measures: Measures = METRIC) -> bytes:
    """PNG of simulated views, three in a row."""
    window = window_of(ask.target, sight_of(ask))
    looks = [look_of(s) for s in seen]
    bands = [s.expected.seen[0].table.band for s in seen]
    made = tiles([conditions_of(s) for s in seen], looks, window, bands, measures)
    columns = len({round(look.combination.ifov, 5) for look in looks})
    return views_picture(made, title=title_of(ask), columns=columns, measures=measures)


def title_of(ask: Ask) -> str:
    """Name of the question, and of the target where that does not say it."""
    named = ask.target.name.casefold() in ask.name.casefold() or ask.target.id in ask.name.casefold()
    return ask.name if named else f"{ask.name}: {ask.target.name}"


def strip_of(seeing: Seeing, measures: Measures = METRIC) -> bytes | None:
    """PNG of successive frames at two frame rates; None for a kit that stands still."""
    look, target = look_of(seeing), seeing.expected.ask.target
    if not look.speed > 0:
        return None
    passage = passage_of(look, size=max(target.length, target.width), fastest=max(RATES))
    rows = rows_of(conditions_of(seeing), look, passage, band=seeing.expected.seen[0].table.band)
    over = "past" if look.sideways else "over"
    title = f"{measures.speed(look.speed)} {over} {target.name}: {RATES[0]:g} against {RATES[1]:g} frames a second"
    return strip_picture(rows, look, passage, title=title, measures=measures)
