"""The pilot's card: one page with all that is set and looked at on the day, as PDF and as HTML for a phone."""

from __future__ import annotations

import base64
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from importlib.resources import files
from string import Template
from typing import Any, Final

import numpy as np

from groundglow import __version__
from groundglow.paper.typeset import typeset
from groundglow.records.kit import Combination
from groundglow.records.plan import KINDS, Plan, Sortie
from groundglow.steps.plan.asking import WindowAnswer
from groundglow.steps.plan.charts import clock, day_chart, local_date, open_span
from groundglow.steps.plan.map import SEEN, plan_map
from groundglow.steps.plan.plain import storage_text
from groundglow.steps.plan.windows import TWILIGHT

__all__ = ["Card", "Section", "card_html", "card_of", "card_pdf"]

_ZERO_C: Final = 273.15
_WARM_UP: Final = "10 to 15 min"
#: Most sorties that the page has room for.
MOST_SORTIES: Final = 8
OWN_LINES: Final = 4
_CAUTIONS: Final = (
    "Keep the aircraft in sight and below the height that is allowed here.",
    "Never over people who are not part of it. Keep away from live parts: distances are for licensed persons.",
    "Batteries burn: carry a means against fire; fly near fire only as the incident's leader says.",
)


@dataclass(frozen=True)
class Section:
    """A heading with rows of name and value, or with boxes to tick where ``ticks``."""

    title: str
    rows: tuple[tuple[str, str], ...] = ()
    ticks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Card:
    """What stands on the card; ``pictures`` by name, PNG, with their descriptions."""

    title: str
    under: str
    sections: tuple[Section, ...]
    cautions: tuple[str, ...]
    pictures: Mapping[str, bytes] = field(default_factory=dict)
    descriptions: Mapping[str, str] = field(default_factory=dict)
    unmet: tuple[str, ...] = ()


def card_of(
    plan: Plan, kit: Combination, found: WindowAnswer | None = None, *, recording: str = "", site: str = ""
) -> Card:
    """The card of a plan.

    Parameters
    ----------
    plan : Plan
    kit : Combination
        That it was made for.
    found : WindowAnswer, optional
        The answer about the hour; without it the card leaves room to write in.
    recording : str
        Kind of recording; empty: the first that keeps temperatures.
    site : str
        Its name.
    """
    sections = [
        _fly(plan), _record(kit, recording, found), _when(found), _enter(found), _levels(found), _sorties(plan),
        _before(kit), *_night(found), _after(),
    ]  # fmt: skip
    pictures = {"map.png": plan_map(plan)}
    told = {"map.png": f"Map of {len(plan.lines)} lines in {len(plan.sorties)} sorties with coverage"}
    if found is not None:
        pictures["day.png"] = day_chart(found)
        told["day.png"] = f"Temperatures and contrast of {found.ask.pair.name} through the day with open windows"
    own = tuple(found.cautions[1:]) if found is not None else ()
    under = f"{site or plan.name} · {KINDS[plan.kind]} · {plan.kit}"
    said = tuple(dict.fromkeys((*plan.cautions, *_CAUTIONS, *own)))
    return Card(f"Pilot's card: {plan.name}", under, tuple(sections), said, pictures, told, plan.unmet)


def _fly(plan: Plan) -> Section:
    rows = [
        ("height above ground", f"{plan.height:.0f} m"),
        ("speed over ground", f"{plan.speed:.1f} m/s, {_moving(plan)}"),
        ("overlap along, across", f"{100 * plan.forward_overlap:.0f} %, {100 * plan.side_overlap:.0f} %"),
        ("frame every", f"{plan.interval:.1f} s, {plan.base:.1f} m"),
        ("lines", f"{len(plan.lines)}, {plan.spacing:.1f} m apart, heading {math.degrees(plan.heading) % 360:.0f}°"),
        ("ground sampling", f"{100 * plan.sampling:.1f} cm"),
        ("frames, storage", f"{plan.frames}, {storage_text(plan.storage)}"),
    ]
    return Section("Fly", tuple(rows))


def _moving(plan: Plan) -> str:
    hold = plan.settings.get("hold_s", 0.0)
    return f"stop {hold:g} s at each frame" if hold else f"smear {plan.smear:.1f} px"


