"""``lesson``: short teaching sheets. Each is one scene that the model works out for the values given."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from groundglow.errors import InputError
from groundglow.model.band import BandTable, lookup, nominal_band
from groundglow.model.pointspread import point_spread
from groundglow.model.reading import CameraDoubt, Stated, apparent_temperature, reading_with_interval
from groundglow.model.targetsize import PEAK
from groundglow.model.through_air import surface_temperature_through_air
from groundglow.steps.measure.asking.knowns import Said, distance_said, emissivity_said, reflected_said, weather_said
from groundglow.steps.measure.asking.scene import Scene, mirrored, situation
from groundglow.steps.measure.asking.target import size_factor

__all__ = ["LESSONS", "Lesson", "Sheet", "lesson_sheet"]

ZERO_CELSIUS = 273.15
BAND = "7.5-13.5"

Values = Mapping[str, float]
#: Paragraphs before, headings, rows, paragraphs after.
Parts = tuple[Sequence[str], Sequence[str], Sequence[Sequence[str]], Sequence[str]]


@dataclass(frozen=True)
class Sheet:
    """A lesson worked out: paragraphs before and after one table, and the values it was worked out for."""

    title: str
    before: tuple[str, ...]
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    after: tuple[str, ...]
    values: Values


@dataclass(frozen=True)
class Lesson:
    """One lesson: what it shows, the values of its scene that may be changed, with unit, and how it is worked out."""

    title: str
    values: Mapping[str, tuple[float, str]]
    work_out: Callable[[Values], Parts]


#: Values that every scene shares: name, value, unit.
AIR = {"air": (15.0, "°C"), "humidity": (50.0, "%"), "cloud": (0.0, "share")}


def _table() -> BandTable:
    return lookup(nominal_band(BAND))


def _scene(values: Values, **said: Any) -> Scene:
    """A scene of the lesson's air; further statements as fields of `Said`."""
    asked = replace(
        Said(
            emissivity=values.get("emissivity", 0.95),
            air_c=values["air"],
            humidity_pct=values["humidity"],
            cloud=values.get("cloud", 0.0),
            distance_m=values.get("distance", 0.0),
        ),
        **said,
    )
    made = emissivity_said(asked, BAND)
    if made is None:
        raise InputError("A lesson needs an emissivity.")
    return Scene(_table(), made, weather_said(asked), distance_said(asked), reflected_said(asked))


def _shown(scene: Scene, surface_c: float) -> float:
    """What a camera without errors shows of a surface, °C."""
    seen = apparent_temperature(scene.table.band, surface_c + ZERO_CELSIUS, situation(scene))
    return float(seen) - ZERO_CELSIUS


def _read(scene: Scene, shown_c: float) -> float:
    """What is read from that with the scene's inputs, °C."""
    camera = CameraDoubt(calibration=Stated(0.0, 0.0))
    found = reading_with_interval(scene.table.band, shown_c + ZERO_CELSIUS, situation(scene), camera)
    return float(found.temperature) - ZERO_CELSIUS


def _c(value: float) -> str:
    return "none" if np.isnan(value) else f"{value:.1f} °C"


def _k(value: float) -> str:
    if np.isnan(value):
        return "none"
    return f"{value:+.1f} K" if abs(value) >= 0.05 else "0.0 K"


