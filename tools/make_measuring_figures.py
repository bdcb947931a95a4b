"""Write the tables and figures of docs/measuring.md from the model.

python tools/make_measuring_figures.py [docs]
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np

from groundglow.model.band import lookup, nominal_band
from groundglow.model.reading import CameraDoubt, apparent_temperature, reading_with_interval
from groundglow.paper.drawing import FLIGHT, FRAME, INK, PIXEL, SOFT, Axis, Sheet, round_steps
from groundglow.records.flight import CameraSpec
from groundglow.records.visit import CONDITION_DEFAULTS
from groundglow.steps.measure.asking.charts import budget_chart
from groundglow.steps.measure.asking.explaining import Explanation, explain
from groundglow.steps.measure.asking.knowns import (
    Said,
    distance_said,
    emissivity_said,
    reflected_said,
    weather_said,
)
from groundglow.steps.measure.asking.lessons import Sheet as LessonSheet
from groundglow.steps.measure.asking.lessons import lesson_sheet
from groundglow.steps.measure.asking.measured import minus, of_first_order, one_reading
from groundglow.steps.measure.asking.measures import MEASURES
from groundglow.steps.measure.asking.scene import Scene, situation
from groundglow.steps.measure.asking.sensor import received_of_black_body, sensor_of

ZERO = 273.15
BAND = "7.5-13.5"
#: The page's scene: a dull roof on a cool, clear day. What the camera showed of it is worked out below.
SURFACE_C, ROOF = 40.0, Said(emissivity=0.93, air_c=15.0, humidity_pct=50.0, cloud=0.0, distance_m=60.0)
CAMERA = CameraSpec(netd_mk=50.0, drift_k=0.5, pattern_k=0.15)
CALIBRATION_SD = 1.0


def scene_of(said: Said) -> Scene:
    """The scene that a person describes."""
    made = emissivity_said(said, BAND)
    if made is None:
        raise SystemExit("the page's scenes have an emissivity")
    table = lookup(nominal_band(BAND))
    return Scene(table, made, weather_said(said), distance_said(said), reflected_said(said))


def shown(scene: Scene, surface_c: float) -> float:
    """What a camera without errors shows, K."""
    return float(apparent_temperature(scene.table.band, surface_c + ZERO, situation(scene)))


def read(scene: Scene, kelvin: float) -> float:
    """What is read from it, C."""
    found = reading_with_interval(scene.table.band, kelvin, situation(scene), CameraDoubt())
    return float(found.temperature) - ZERO


@cache
def explained(said: Said = ROOF) -> Explanation:
    """The page's reading taken apart."""
    scene, sensor = scene_of(said), sensor_of(CAMERA, CALIBRATION_SD)
    kelvin = shown(scene_of(ROOF), SURFACE_C)
    return explain(scene, received_of_black_body(scene.table, kelvin, scene.distance.value, sensor), sensor)


UNKNOWN = {
    "emissivity": 0.03,
    "air temperature": CONDITION_DEFAULTS["air_temperature"][1],
    "relative humidity": CONDITION_DEFAULTS["relative_humidity"][1],
    "distance": 40.0,
    "calibration": 5.0 / 3**0.5,
    "drift": 1.0,
    "pattern": 0.3,
}
UNITS = {"emissivity": "", "relative humidity": "%", "distance": "m"}


def _figure(name: str, spread: float) -> str:
    scale = 100.0 if name == "relative humidity" else 1.0
    unit = UNITS.get(name, "K")
    return f"{spread * scale:.2g} {unit}".strip()


def input_table() -> str:
    """What each input does to the roof's reading: by a step, by its doubt when unknown, and when measured."""
    lines = {line.name: line for line in explained().lines}
    measured = {name: spread for m in MEASURES for name, spread in m.leaves.items()}
    measured["distance"] *= ROOF.distance_m or 0.0
    rows = ["| input | when nobody says | then it costs | measured on site | then it costs |", "|---|---|---|---|---|"]
    for name, unknown in UNKNOWN.items():
        slope = abs(lines[name].sensitivity)
        good = measured[name]
        cells = (_figure(name, unknown), f"{slope * unknown:.2f} K", _figure(name, good), f"{slope * good:.2f} K")
        rows.append(f"| {name} | {' | '.join(cells)} |")
    sky, foil = lines["reflected temperature"], measured["reflected temperature"]
    cloudy = replace(
        ROOF, cloud=CONDITION_DEFAULTS["cloud_fraction"][0], cloud_sd=CONDITION_DEFAULTS["cloud_fraction"][1]
    )
    wide = next(line for line in explained(cloudy).lines if line.name == sky.name)
    rows.append(
        f"| reflected temperature | {wide.standard_uncertainty:.2g} K (cloud unknown) | {abs(wide.contribution):.2f} K "
        f"| {foil:.2g} K | {abs(sky.sensitivity) * foil:.2f} K |"
    )
    return "\n".join(rows)


