"""What ``groundglow fit`` does with its options."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from groundglow import __version__
from groundglow.cli.fit_show import show_findings
from groundglow.cli.fit_tables import show_card, show_cover, show_kit, show_matrix
from groundglow.cli.show import console
from groundglow.errors import FileError, InputError
from groundglow.kit.fleet import Fleet, check_kit, fleet_with
from groundglow.kit.place_of_use import UseTable, use_table
from groundglow.paper.measures import Measures
from groundglow.records.brief import FitQuestion, Limits, Site
from groundglow.records.fit import Ask
from groundglow.records.kit import Combination
from groundglow.records.quantity import quantity
from groundglow.steps.fit import (
    FitFindings,
    Setting,
    ask_of,
    chosen_combinations,
    fit_findings,
    kit_matrix,
    limits_card,
    smallest_cover,
)
from groundglow.steps.fit.card import Card
from groundglow.steps.fit.card_sheet import card_sheet
from groundglow.steps.fit.plain import plain_card, plain_cover, plain_findings, plain_kit, plain_matrix
from groundglow.steps.fit.sheet import Heading, recommendation_sheet, sheet_pictures

__all__ = ["run_fit"]

Given = Mapping[str, Any]

#: Name of a thing that was described on the command line.
OWN = "the thing described"
#: Options that go into a question under another name, or under their own.
RENAMED = {"along": "length_of_line", "frame_rate": "highest_frame_rate"}
#: Fields of a question -> their options.
OPTIONS = {"distance": "from"} | {field: option.replace("_", "-") for option, field in RENAMED.items()}
SAME = (
    "target", "length", "width", "height", "material", "background", "rise", "temperature", "clutter", "task",
    "probability", "accuracy", "of", "view", "distance", "nearest", "highest", "area", "date", "hour", "ground_height",
    "air_lowest", "air_highest", "humidity", "wind", "cloud", "visibility", "rain", "load", "speed", "people_near",
    "live_parts", "budget", "recording", "bought_in", "used_in", "end_user", "end_use", "temporary",
)  # fmt: skip


def run_fit(given: Given) -> int:
    """Check a kit, show a matrix or a card, or answer questions."""
    if given["units"] not in ("m", "ft"):
        raise InputError(f"--units is {given['units']!r}; allowed m or ft.")
    if given["check_kit"] is not None:
        return _check(given)
    fleet = fleet_with(given["kit"])
    if given["matrix"]:
        return _matrix(given, fleet)
    if given["card"]:
        return _cards(given, fleet)
    if given["briefs"]:
        return _briefs(given, fleet)
    return _one_line(given, fleet)


def _check(given: Given) -> int:
    fleet, faults = check_kit(given["check_kit"])
    if given["as_json"]:
        _print_json(plain_kit(fleet, faults))
    else:
        show_kit(given["check_kit"], fleet, faults, quiet=given["quiet"])
    return 2 if faults else 0


def _matrix(given: Given, fleet: Fleet) -> int:
    wind = 3.0 if given["wind"] is None else quantity(given["wind"], "speed", "--wind")
    found = kit_matrix(tuple(fleet.cameras.values()), tuple(fleet.aircraft.values()), wind=wind)
    if given["sheet"] is not None:
        from groundglow.steps.fit.matrix_sheet import HEADING, matrix_sheet

        _write(given["sheet"], matrix_sheet(found, replace(HEADING, measures=Measures(given["units"]))))
    if given["as_json"]:
        _print_json(plain_matrix(found))
    elif not given["quiet"]:
        show_matrix(found, Measures(given["units"]))
    return 0


def _kits(given: Given, fleet: Fleet) -> tuple[Combination, ...]:
    named = {name: given[name] for name in ("camera", "lens", "aircraft")}
    if not any(named.values()):
        return fleet.owned
    return chosen_combinations(fleet, **named)


def _cards(given: Given, fleet: Fleet) -> int:
    kits = _kits(given, fleet)
    if not kits:
        raise InputError("--card needs a kit: name --camera, or list yours under [[owned]] in --kit FILE.")
    cards = [limits_card(kit) for kit in kits]
    if given["sheet"] is not None:
        _card_sheets(given, cards)
    if given["as_json"]:
        _print_json({"cards": [plain_card(card) for card in cards]})
    elif not given["quiet"]:
        for card in cards:
            show_card(card, Measures(given["units"]))
    return 0


def _card_sheets(given: Given, cards: Sequence[Card]) -> None:
    """A page a kit, numbered where there are several."""
    path: Path = given["sheet"]
    heading = Heading("What can this kit do?", version=__version__, measures=Measures(given["units"]))
    for i, card in enumerate(cards):
        number = "" if len(cards) == 1 else f"-{i + 1}"
        _write(path.with_name(f"{path.stem}{number}{path.suffix}"), card_sheet(card, heading))


def _briefs(given: Given, fleet: Fleet) -> int:
    """Questions of briefs; what a job needs is imported when there is one."""
    from groundglow.cli.fit_briefs import answers_of_briefs

    return _tell(given, answers_of_briefs(given, fleet, lambda ask: _answered(given, fleet, ask)))


def _one_line(given: Given, fleet: Fleet) -> int:
    if given["target"] is None and given["length"] is None:
        raise InputError(
            "Nothing was asked: name a JOB with [[fit]] in its brief.toml, or ask here, such as "
            "`groundglow fit --target person --from 80m`. --check-kit, --card and --matrix need no question."
        )
    return _tell(given, [_answered(given, fleet, _asked(given, fleet))])


def _asked(given: Given, fleet: Fleet) -> Ask:
    raw = {name: given[name] for name in SAME if given[name] is not None}
    raw |= {field: given[name] for name, field in RENAMED.items() if given[name] is not None}
    if given["face"] is not None:
        raw["face"] = _pair("face", given["face"])
    site = Site(name="")
    if given["place"] is not None:
        lat, lon = (_degrees(text) for text in _pair("place", given["place"]))
        site = Site.parse({"name": "", "lat_deg": lat, "lon_deg": lon}, "--place LAT,LON")
    question = FitQuestion.parse({**raw, "name": OWN}, "fit")
    try:
        ask = ask_of(question, Setting(site, Limits(), targets=fleet.targets))
    except InputError as error:
        raise InputError(_by_option(str(error))) from error
    return replace(ask, name=ask.target.name)


def _by_option(words: str) -> str:
    """An error about a field of the question, by the name of its option."""
    said = words.removeprefix(f"{OWN}: ")
    field, colon, rest = said.partition(": ")
    if not colon or field not in FitQuestion.model_fields:
        return said
    return f"--{OPTIONS.get(field, field.replace('_', '-'))}: {rest}"


def _pair(name: str, text: str) -> tuple[str, str]:
    first, comma, second = text.partition(",")
    if not comma:
        raise InputError(f"--{name} {text!r} is not written as two values with a comma between.")
    return first.strip(), second.strip()


def _degrees(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(f"--place: {text!r} is no number of degrees; write --place 48.1,11.5.") from None


def _table(given: Given) -> UseTable:
    path: Path | None = given["use_table"]
    return use_table(path) if path is not None else use_table()


def _answered(given: Given, fleet: Fleet, ask: Ask) -> FitFindings:
    named = {name: given[name] for name in ("camera", "lens", "aircraft")}
    return fit_findings(ask, chosen_combinations(fleet, **named), owned=fleet.owned, table=_table(given))


def _tell(given: Given, found: Sequence[FitFindings]) -> int:
    cover = smallest_cover({f.ask.name: f.answers for f in found}) if len(found) > 1 else None
    if given["sheet"] is not None or given["pictures"] is not None:
        _sheets(given, found)
    if given["as_json"]:
        plain: dict[str, Any] = {"questions": [plain_findings(f, given["top"]) for f in found]}
        _print_json(plain | ({"smallest_set": plain_cover(cover)} if cover else {}))
    elif not given["quiet"]:
        for f in found:
            show_findings(f, Measures(given["units"]), top=given["top"])
        if cover:
            show_cover(cover)
    return 0 if all(f.fit for f in found) else 1


def _sheets(given: Given, found: Sequence[FitFindings]) -> None:
    """Sheets and pictures, numbered where there are several questions."""
    path: Path | None = given["sheet"]
    heading = Heading("Can it be seen?", version=__version__, measures=Measures(given["units"]))
    for i, f in enumerate(found):
        number = "" if len(found) == 1 else f"-{i + 1}"
        drawn = sheet_pictures(f, heading.measures)
        if path is not None:
            one = path.with_name(f"{path.stem}{number}{path.suffix}")
            _write(one, recommendation_sheet(f, heading, pictures=drawn))
        for name, png in drawn.items() if given["pictures"] is not None else ():
            _write(given["pictures"] / f"{Path(name).stem}{number}.png", png)


def _write(path: Path, content: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    except OSError as error:
        raise FileError(path, f"cannot be written ({error.strerror})") from error


def _print_json(plain: Mapping[str, Any]) -> None:
    console().print_json(json.dumps(plain, allow_nan=False))
