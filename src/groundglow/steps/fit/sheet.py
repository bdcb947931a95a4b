"""The recommendation for a client: two pages with the question, the answer, why, views, tables, cautions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from typing import Any, Final

from groundglow.paper.measures import METRIC, Measures
from groundglow.paper.typeset import typeset
from groundglow.records.fit import Answer
from groundglow.steps.fit.charts import geometry_chart
from groundglow.steps.fit.findings import FitFindings
from groundglow.steps.fit.outlook import looks_of, strip_of, views_of
from groundglow.steps.fit.recording import RecordingAdvice, advice_for
from groundglow.steps.fit.telling import (
    answer_words,
    bytes_words,
    chance_words,
    question_words,
    recording_words,
    turn_words,
    unfit_words,
    why_words,
)
from groundglow.steps.fit.upgrade import Upgrade

__all__ = ["CHARTS", "STRIP", "VIEWS", "Heading", "recommendation_sheet", "sheet_contents", "sheet_pictures"]

TEMPLATE: Final = "sheet.typ"
#: Most rows of a table.
MOST_ROWS: Final = 6
#: Names of the pictures.
VIEWS, STRIP, CHARTS = "views.png", "strip.png", "charts.png"


@dataclass(frozen=True)
class Heading:
    """What stands above the sheet, and in which units it speaks. ``date`` is year, month, day of the document."""

    title: str
    site: str = ""
    client: str = ""
    prepared_by: str = ""
    asked_on: str = ""
    date: tuple[int, int, int] = (2000, 1, 1)
    version: str = ""
    measures: Measures = field(default=METRIC)


def recommendation_sheet(
    found: FitFindings,
    heading: Heading,
    *,
    pictures: Mapping[str, bytes] | None = None,
) -> bytes:
    """The two pages as a PDF; the same findings and heading give the same bytes.

    Parameters
    ----------
    found : FitFindings
    heading : Heading
    pictures : mapping, optional
        `sheet_pictures` of the same findings, where they were made already.

    Returns
    -------
    bytes

    Raises
    ------
    GroundglowError
        When the typesetter refuses.
    """
    drawn = sheet_pictures(found, heading.measures) if pictures is None else pictures
    data = sheet_contents(found, heading, pictures=drawn)
    return typeset(files(__package__).joinpath(TEMPLATE), data, drawn)


def sheet_pictures(found: FitFindings, measures: Measures = METRIC) -> dict[str, bytes]:
    """PNG pictures by name: views side by side, charts, and a strip of frames where frame rates matter."""
    ask = found.ask
    seen = looks_of(ask, found.answers)
    kits = [a.combination for a in found.answers]
    pictures = {VIEWS: views_of(ask, seen, measures), CHARTS: geometry_chart(ask, kits, measures)}
    strip = strip_of(seen[0], measures) if _rates_matter(found) else None
    return pictures | ({STRIP: strip} if strip else {})


def _rates_matter(found: FitFindings) -> bool:
    use = found.ask.use
    return found.ask.highest_frame_rate is not None or bool(use.bought_in or use.used_in)


def sheet_contents(found: FitFindings, heading: Heading, *, pictures: Mapping[str, bytes]) -> dict[str, Any]:
    """Data for the template; JSON types only."""
    ask, measures = found.ask, heading.measures
    advice = advice_for(ask, found.best)
    return {
        **{name: getattr(heading, name) for name in ("title", "site", "client", "prepared_by", "asked_on", "version")},
        "date": list(heading.date),
        "question": list(question_words(ask, measures)),
        "answer": answer_words(found, measures),
        "why": list(why_words(ask, found.best, measures)),
        "pictures_first": [_picture(n, 72 if STRIP in pictures else 100) for n in (VIEWS, STRIP) if n in pictures],
        "pictures_second": [_picture(CHARTS, 80 if found.place_of_use else 100)],
        "fit_head": ["", "Kit", "From", "Pixels", _measure_head(found), "Reach", "Flights", "In hand"],
        "fit": [_fit_row(a, found, measures) for a in found.fit[:MOST_ROWS]],
        "fit_note": _fit_note(found),
        "rule": found.rule,
        "unfit": list(unfit_words(found.answers, measures)),
        "turns": list(turn_words(found, measures)),
        "upgrades": [_upgrade_row(u, found) for u in found.upgrades[:MOST_ROWS]],
        "recording": _recording_rows(advice),
        "recording_notes": list(recording_words(advice, found.best, measures)),
        "assumed": [measures.spoken(words) for words in found.assumed],
        "cautions": [measures.spoken(words) for words in found.cautions],
        "place_of_use": list(found.place_of_use),
    }


def _picture(name: str, width: int) -> dict[str, Any]:
    """File, words for who cannot see it, and per cent of the page's width."""
    alt = {
        VIEWS: "Simulated views of the target by several kits from two distances on one grey scale",
        STRIP: "Simulated successive frames at two frame rates along a time line",
        CHARTS: "Charts of pixels on the target and of the ground in the picture by lens and distance",
    }
    return {"file": name, "alt": alt[name], "width": width}


def _measure_head(found: FitFindings) -> str:
    return "Interval" if found.ask.task == "measure" else found.ask.task.capitalize()


def _fit_row(answer: Answer, found: FitFindings, measures: Measures) -> list[str]:
    at, task = answer.at, found.ask.task
    kit = answer.combination
    under = f" / {kit.aircraft.name}" if kit.aircraft else ""
    reads = task == "measure" and at.interval is not None
    does = measures.difference(at.interval or 0.0, sign="±") if reads else _chance(answer, task)
    return [
        f"{answer.rank}{'•' if answer.pareto else ''}",
        f"{kit.camera.name}, {kit.lens.focal_length * 1e3:.3g} mm{under}",
        measures.length(at.distance),
        f"{at.pixels[0]:.0f} x {at.pixels[1]:.0f}",
        does,
        measures.length(at.distance * (1.0 + answer.margin)),
        str(answer.effort.flights) if answer.effort else "",
        f"{100 * answer.margin:.0f} %",
    ]


def _chance(answer: Answer, task: str) -> str:
    chance = answer.at.probability.get(task)
    return chance_words(chance) if chance is not None else ""


def _fit_note(found: FitFindings) -> str:
    more = len(found.fit) - MOST_ROWS
    said = "• none of the others is better in all of these." if any(a.pareto for a in found.fit) else ""
    return f"{said} {more} more are fit." if more > 0 else said


def _upgrade_row(step: Upgrade, found: FitFindings) -> list[str]:
    kit = step.owned.combination
    gain = "from none" if step.gain == float("inf") else f"{step.gain:.1f} times"
    price = f"{step.price:,.0f} {found.ask.currency}".rstrip() if step.price is not None else "not given"
    under = f" / {kit.aircraft.name}" if kit.aircraft else ""
    return [f"{kit.camera.name}, {kit.lens.focal_length * 1e3:.3g} mm{under}", ", ".join(step.names), gain, price]


def _recording_rows(advice: RecordingAdvice) -> list[list[str]]:
    """The ways that this camera offers."""
    offered = [way for way in advice.ways if way.offered]
    return [[w.kind, f"{w.keeps}; loses {w.loses}", bytes_words(w.bytes_an_hour), w.verdict] for w in offered]