def what_if_table() -> str:
    """The roof's reading with other inputs."""
    found = explained()
    rows = ["| with | it would say | change |", "|---|---|---|"]
    rows += [f"| {a.words} | {a.kelvin - ZERO:.1f} °C | {a.change:+.1f} K |" for a in found.alternatives]
    return "\n".join(rows).replace("| -0.0 K", "| 0.0 K").replace("| +0.0 K", "| 0.0 K")


def halving_line() -> str:
    """What halves the doubt of the roof's reading."""
    h = explained().halving
    first = explained().dominant
    return (
        f"Most of it is from the {first.name} ({100 * first.share:.0f} % of the variance). To halve the standard "
        f"uncertainty of {h.now:.2f} K, measure: {h.names}. That leaves {h.then:.2f} K; all measures of the list leave "
        f"{h.best:.2f} K."
    )


def lesson_table(sheet: LessonSheet) -> str:
    """A lesson's table in Markdown."""
    rows = [f"| {' | '.join(sheet.headings)} |", "|---" * len(sheet.headings) + "|"]
    return "\n".join([*rows, *(f"| {' | '.join(row)} |" for row in sheet.rows)])


def rise_table() -> str:
    """95 % half widths of two temperatures and of their rise in one frame."""
    sensor = sensor_of(CAMERA, CALIBRATION_SD)
    roof = scene_of(ROOF)
    found = []
    for surface_c in (SURFACE_C + 5.0, SURFACE_C):
        kelvin = shown(roof, surface_c)
        received = received_of_black_body(roof.table, kelvin, roof.distance.value, sensor)
        found.append(one_reading(roof, received, sensor, independent=sensor.pattern.standard_uncertainty))
    hot, cool = found
    rise = minus(hot, cool)
    naive = of_first_order(0.0, hot.doubt).half_width * 2**0.5
    rows = [
        ("spot's temperature", hot.kelvin - ZERO, hot.half_width, "°C"),
        ("roof's temperature", cool.kelvin - ZERO, cool.half_width, "°C"),
        ("rise, errors subtracted with their signs", rise.kelvin, rise.half_width, "K"),
        ("rise, if both intervals were independent", rise.kelvin, naive, "K"),
    ]
    cells = [f"| {name} | {value:.1f} {unit} | ± {half:.1f} K |" for name, value, half, unit in rows]
    return "\n".join(["| of one frame | value | 95 % |", "|---|---|---|", *cells])


@dataclass(frozen=True)
class Curve:
    """A labelled line of a figure."""

    label: str
    x: Sequence[float]
    y: Sequence[float]
    colour: tuple[int, int, int] = INK
    dash: float = 0.0


def line_figure(title: str, across: str, up: str, curves: Sequence[Curve]) -> bytes:
    """Lines with their names at their right ends."""
    sheet = Sheet(860, 460)
    left, right, top, bottom = 90, 640, 84, 380
    values = [v for c in curves for v in c.y]
    margin = 0.06 * (max(values) - min(values))
    xs = [v for c in curves for v in c.x]
    horizontal = Axis(min(xs), max(xs), left, right)
    vertical = Axis(min(values) - margin, max(values) + margin, bottom, top)
    sheet.text((36, 30), title, size=18)
    sheet.text((36, 58), up, size=14, colour=SOFT)
    sheet.ticks_across(horizontal, round_steps(min(xs), max(xs), 7), (top, bottom))
    sheet.ticks_up(vertical, round_steps(vertical.low, vertical.high, 7), (left, right))
    sheet.text(((left + right) / 2, bottom + 44), across, size=14, colour=SOFT, anchor="ma")
    places = _apart([vertical.at(c.y[-1]) for c in curves], 20)
    for curve, place in zip(curves, places, strict=True):
        points = [(horizontal.at(x), vertical.at(y)) for x, y in zip(curve.x, curve.y, strict=True)]
        sheet.line(points, colour=curve.colour, width=2.2, dash=curve.dash)
        sheet.text((right + 12, place), curve.label, size=14)
    return sheet.png()


