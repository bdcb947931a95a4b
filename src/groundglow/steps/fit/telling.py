"""An answer in plain sentences, in the units of the reader: the question, the answer, why, and what it takes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import groupby

from groundglow.paper.measures import METRIC, Measures
from groundglow.records.fit import Answer, Ask, Effort
from groundglow.records.kit import Combination
from groundglow.steps.fit.findings import FitFindings
from groundglow.steps.fit.recording import RecordingAdvice

__all__ = [
    "answer_words",
    "bytes_words",
    "chance_words",
    "effort_amount",
    "hours_words",
    "kit_words",
    "question_words",
    "recording_words",
    "stands_out_words",
    "turn_words",
    "unfit_words",
    "why_words",
]


def kit_words(kit: Combination) -> str:
    """Camera, lens and aircraft by name."""
    under = f", under {kit.aircraft.name}" if kit.aircraft else ", in the hand"
    return f"{kit.camera.name} with {kit.lens.name}{under}"


def hours_words(hours: Sequence[bool]) -> str:
    """Hours of the local solar day that work, as ranges.

    Examples
    --------
    >>> hours_words([True] * 3 + [False] * 20 + [True])
    '4 of 24 hours (0 to 2, 23)'
    """
    if not hours:
        return "place or date not given: hours not told"
    if all(hours) or not any(hours):
        return "all 24 hours" if all(hours) else "none of the 24 hours"
    runs = [[h for h, _ in group] for works, group in groupby(enumerate(hours), key=lambda pair: pair[1]) if works]
    parts = [f"{run[0]}" if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs]
    return f"{sum(hours)} of 24 hours ({', '.join(parts)})"


def stands_out_words(hours: Mapping[str, Sequence[bool]]) -> tuple[str, ...]:
    """At which hours each target of a limits card stands out at all; those that are alike together.

    Examples
    --------
    >>> stands_out_words({"a clamp": [True] * 24, "a joint": [True] * 24, "a cell": [False] * 24})
    ('a clamp, a joint: all 24 hours', 'a cell: none of the 24 hours')
    """
    alike: dict[str, list[str]] = {}
    for name, works in hours.items():
        alike.setdefault(hours_words(works), []).append(name)
    return tuple(f"{', '.join(names)}: {words}" for words, names in alike.items())


def question_words(ask: Ask, measures: Measures = METRIC) -> tuple[str, ...]:
    """What is asked, sentence by sentence."""
    of, sky = ask.target, ask.sky
    sides = " x ".join(f"{measures.long_value(s):.2g}" for s in (of.length, of.width, of.height) if s > 0)
    where = "from straight above" if ask.view == "above" else "from the side"
    said = [f"{_task_words(ask, measures)}, {where}, {_stand_off(ask, measures)}."]
    said.append(f"It measures {sides} {measures.long} and is of {of.material}; {_work_words(ask, measures)}.")
    air = f"{measures.temperature(sky.lowest)} to {measures.temperature(sky.highest)}"
    rain = ", rain" if sky.rain else ""
    said.append(
        f"Weather: air {air}, relative humidity {100 * sky.relative_humidity:.0f} %, wind "
        f"{measures.speed(sky.wind_speed)}, cloud {100 * sky.cloud_fraction:.0f} %{rain}."
    )
    near = [name for name, there in (("people", ask.people_near), ("live parts", ask.live_parts)) if there]
    if near:
        said.append(f"Near: {' and '.join(near)}.")
    return tuple(said)


def _task_words(ask: Ask, measures: Measures) -> str:
    if ask.task == "measure":
        over = " over a like thing beside it" if ask.of == "rise" else ""
        return f"To measure the {ask.of} of {ask.target.name}{over}, to {measures.within(ask.accuracy or 0.0)} (95 %)"
    return f"To {ask.task} {ask.target.name} with a probability of {100 * ask.probability:.0f} %"


def _stand_off(ask: Ask, measures: Measures) -> str:
    if ask.distance is not None:
        return f"at {measures.length(ask.distance)}"
    return f"no closer than {measures.length(ask.nearest)} and no farther than {measures.length(ask.highest)}"


def _work_words(ask: Ask, measures: Measures) -> str:
    work = ask.work
    if work.shape == "area":
        return f"{measures.area(work.area)} have to be covered"
    if work.shape == "line":
        return f"{measures.way(work.length)} of line have to be followed"
    if work.shape == "face":
        return f"an upright face of {measures.length(work.face[0])} by {measures.length(work.face[1])}"
    return "one place is looked at"


def answer_words(found: FitFindings, measures: Measures = METRIC) -> str:
    """The answer in two or three sentences."""
    best, count = found.best, len(found.answers)
    if not best.fit:
        reasons = measures.spoken("; ".join(reason.words for reason in best.reasons[:3]))
        nearest = f"{kit_words(best.combination)} comes nearest: {reasons}."
        return f"No: none of the {count} combinations looked at does it. {nearest}"
    how = f"from {measures.length(best.at.distance)}, {_moving(best, measures)}"
    flights = _flights(best)
    others = f"{len(found.fit)} of the {count} combinations looked at are fit" if count > 1 else "It is fit"
    return f"Yes: {kit_words(best.combination)}, {how}{flights}. {others}."


def _moving(answer: Answer, measures: Measures) -> str:
    return f"at {measures.speed(answer.at.speed)}" if answer.at.speed > 0 else "standing still"


def _flights(answer: Answer) -> str:
    if answer.effort is None:
        return ""
    return f", in {_many(answer.effort.flights, 'flight')}"


def why_words(ask: Ask, answer: Answer, measures: Measures = METRIC) -> tuple[str, ...]:
    """What speaks for the answer, point by point; of an unfit one, what stands against it."""
    if not answer.fit:
        return tuple(measures.spoken(f"{reason.kind.capitalize()}: {reason.words}.") for reason in answer.reasons)
    at = answer.at
    long, short = at.pixels
    chances = ", ".join(f"{task} {chance_words(p)}" for task, p in at.probability.items())
    said = [
        f"A pixel spans {measures.short_length(at.ground_sampling)}: {long:.1f} x {short:.1f} pixels on the target; "
        f"the picture shows {measures.length(at.footprint[0])} by {measures.length(at.footprint[1])}.",
        f"Its rise of {measures.difference(at.rise, sign='+')} is {abs(at.contrast):.1f} times the noise and the "
        f"spread of the surroundings, after air that passes {100 * at.transmittance:.0f} % and blur of lens and motion "
        f"({at.smear:.1f} pixels).",
        f"Chance that an observer manages to: {chances}. They compare kits and distances; they are no promise.",
    ]
    if ask.task == "measure":
        said.append(_interval(ask, answer, measures))
    farthest = measures.length(at.distance * (1.0 + answer.margin))
    said.append(f"It would still do at {farthest}: {100 * answer.margin:.0f} % in hand.")
    if answer.hours:
        said.append(f"Works at {hours_words(answer.hours)}, local solar time; the figures are for {at.hour}:00.")
    if answer.effort is not None:
        said.append(_effort(answer, measures))
    return tuple(said)


def _interval(ask: Ask, answer: Answer, measures: Measures) -> str:
    at = answer.at
    if at.interval is None:
        return "It gives no temperature."
    of = "rise" if ask.of == "rise" else "temperature"
    off = f"; the peak alone, uncorrected, would read {measures.difference(at.bias, sign='+')} off" if at.bias else ""
    within = measures.difference(at.interval, sign="±")
    return f"The 95 % interval of the {of} is {within}, corrected for size{off}. Support: {at.support}."


def _effort(answer: Answer, measures: Measures) -> str:
    effort = answer.effort
    if effort is None:
        return ""
    minutes = max(round(effort.seconds / 60), 1)
    does = effort_amount(effort, measures)
    return (
        f"A battery leaves {effort.endurance / 60:.0f} useful minutes: {does}. The work takes "
        f"{_many(minutes, 'minute')} in the air, {_many(effort.flights, 'flight')}."
    )


def chance_words(chance: float) -> str:
    """A probability in words: none is certain, and none is nothing.

    Examples
    --------
    >>> chance_words(0.914), chance_words(0.9999), chance_words(0.0)
    ('91 %', '>99 %', '<1 %')
    """
    return ">99 %" if chance > 0.99 else "<1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def effort_amount(effort: Effort, measures: Measures = METRIC) -> str:
    """What a battery does: an area, a length of line, or a number of looks."""
    amounts = {"m2": measures.area, "m": measures.way}
    return amounts[effort.unit](effort.per_battery) if effort.unit in amounts else f"{effort.per_battery:.0f} looks"


def _many(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def bytes_words(count: float) -> str:
    """An amount of storage.

    Examples
    --------
    >>> bytes_words(7.078e9), bytes_words(13e6)
    ('7.08 GB', '13 MB')
    """
    return f"{count / 1e9:.3g} GB" if count >= 1e9 else f"{count / 1e6:.3g} MB"


def recording_words(advice: RecordingAdvice, answer: Answer, measures: Measures = METRIC) -> tuple[str, ...]:
    """What is enough to record, what leaves most open later, and what either needs."""
    said: list[str] = []
    if advice.enough:
        enough, fullest = advice.way(advice.enough), advice.way(advice.fullest)
        rate = f"at {answer.frame_rate:g} frames a second"
        said.append(f"Enough for this brief: {enough.kind}, {bytes_words(enough.bytes)} for the work {rate}.")
        if fullest != enough:
            said.append(f"{fullest.kind.capitalize()}, {bytes_words(fullest.bytes)}, leave most open later.")
    return tuple(measures.spoken(words) for words in (*said, *advice.notes))


def unfit_words(answers: Sequence[Answer], measures: Measures = METRIC, *, most: int = 4) -> tuple[str, ...]:
    """How many combinations fail of what, and the nearest ones with their reasons."""
    unfit = [a for a in answers if not a.fit]
    if not unfit:
        return ()
    kinds = Counter(reason.kind for a in unfit for reason in {r.kind: r for r in a.reasons}.values())
    counted = ", ".join(f"{kind} {number}" for kind, number in sorted(kinds.items(), key=lambda k: (-k[1], k[0])))
    nearest = {tuple(r.kind for r in a.reasons): a for a in reversed(unfit)}  # the nearest of each set of reasons
    shown = [a for a in unfit if nearest[tuple(r.kind for r in a.reasons)] is a][:most]
    each = [f"{kit_words(a.combination)}: {'; '.join(measures.spoken(r.words) for r in a.reasons)}." for a in shown]
    return (f"{len(unfit)} are unfit, by reason: {counted} (some have several). For example:", *each)


def turn_words(found: FitFindings, measures: Measures = METRIC) -> tuple[str, ...]:
    """What would turn the answer, a line a combination."""
    lines = []
    for turn in found.turns:
        state = "is fit, and would stop being so" if turn.answer.fit else "is unfit, and would become fit"
        changes = "; ".join(measures.spoken(change.words) for change in turn.changes)
        changes = changes or "by no one change of height, speed, lens, hour or aircraft"
        lines.append(f"{kit_words(turn.answer.combination)} {state}: {changes}.")
    return tuple(lines)
