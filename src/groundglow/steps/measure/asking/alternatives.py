"""What one reading would say with other inputs: the same radiance, one input changed at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from groundglow.model.reading import CameraDoubt, Situation, Stated, reading_with_interval
from groundglow.model.weather import LIMITS
from groundglow.steps.measure.asking.scene import Scene, mirrored, moved, situation

__all__ = ["Alternative", "alternatives"]

ZERO_CELSIUS = 273.15
#: Changes that are tried, SI; distance by factors.
EMISSIVITY_STEP, REFLECTED_STEP, AIR_STEP, HUMIDITY_STEP, DISTANCE_FACTOR = 0.05, 10.0, 5.0, 0.2, 2.0
#: Emissivities that are tried at all.
LEAST_EMISSIVITY = 0.01

Case = tuple[str, Situation]


@dataclass(frozen=True)
class Alternative:
    """What the temperature would be with another input, K; NaN where it leaves no solution."""

    words: str
    kelvin: float
    change: float


def alternatives(scene: Scene, apparent: float, camera: CameraDoubt) -> tuple[Alternative, ...]:
    """The same apparent temperature, K, read with other inputs, and with no correction at all.

    Parameters
    ----------
    scene : Scene
    apparent : float
        K.
    camera : CameraDoubt
        Of one reading.
    """
    base = situation(scene)
    cases: list[Case] = [("", base), *_by_surface(scene, base), *_by_air(scene), *_by_distance(scene, base)]
    found = reading_with_interval(scene.table.band, apparent, _stacked([known for _, known in cases]), camera)
    kelvin = [float(v) for v in found.temperature]
    read = [Alternative(words, to, to - kelvin[0]) for (words, _), to in zip(cases, kelvin, strict=True)]
    return (*read[1:], Alternative("nothing corrected at all", apparent, apparent - kelvin[0]))


def _stacked(cases: Sequence[Situation]) -> Situation:
    """One situation with the values of several as arrays."""

    def of(name: str) -> Stated:
        return Stated([float(case.of(name).arrays[0]) for case in cases])

    return Situation(
        of("emissivity"),
        of("reflected_temperature"),
        of("air_temperature"),
        of("relative_humidity"),
        of("distance"),
        pressure=cases[0].pressure,
    )


def _by_surface(scene: Scene, base: Situation) -> list[Case]:
    eps, back, air = scene.made.emissivity.value, mirrored(scene).kelvin, scene.air["air temperature"].value
    shares = [s for s in (max(eps - EMISSIVITY_STEP, LEAST_EMISSIVITY), min(eps + EMISSIVITY_STEP, 1.0)) if s != eps]
    found = [(f"emissivity {s:.2f}, not {eps:.2f}", replace(base, emissivity=Stated(s))) for s in shares]
    for to in (back - REFLECTED_STEP, back + REFLECTED_STEP):
        found.append((f"reflected {_c(to)}, not {_c(back)}", replace(base, reflected_temperature=Stated(to))))
    if scene.reflected is None:
        words = f"reflected taken as warm as the air, {_c(air)}"
        found.append((words, replace(base, reflected_temperature=Stated(air))))
    return found


def _by_air(scene: Scene) -> list[Case]:
    """A computed sky changes with the air, and the words say so."""
    sky = ", the sky with it" if scene.reflected is None else ""
    air, moist = scene.air["air temperature"].value, scene.air["relative humidity"].value
    warm = _within("air_temperature", (air - AIR_STEP, air + AIR_STEP))
    damp = [h for h in _within("relative_humidity", (moist - HUMIDITY_STEP, moist + HUMIDITY_STEP)) if h != moist]
    return [
        *((f"air {_c(t)}, not {_c(air)}{sky}", situation(moved(scene, "air temperature", t))) for t in warm),
        *(
            (f"humidity {100 * h:.0f} %, not {100 * moist:.0f} %{sky}", situation(moved(scene, "relative humidity", h)))
            for h in damp
        ),
    ]


def _by_distance(scene: Scene, base: Situation) -> list[Case]:
    far = scene.distance.value
    tried = _within("distance", (far / DISTANCE_FACTOR, far * DISTANCE_FACTOR)) if far > 0 else []
    return [(f"distance {d:.3g} m, not {far:.3g} m", replace(base, distance=Stated(d))) for d in tried]


def _within(name: str, values: Sequence[float]) -> list[float]:
    """Values held within what the air model knows."""
    return [float(np.clip(v, LIMITS[name].low, LIMITS[name].high)) for v in values]


def _c(kelvin: float) -> str:
    """In words."""
    return f"{round(kelvin - ZERO_CELSIUS) + 0:d} °C"
