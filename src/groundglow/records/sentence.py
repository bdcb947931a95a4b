"""A brief as a sentence that a client would say."""

from __future__ import annotations

from collections.abc import Sequence

from groundglow.records.brief import Brief, FitQuestion, PlanQuestion, Question

__all__ = ["brief_sentence", "listed"]

TASKS = {"detect": "be detected", "recognise": "be recognised", "identify": "be identified", "measure": "be measured"}
SIGNS = {"hot": "warmer", "cold": "cooler", "both": "warmer or cooler"}


def brief_sentence(brief: Brief) -> str:
    """What a brief asks, in one sentence or a few.

    Examples
    --------
    >>> brief = Brief.parse({"title": "t", "site": {"name": "Mill roof"}, "question": [{"name": "Leaks"}]}, "brief")
    >>> brief_sentence(brief)
    'At Mill roof, show leaks (spots warmer or cooler than around them). Fly no higher than 120 m.'
    """
    asked = [*_looked_for(brief.question), *_fits(brief.fit), *_plans(brief.plan)]
    first = f"At {brief.site.name}, {'; '.join(asked)}"
    asker = f"{brief.client} asks: " if brief.client else ""
    return f"{asker}{first}. {_limits(brief)}"


def listed(parts: Sequence[str]) -> str:
    """Parts with commas and an "and".

    Examples
    --------
    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _looked_for(questions: Sequence[Question]) -> list[str]:
    return [f"show {listed([_question(q) for q in questions])}"] if questions else []


def _question(q: Question) -> str:
    kind = "spots" if q.looking_for == "spot" else "areas"
    words = [f"{kind} {SIGNS[q.sign]} than around them"]
    for low, high, unit in ((q.smallest_m, q.largest_m, "m"), (q.smallest_px, q.largest_px, "px")):
        if low or high:
            words.append(f"{low or 0:g} to {high:g} {unit} across" if high else f"{low:g} {unit} across or more")
    if q.zone:
        words.append(f"in the {q.zone}")
    if q.accuracy_k:
        words.append(f"to within {q.accuracy_k:g} K")
    return f"{_lower(q.name)} ({', '.join(words)})"


def _lower(name: str) -> str:
    """A name within a sentence; one in capitals stays."""
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


def _fits(fits: Sequence[FitQuestion]) -> list[str]:
    return [f"say whether {listed([_fit(q) for q in fits])}"] if fits else []


def _fit(q: FitQuestion) -> str:
    what = (q.target or q.name or "the target").replace("_", " ")
    near = f" from {q.distance}" if q.distance is not None else ""
    close = f" to within {q.accuracy}" if q.task == "measure" and q.accuracy is not None else ""
    return f"{what} can {TASKS[q.task]}{close}{near}"


def _plans(plans: Sequence[PlanQuestion]) -> list[str]:
    return [f"plan {listed([_plan(q) for q in plans])}"] if plans else []


def _plan(q: PlanQuestion) -> str:
    over = q.zone or q.name or "the site"
    fine = f" at {q.sampling} a pixel" if q.sampling is not None else ""
    high = f" from {q.height}" if q.height is not None else ""
    return f"a flight over {over}{fine}{high}"


def _limits(brief: Brief) -> str:
    limits = brief.limits
    said = [f"fly no higher than {limits.highest_m:g} m"]
    said += ["people are near"] if limits.people_near else []
    said += ["live parts are near"] if limits.live_parts else []
    words = listed(said)
    return f"{words[:1].upper()}{words[1:]}."