def _record(kit: Combination, recording: str, found: WindowAnswer | None) -> Section:
    kind = recording or (kit.camera.records[0] if kit.camera.records else "as the camera does")
    rows = [("kind", kind)]
    warmest = None if found is None else float(max(found.day.seen_target.max(), found.day.seen_background.max()))
    fitting = [r for r in kit.camera.ranges if warmest is None or r[1] >= warmest + 10.0]
    if fitting:
        low, high = min(fitting, key=lambda r: r[1] - r[0])
        rows.append(("range", f"{low - _ZERO_C:.0f} to {high - _ZERO_C:.0f} °C"))
    else:
        rows.append(("range", "not calibrated" if not kit.camera.ranges else "none holds the warmest: say so"))
    rows.append(("gain and level", "manual and the same for the whole flight"))
    return Section("Record", tuple(rows))


def _when(found: WindowAnswer | None) -> Section:
    if found is None:
        return Section("When", (("window", "…………………… (groundglow window)"),))
    off = found.ask.offset
    rows = [("day, local time", f"{local_date(found)}, UTC{off / 3600:+g} h")]
    for w in found.windows.windows[:3]:
        rows.append((f"window {w.rank}", f"{open_span(w, found.day, off)}, best from {clock(w.best, off)} ({w.light})"))
    if not found.windows.windows:
        rows.append(("window", "none keeps the rules on this day"))
    cross = ", ".join(f"{clock(c.time, off)} ± {1.96 * c.standard_uncertainty / 60:.0f} min" for c in found.crossovers)
    rows.append(("crossover, no contrast", cross or "none"))
    levels = found.levels
    rows.append(("contrast expected", f"{levels.contrast:+.1f} K at {clock(levels.time, off)}"))
    return Section("When", tuple(rows))


def _enter(found: WindowAnswer | None) -> Section:
    if found is None:
        return Section("Enter in the camera", (("", "emissivity 1, reflected and air as read on site, distance"),))
    day = found.day
    at = int(np.argmin(np.abs(day.time - found.levels.time)))
    air, moist = (float(day.series[n][at]) for n in ("air_temperature", "relative_humidity"))
    rows = [
        ("emissivity", f"{day.emissivity:.2f} ({found.ask.pair.material})"),
        ("reflected", f"{day.reflected[at] - _ZERO_C:.0f} °C"),
        ("air, humidity", f"{air - _ZERO_C:.0f} °C, {100 * moist:.0f} %"),
        ("distance", f"{day.eye.distance:.0f} m"),
    ]
    return Section("Enter in the camera (read again on site)", tuple(rows))


def _levels(found: WindowAnswer | None) -> Section:
    if found is None:
        return Section("Levels", (("isotherm", "……………………"),))
    levels = found.levels
    side = "over" if levels.hot else "under"
    near, far = sorted(abs(v) for v in levels.band)
    rows = [
        (
            "surroundings",
            f"read them first; {levels.background - _ZERO_C:.0f} °C ± {1.96 * levels.background_sd:.0f} expected",
        ),
        ("isotherm", f"{near:.1f} to {far:.1f} K {side} what was read"),
        ("finds, false cues", _shares(levels.expected.relative)),
        *((f"{v.name}: {v.rise:+.1f} K", f"{_shares(v.relative)} ({v.source})") for v in levels.others[:3]),
    ]
    return Section("Levels", tuple(rows))


def _shares(shares: Any) -> str:
    false = 100 * shares.false_cues
    return f"{100 * shares.detected:.0f} % of pixels, {f'{false:.2g}' if false >= 0.001 else 'below 0.001'} %"


def _sorties(plan: Plan) -> Section:
    rows = [_sortie(sortie) for sortie in plan.sorties[:MOST_SORTIES]]
    if len(plan.sorties) > MOST_SORTIES:
        rest = plan.sorties[MOST_SORTIES:]
        rows.append((f"and {len(rest)} more", f"{sum(s.duration for s in rest) / 60:.0f} min, see the waypoints"))
    sets = "set" if len(plan.sorties) == 1 else "sets"
    return Section(f"Batteries: {len(plan.sorties)} {sets}", tuple(rows))


def _sortie(sortie: Sortie) -> tuple[str, str]:
    minutes = f"{sortie.duration / 60:.0f} of {sortie.available / 60:.0f} min"
    where = f"{sortie.number}, day {sortie.day}, {sortie.take_off}"
    return where, f"{minutes}, {len(sortie.lines)} lines, {sortie.frames} frames"


