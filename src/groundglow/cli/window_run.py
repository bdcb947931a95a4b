"""What ``groundglow window`` does with its options."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from groundglow.cli.show import console
from groundglow.cli.window_show import show_answer, show_pairs
from groundglow.errors import FileError, InputError
from groundglow.frames.weather import WeatherFile, read_weather
from groundglow.job.plan import own_rules, rules_folder
from groundglow.job.window import windows_of_brief
from groundglow.steps.plan.asking import WindowAnswer, window_answer, window_ask
from groundglow.steps.plan.charts import day_chart
from groundglow.steps.plan.pairs import Pair, own_pairs, pairs
from groundglow.steps.plan.window_plain import plain_window

__all__ = ["run_window"]

Given = Mapping[str, Any]
SAME = (
    "date", "air_lowest", "air_highest", "humidity", "wind", "cloud", "load", "ground_height", "distance", "netd",
    "tilt", "azimuth", "flight", "hour", "utc_offset", "no_night",
)  # fmt: skip


def run_window(given: Given) -> int:
    """List pairs, or answer one question, or those of a job."""
    own = own_pairs(given["pairs"]) if given["pairs"] is not None else {}
    if given["what"] is None:
        show_pairs({**pairs(), **own}, as_json=given["as_json"])
        return 0
    file = read_weather(given["weather"]) if given["weather"] is not None else None
    asked = {**_written(given)}
    path = Path(given["what"])
    briefs = windows_of_brief(path, own) if path.exists() else [{"pair": given["what"]}]
    rules = own_rules(given["rules"]) or (rules_folder(path) if path.is_dir() else None)
    found = [_answered({**raw, **asked}, file, own, rules) for raw in briefs]
    _charts(given["chart"], found)
    if given["as_json"]:
        console().print_json(json.dumps({"questions": [plain_window(f) for f in found]}, allow_nan=False))
    elif not given["quiet"]:
        for one in found:
            show_answer(one)
    return 0 if all(f.windows.windows for f in found) else 1


def _answered(raw: Given, file: WeatherFile | None, own: Mapping[str, Pair], rules: Path | None) -> WindowAnswer:
    weather, place = (file.weather, file.place) if file is not None else (None, None)
    return window_answer(window_ask(raw, weather=weather, place=place, own=own, rules=rules))


def _written(given: Given) -> dict[str, Any]:
    raw = {name: given[name] for name in SAME if given[name] not in (None, False)}
    if given["place"] is not None:
        raw["place"] = _degrees(given["place"])
    for name, many in (("rules", given["rule"]), ("levels", given["level"])):
        if many:
            raw[name] = dict(_named(name[:-1], text) for text in many)
    return raw


def _named(option: str, text: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not (name and equals and value):
        raise InputError(f"--{option} {text!r} is not written as NAME=VALUE.")
    return name.strip(), value.strip()


def _degrees(text: str) -> tuple[float, float]:
    try:
        lat, lon = (float(part) for part in text.split(","))
    except ValueError:
        raise InputError(f"--place: {text!r} is no latitude and longitude; write --place 48.1,11.5.") from None
    return lat, lon


def _charts(path: Path | None, found: Sequence[WindowAnswer]) -> None:
    for i, one in enumerate(found if path is not None else (), start=1):
        number = "" if len(found) == 1 else f"-{i}"
        named = path.with_name(f"{path.stem}{number}{path.suffix or '.png'}") if path is not None else Path()
        try:
            named.parent.mkdir(parents=True, exist_ok=True)
            named.write_bytes(day_chart(one))
        except OSError as error:
            raise FileError(named, f"cannot be written ({error.strerror})") from error