def _apart(places: Sequence[float], least: float) -> list[float]:
    """Heights of labels moved down until none touches the one above."""
    found = list(places)
    order = sorted(range(len(found)), key=lambda i: found[i])
    for before, after in pairwise(order):
        found[after] = max(found[after], found[before] + least)
    return found


def emissivity_figure() -> bytes:
    """Error of the reading when emissivity is taken 0.05 too high, over emissivity, under two skies."""
    shares = np.linspace(0.5, 0.95, 19)
    curves = []
    for cloud, name, colour in ((0.0, "clear sky", FLIGHT), (1.0, "overcast", FRAME)):
        for surface, dash in ((20.0, 9.0), (60.0, 0.0)):
            errors = []
            for share in shares:
                scene = scene_of(replace(ROOF, emissivity=float(share), cloud=cloud))
                wrong = scene_of(replace(ROOF, emissivity=float(share) + 0.05, cloud=cloud))
                errors.append(read(wrong, shown(scene, surface)) - surface)
            curves.append(Curve(f"{surface:.0f} °C, {name}", shares.tolist(), errors, colour, dash))
    title = "Emissivity entered 0.05 too high"
    return line_figure(
        title, "emissivity of the surface", "error of the temperature, K (surface and sky as named)", curves
    )


def air_figure() -> bytes:
    """Error of the reading when the air is left out, over distance, for three kinds of air."""
    metres = [0.0, 0.5, 1.0, 2.0, 3.5, 5.0, 7.5, *np.arange(10.0, 201.0, 10.0).tolist()]
    curves = []
    kinds = ((5.0, 40.0, "5 °C, 40 %", FLIGHT), (15.0, 50.0, "15 °C, 50 %", FRAME), (30.0, 80.0, "30 °C, 80 %", PIXEL))
    for air, humidity, name, colour in kinds:
        said = replace(ROOF, air_c=air, humidity_pct=humidity)
        errors = []
        for far in metres:
            kelvin = shown(scene_of(replace(said, distance_m=far)), 60.0)
            errors.append(read(scene_of(replace(said, distance_m=0.0)), kelvin) - 60.0)
        curves.append(Curve(f"air {name}", metres, errors, colour))
    return line_figure("The air left out", "distance, m", "error of the temperature of a surface at 60 °C, K", curves)


FIGURES: dict[str, Callable[[], bytes]] = {
    "measuring-budget.png": lambda: budget_chart(explained()),
    "measuring-emissivity.png": emissivity_figure,
    "measuring-air.png": air_figure,
}
TABLES: dict[str, Callable[[], str]] = {
    "inputs": input_table,
    "what-if": what_if_table,
    "halving": halving_line,
    "two-skies": lambda: lesson_table(lesson_sheet("two-skies")),
    "two-distances": lambda: lesson_table(lesson_sheet("two-distances")),
    "rise": rise_table,
    "reading": lambda: _reading_line(),
}


def _reading_line() -> str:
    """The page's reading in words."""
    found = explained()
    interval = f"{found.low - ZERO:.1f} to {found.high - ZERO:.1f} °C"
    return (
        f"The camera shows {found.apparent - ZERO:.1f} °C, emissivity and the mirrored sky "
        f"({found.mirrored.kelvin - ZERO:.0f} °C) make {found.by_surface:+.1f} K, the air {found.by_air:+.1f} K. "
        f"The roof is at {found.kelvin - ZERO:.1f} °C, 95 % interval {interval}."
    )


def with_tables(page: str) -> str:
    """The page with all its tables made anew."""
    for name, make in TABLES.items():
        start, end = f"<!-- {name}: made by tools/make_measuring_figures.py -->", f"<!-- end of {name} -->"
        before, rest = page.split(start)
        page = f"{before}{start}\n\n{make()}\n\n{end}{rest.split(end)[1]}"
    return page


def main(folder: Path) -> None:
    """Rewrite the page's tables and its figures."""
    page = folder / "measuring.md"
    page.write_text(with_tables(page.read_text(encoding="utf-8")), encoding="utf-8")
    for name, make in FIGURES.items():
        (folder / "figures" / name).write_bytes(make())


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "docs"))