def _emissivities(v: Values) -> Parts:
    dull, shiny = (_scene(v, emissivity=v[name]) for name in ("dull", "shiny"))
    sky = mirrored(dull).kelvin - ZERO_CELSIUS
    rows = []
    for name, scene in (("dull", dull), ("shiny", shiny)):
        shown = _shown(scene, v["surface"])
        wrong = _read(dull, shown)
        off = _read(_scene(v, emissivity=max(v[name] - 0.02, 0.01)), shown) - v["surface"]
        rows.append((f"{v[name]:.2f}", _c(shown), _c(wrong), _c(_read(scene, shown)), _k(off)))
    before = (
        f"A plate is at {v['surface']:g} °C all over. One half is dull (emissivity {v['dull']:g}), the other shiny "
        f"({v['shiny']:g}). A camera looks down on it from {v['distance']:g} m; the sky that it mirrors looks like "
        f"{sky:.0f} °C.",
    )
    headings = ("emissivity", "camera shows", f"read at {v['dull']:g}", "read at its own", "own 0.02 too low")
    after = (
        "A surface that emits little mirrors much: the camera sees the sky in it. The temperature is right only with "
        "the surface's own emissivity, and the less that is, the more a small error of it costs: the last column.",
        "On site: put tape or dull paint of known emissivity on shiny things and read that.",
    )
    return before, headings, rows, after


def _skies(v: Values) -> Parts:
    rows = []
    for name, cloud in (("clear", 0.0), ("overcast", 1.0)):
        for eps in (v["dull"], v["shiny"]):
            scene = _scene(v, emissivity=eps, cloud=cloud)
            shown = _shown(scene, v["surface"])
            as_air = _read(_scene(v, emissivity=eps, reflected_c=v["air"]), shown) - v["surface"]
            sky = mirrored(scene).kelvin - ZERO_CELSIUS
            rows.append((name, _c(sky), f"{eps:.2f}", _c(shown), _k(as_air)))
    before = (
        f"A flat roof is at {v['surface']:g} °C, part of it dull (emissivity {v['dull']:g}), part sheet metal "
        f"({v['shiny']:g}). It is read under a clear sky and, later, under a closed cloud; the air stays at "
        f"{v['air']:g} °C.",
    )
    headings = ("sky", "as warm as", "emissivity", "camera shows", "error if reflected = air")
    after = (
        "What the roof mirrors changes with the cloud while the roof stays as it is. Who enters the air's temperature "
        "as what is reflected reads too cold under a clear sky, metal most of all: 'none' means that no temperature "
        "fits, because more would be mirrored than was received. Under cloud the error is much smaller.",
        "On site: note the cloud, fly under an even sky, or read the reflected temperature off crumpled foil.",
    )
    return before, headings, rows, after


def _distances(v: Values) -> Parts:
    rows = []
    for far in (v["near"], v["far"]):
        scene = _scene(v, distance_m=far)
        shown = _shown(scene, v["surface"])
        without = _read(_scene(v, distance_m=0.0), shown) - v["surface"]
        humid = _read(_scene({**v, "humidity": min(v["humidity"] + 30, 100.0)}, distance_m=far), shown) - v["surface"]
        size = 100 * far * v["pitch"] / v["focal"] / 1000.0
        passed = f"{100 * _transmittance(scene, shown):.1f} %"
        rows.append((f"{far:g} m", passed, _c(shown), _k(without), _k(humid), f"{size:.1f} cm"))
    before = (
        f"A surface of {v['surface']:g} °C (emissivity {v['emissivity']:g}) is read from two distances through air of "
        f"{v['air']:g} °C and {v['humidity']:g} % humidity.",
    )
    headings = ("distance", "air passes", "shows", "air left out", "30 % too humid", "a pixel is")
    after = (
        "Air takes part of the radiation away and puts its own in its place: things warmer than the air look cooler, "
        "colder ones warmer, more so with distance and water vapour. Over some tens of metres that is the smaller "
        "error; what distance costs first is pixels on the target.",
    )
    return before, headings, rows, after


def _transmittance(scene: Scene, shown_c: float) -> float:
    found = surface_temperature_through_air(
        scene.table,
        float(scene.table.radiance(shown_c + ZERO_CELSIUS)),
        emissivity=scene.made.emissivity.value,
        reflected_radiance=float(scene.table.radiance(mirrored(scene).kelvin)),
        distance=scene.distance.value,
        air_temperature=scene.air["air temperature"].value,
        relative_humidity=scene.air["relative humidity"].value,
        pressure=scene.air["pressure"].value,
    )
    return float(found.transmittance)