def _before(kit: Combination) -> Section:
    own = f"{kit.camera.warm_up / 60:.0f} min by its data" if kit.camera.warm_up > 900.0 else _WARM_UP
    return Section("Before take-off", ticks=(
        f"camera on for {own} (common practice)", "focus on something far, then leave it",
        "clocks of camera, aircraft and notes set alike", "shutter before each line",
        "reference targets out and measured", "air, humidity, wind, sky noted",
    ))  # fmt: skip


def _night(found: WindowAnswer | None) -> list[Section]:
    """Only where a window lies in twilight or night."""
    if found is None or all(w.light == "day" for w in found.windows.windows):
        return []
    day, off = found.day, found.ask.offset
    turns = []
    for angle, name in ((0.0, "sun"), (math.radians(TWILIGHT), "civil twilight")):
        above = day.sun >= angle
        for i in (np.flatnonzero(above[1:] != above[:-1]) + 1).tolist():
            turns.append(
                (float(day.time[i]), f"{name} {'from' if above[i] else 'until'} {clock(float(day.time[i]), off)}")
            )
    limits = [words for _, words in sorted(turns)]
    ticks = (", ".join(limits) or "no change of light", "lights on the aircraft; leave to fly by night checked",
             "observers placed; site walked by daylight")  # fmt: skip
    return [Section("Twilight and night", ticks=ticks)]


def _after() -> Section:
    return Section("After landing, before leaving", ticks=(
        "number of frames as planned; groundglow check", "sharpness, saturation, gaps",
        "reference targets read again", "second copy of the card",
    ))  # fmt: skip


def card_pdf(card: Card) -> bytes:
    """One page; the same card gives the same bytes.

    Raises
    ------
    GroundglowError
        When the typesetter refuses.
    """
    return typeset(files(__package__).joinpath("card.typ"), _contents(card), card.pictures)


def _contents(card: Card) -> dict[str, Any]:
    half = next((i for i, s in enumerate(card.sections) if s.ticks), len(card.sections))
    parts = [{"title": s.title, "rows": [list(r) for r in s.rows], "ticks": list(s.ticks)} for s in card.sections]
    return {
        "title": card.title, "under": card.under, "version": __version__, "unmet": list(card.unmet),
        "left": parts[:half], "right": parts[half:], "cautions": list(card.cautions), "own": OWN_LINES,
        "pictures": [{"name": n, "alt": card.descriptions[n]} for n in card.pictures],
    }  # fmt: skip


def card_html(card: Card) -> str:
    """The card for a phone: one file, pictures inside, no script, nothing from outside."""
    page = Template(files(__package__).joinpath("card.html").read_text("utf-8"))
    pictures = "".join(
        f'<img src="data:image/png;base64,{base64.b64encode(png).decode()}" alt="{escape(card.descriptions[n])}">'
        for n, png in card.pictures.items()
    )
    unmet = _list(card.unmet, "The plan does not meet its brief")
    return page.substitute(
        title=escape(card.title), under=escape(card.under), unmet=unmet, pictures=pictures,
        key=_key(), sections="".join(_section(s) for s in card.sections), cautions=_list(card.cautions, "Mind"),
        own="".join('<li><input type="text" aria-label="own check"></li>' for _ in range(OWN_LINES)),
        version=escape(__version__),
    )  # fmt: skip


def _key() -> str:
    """Of the map, as text: its own is small on a phone."""
    shades = ((f"rgb{colour}", words) for _, colour, words in SEEN)
    chips = ", ".join(f'<b><span style="background:{colour}"></span>{escape(words)}</b>' for colour, words in shades)
    return f'<p class="key">Frames that show a place: {chips}. Dashed red: no-fly. Numbers: where sorties begin.</p>'


def _section(section: Section) -> str:
    rows = "".join(f"<dt>{escape(a)}</dt><dd>{escape(b)}</dd>" for a, b in section.rows)
    ticks = "".join(f'<li><label><input type="checkbox"> {escape(t)}</label></li>' for t in section.ticks)
    inner = (f"<dl>{rows}</dl>" if rows else "") + (f'<ul class="ticks">{ticks}</ul>' if ticks else "")
    return f"<section><h2>{escape(section.title)}</h2>{inner}</section>"


def _list(lines: Sequence[str], title: str) -> str:
    if not lines:
        return ""
    told = "".join(f"<li>{escape(line)}</li>" for line in lines)
    return f'<section class="mind"><h2>{escape(title)}</h2><ul>{told}</ul></section>'
