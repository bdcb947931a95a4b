"""What ``read``, ``budget`` and ``lesson`` do with their options."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from groundglow.cli.ask_show import (
    show_budget,
    show_lesson,
    show_lessons,
    show_readings,
    write_profiles,
)
from groundglow.cli.show import console
from groundglow.errors import FileError, InputError
from groundglow.job.setting import Asked, accuracy_of, camera_said, setting_of
from groundglow.steps.measure.asking.explaining import Explanation, explain, explain_pixel
from groundglow.steps.measure.asking.knowns import (
    Known,
    Made,
    Said,
    distance_said,
    emissivity_said,
    reflected_said,
    weather_said,
)
from groundglow.steps.measure.asking.lessons import LESSONS, lesson_sheet
from groundglow.steps.measure.asking.plain import assumed_of, plain_budget, plain_lesson, plain_readings
from groundglow.steps.measure.asking.reading import read_regions, rise_of
from groundglow.steps.measure.asking.regions import parse_regions
from groundglow.steps.measure.asking.scene import Scene
from groundglow.steps.measure.asking.sensor import received_of_black_body, sensor_of
from groundglow.steps.measure.frame import band_and_table
from groundglow.steps.measure.surfaces import MIXED_GROUND

__all__ = ["run_budget", "run_lesson", "run_read"]

Given = Mapping[str, Any]

ZERO_CELSIUS = 273.15
#: Options of the scene that hold for all regions, and the field of `Said` each fills.
SCENE = {
    "emissivity_sd": "emissivity_sd",
    "reflected_sd": "reflected_sd_k",
    "air": "air_c",
    "air_sd": "air_sd_k",
    "humidity": "humidity_pct",
    "humidity_sd": "humidity_sd_pct",
    "pressure": "pressure_hpa",
    "cloud": "cloud",
    "cloud_sd": "cloud_sd",
    "distance": "distance_m",
    "distance_sd": "distance_sd_m",
    "tilt": "tilt_deg",
    "view_angle": "view_angle_deg",
}
CAMERA = {
    "pitch": "pitch_um",
    "focal": "focal_mm",
    "f_number": "f_number",
    "netd": "netd_mk",
    "drift_sd": "drift_k",
    "pattern_sd": "pattern_k",
}


def run_read(given: Given) -> int:
    """Read a frame."""
    path: Path = given["frame"]
    kinds = (
        ("point", "point"),
        ("rectangle", "region"),
        ("disc", "disc"),
        ("polygon", "polygon"),
        ("line", "profile"),
    )
    regions = parse_regions([(kind, given[name] or []) for kind, name in kinds])  # type: ignore[misc]
    if not regions:
        raise InputError("Nothing was asked for: give --point, --region, --disc, --polygon or --profile.")
    setting = setting_of(path, asked_of(given))
    labels = {r.label for r in regions}
    sizes = {label: _size(text) for label, text in _labelled("target-size", given["target_size"], labels)}
    accuracy = given["accuracy"] if given["accuracy"] is not None else accuracy_of(path)
    readings = read_regions(setting, regions, sizes=sizes, accuracy=accuracy)
    rises = [rise_of(readings, _pair(text)) for text in given["rise"] or []]
    lines = _write_csv(given["csv"], readings)
    if given["as_json"]:
        known = assumed_of(setting, readings)
        _print_json(plain_readings(path.name, readings, rises, known, setting.notes))
        return 0
    show_readings(setting, readings, rises)
    if lines:
        console().print(f"{lines} line(s) written to {given['csv']}", soft_wrap=True)
    return 0


def _write_csv(path: Path | None, readings: Sequence[Any]) -> int:
    if path is None:
        return 0
    if not any(r.profile for r in readings):
        raise InputError("--csv writes the pixels of lines; give a --profile.")
    try:
        return write_profiles(path, readings)
    except OSError as error:
        raise FileError(path, f"cannot be written ({error.strerror})") from error


def asked_of(given: Given) -> Asked:
    """What was said, from the options."""
    scene = Said(**{field: given[name] for name, field in SCENE.items()}, reflected_c=_reflected(given["reflected"]))
    said: dict[str, Said] = {"": scene}
    for label, text in _labelled("emissivity", given["emissivity"], None):
        said[label] = replace(said.get(label, scene), emissivity=_number("emissivity", text))
    for label, text in _labelled("material", given["material"], None):
        said[label] = replace(said.get(label, scene), material=text)
    values = {"kind": given["values"], "scale": given["scale"], "offset": given["offset"], "unit": given["unit"]}
    camera = {field: given.get(name) for name, field in CAMERA.items()} | {"band_um": _band(given["band"])}
    return Asked(
        said,
        {k: v for k, v in values.items() if v is not None},
        camera,
        given["camera"],
        given["calibration_sd"],
    )


def _labelled(option: str, texts: Sequence[str] | None, labels: set[str] | None) -> list[tuple[str, str]]:
    """Pairs of label and text; the label is empty where none was given."""
    found = []
    for text in texts or []:
        label, equals, rest = text.partition("=")
        pair = (label.strip(), rest.strip()) if equals else ("", text.strip())
        if labels is not None and pair[0] and pair[0] not in labels:
            raise InputError(f"--{option} {text!r}: there is no region {pair[0]!r}; there are {', '.join(labels)}.")
        found.append(pair)
    return found


def _number(option: str, text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(f"--{option}: {text!r} is no number.") from None


def _size(text: str) -> float:
    size = math.inf if text == "large" else _number("target-size", text)
    if not size > 0:
        raise InputError(f"--target-size: {text!r} is no size; give metres above 0, or large.")
    return size


def _reflected(text: str | None) -> float | None:
    return None if text in (None, "sky") else _number("reflected", text)


def _pair(text: str) -> tuple[str, str]:
    first, colon, second = text.partition(":")
    if not colon:
        raise InputError(f"--rise {text!r} is not written as A:B, two labels.")
    return first.strip(), second.strip()


def _band(text: str | None) -> tuple[float, float] | None:
    if text is None:
        return None
    low, dash, high = text.partition("-")
    if not dash:
        raise InputError(f"--band {text!r} is not written as LOW-HIGH in um, such as 7.5-13.5.")
    return _number("band", low), _number("band", high)


def run_budget(given: Given) -> int:
    """Explain one reading."""
    found, knowns, notes = _of_frame(given) if given["frame"] is not None else _typed_in(given)
    if given["chart"] is not None:
        _draw(found, given["chart"])
    if given["as_json"]:
        _print_json(plain_budget(found, knowns, notes))
        return 0
    show_budget(found, knowns, notes)
    if given["chart"] is not None:
        console().print(f"drawn: {given['chart']}", soft_wrap=True)
    return 0


def _draw(found: Explanation, path: Path) -> None:
    from groundglow.steps.measure.asking.charts import budget_chart

    try:
        path.write_bytes(budget_chart(found))
    except OSError as error:
        raise FileError(path, f"cannot be written ({error.strerror})") from error


def _typed_in(given: Given) -> tuple[Explanation, list[Known], tuple[str, ...]]:
    if given["apparent"] is None:
        raise InputError("Give --apparent, what the camera showed at emissivity 1, in C; or a FRAME with --point.")
    if given["point"] or given["values"]:
        raise InputError("--point and --values belong to a FRAME; none was given.")
    asked = asked_of(given)
    camera = camera_said(asked)
    _, table = band_and_table(*camera.band_um)
    said, sensor = asked.scene, sensor_of(camera, asked.calibration_sd_k)
    scene = Scene(table, _made(said, camera.band_um), weather_said(said), distance_said(said), reflected_said(said))
    received = received_of_black_body(table, given["apparent"] + ZERO_CELSIUS, scene.distance.value, sensor)
    return explain(scene, received, sensor), [*scene.knowns, *sensor.knowns], ()


def _made(said: Said, band_um: tuple[float, float]) -> Made:
    made = emissivity_said(said, f"{band_um[0]:g}-{band_um[1]:g}")
    nothing = Known("emissivity", *MIXED_GROUND, "", "assumed", "assumed")
    return made or Made("mixed ground", nothing, False, 0.0)


def _of_frame(given: Given) -> tuple[Explanation, list[Known], tuple[str, ...]]:
    if given["apparent"] is not None:
        raise InputError("--apparent is for a reading typed in; a FRAME brings its own. Leave one out.")
    regions = parse_regions([("point", given["point"] or [])])
    if len(regions) != 1:
        raise InputError(f"budget explains one pixel of a frame: give one --point, found {len(regions)}.")
    setting = setting_of(given["frame"], asked_of(given))
    found = explain_pixel(setting, regions[0])
    sensor = [k for k in setting.sensor.knowns if k.name != "calibration"]
    return found, [*found.scene.knowns, *sensor], setting.notes


def run_lesson(given: Given) -> int:
    """Show one lesson, or list them."""
    name = given["name"]
    if name is None:
        if given["as_json"]:
            _print_json({key: {"title": x.title, "values": dict(x.values)} for key, x in LESSONS.items()})
        else:
            show_lessons()
        return 0
    changes = {label: _number(f"with {label}", text) for label, text in _labelled("with", given["change"], None)}
    if "" in changes:
        raise InputError("--with is written as NAME=NUMBER.")
    sheet = lesson_sheet(name, changes)
    if given["as_json"]:
        _print_json(plain_lesson(name, sheet))
    else:
        show_lesson(sheet, {key: unit for key, (_, unit) in LESSONS[name].values.items()})
    return 0


def _print_json(plain: Mapping[str, Any]) -> None:
    console().print_json(json.dumps(plain, allow_nan=False))