def _sizes(v: Values) -> Parts:
    spread = point_spread(v["pitch"] * 1e-6, v["f_number"])
    rows = []
    for size in (v["large"], v["small"]):
        across = size / 1000.0 * v["focal"] / v["pitch"] / v["distance"] * 1000.0
        factor = size_factor(across, 0.1, spread, PEAK, "disc")
        doubt = 1.96 * float(np.hypot(factor.independent, factor.optics)) / factor.value
        shown = f"{100 / factor.value:.0f} %"
        read, taken = _k(v["rise"] / factor.value), f"{factor.value:.2f}"
        rows.append((f"{size:g} mm", f"{across:.1f} px", shown, read, taken, f"±{100 * doubt:.0f} %"))
    before = (
        f"Two hot spots are {v['rise']:g} K above their surroundings. A camera of {v['pitch']:g} µm pixels behind "
        f"{v['focal']:g} mm, f/{v['f_number']:g}, sees them from {v['distance']:g} m: a pixel covers "
        f"{v['distance'] * v['pitch'] / v['focal']:.0f} mm.",
    )
    headings = ("spot", "across", "peak shows", "rise read", "factor", "its doubt (95 %)")
    after = (
        "Blur mixes the spot with what lies around it; the smaller spot reads cooler though it is not. The factor "
        "takes that back, but its doubt grows as the spot shrinks: under 3 x 3 pixels say that something is there, "
        "not how warm it is. Fly lower or take a longer lens.",
    )
    return before, headings, rows, after


SPOT = {"pitch": (12.0, "µm"), "focal": (13.0, "mm")}
LESSONS: Mapping[str, Lesson] = {
    "two-emissivities": Lesson(
        "One temperature, two emissivities",
        {"surface": (40.0, "°C"), "dull": (0.95, ""), "shiny": (0.30, ""), "distance": (30.0, "m"), **AIR},
        _emissivities,
    ),
    "two-skies": Lesson(
        "One roof, two skies",
        {
            "surface": (20.0, "°C"), "dull": (0.93, ""), "shiny": (0.30, ""), "distance": (40.0, "m"),
            "air": (10.0, "°C"), "humidity": (60.0, "%"),
        },
        _skies,
    ),
    "two-distances": Lesson(
        "One surface, two distances",
        {
            "surface": (60.0, "°C"), "emissivity": (0.95, ""), "near": (20.0, "m"), "far": (120.0, "m"), **AIR, **SPOT,
        },
        _distances,
    ),
    "two-sizes": Lesson(
        "One rise, two sizes",
        {
            "rise": (20.0, "K"), "large": (200.0, "mm"), "small": (60.0, "mm"), "distance": (20.0, "m"),
            "f_number": (1.0, ""), **SPOT,
        },
        _sizes,
    ),
}  # fmt: skip


def lesson_sheet(name: str, changes: Mapping[str, float] | None = None) -> Sheet:
    """A lesson worked out for its usual scene, or with some values changed.

    Parameters
    ----------
    name : str
        A key of `LESSONS`.
    changes : mapping of str to float, optional
        Other values, in the unit that the lesson lists.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        For an unknown lesson or value; RangeError where the model does not hold.

    Examples
    --------
    >>> lesson_sheet("two-skies").rows[0][0]
    'clear'
    """
    lesson = LESSONS.get(name)
    if lesson is None:
        raise InputError(f"There is no lesson {name!r}; there are {', '.join(LESSONS)}.")
    unknown = sorted(set(changes or {}) - set(lesson.values))
    if unknown:
        raise InputError(f"{name} has no value {unknown[0]!r}; it has {', '.join(lesson.values)}.")
    values = {key: value for key, (value, _) in lesson.values.items()} | dict(changes or {})
    before, headings, rows, after = lesson.work_out(values)
    return Sheet(lesson.title, tuple(before), tuple(headings), tuple(tuple(row) for row in rows), tuple(after), values)
