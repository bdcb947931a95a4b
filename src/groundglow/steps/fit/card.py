"""The other way round: I own this kit, what can I do with it? Largest distances by target, task, hour and humidity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from groundglow.kit.targets import targets
from groundglow.model.seeing import critical_dimension
from groundglow.records.fit import Ask, Sky, Target, Work
from groundglow.records.kit import Combination
from groundglow.steps.fit.ask import PROBABILITY
from groundglow.steps.fit.evaluate import TASKS, evaluate
from groundglow.steps.fit.settings import LOWEST_WING

__all__ = ["CONDITIONS", "Card", "CardPlace", "CardRow", "limits_card"]

#: Name of a column -> hour of the local solar day, relative humidity.
CONDITIONS: Final[Mapping[str, tuple[int, float]]] = {
    "day, dry": (14, 0.3),
    "day, humid": (14, 0.9),
    "night, dry": (2, 0.3),
    "night, humid": (2, 0.9),
}
# Pixels across a target from close by.
_CLOSE_PIXELS: Final = 20.0
#: Half width of an interval for which the largest distance of measuring is told, K.
ACCURACY: Final = 5.0


@dataclass(frozen=True)
class CardPlace:
    """Where and when a card holds. The defaults are a mild spring day at middle latitudes (our choice)."""

    lat_deg: float = 45.0
    lon_deg: float = 0.5
    day: float = 1776254400.0  # 2026-04-15, noon UTC
    lowest: float = 281.15
    highest: float = 293.15

    @property
    def words(self) -> str:
        """In words."""
        air = f"{self.lowest - 273.15:.0f} to {self.highest - 273.15:.0f} °C"
        return f"latitude {self.lat_deg:.0f}°, a spring day of {air}, some cloud, wind 3 m/s"


@dataclass(frozen=True)
class CardRow:
    """Largest distances, m, of one target and task by `CONDITIONS`; None where the kit measures nothing."""

    target: Target
    task: str
    reach: Mapping[str, float | None]


@dataclass(frozen=True)
class Card:
    """A limits card of one kit. ``hours`` by name of the target: whether it can be detected from close by in dry air,
    at each hour of the local solar day.
    """

    combination: Combination
    place: CardPlace
    probability: float
    rows: tuple[CardRow, ...]
    hours: Mapping[str, tuple[bool, ...]]


def limits_card(kit: Combination, wanted: Sequence[Target] | None = None, *, place: CardPlace | None = None) -> Card:
    """Largest distance by target and task, by day and night, in dry and humid air.

    Seeing is asked with 90 %, measuring within ±5 K: of the rise for a target that is told by its rise, else of the
    temperature. The aircraft's slowest flight counts: what hovers looks standing still.
    """
    of, where = tuple(wanted or targets().values()), place or CardPlace()
    rows = tuple(row for t in of for row in _rows(kit, t, where))
    return Card(kit, where, PROBABILITY, rows, {t.name: _hours(kit, t, where) for t in of})


def _hours(kit: Combination, of: Target, place: CardPlace) -> tuple[bool, ...]:
    """Whether it is detected at each hour from where it fills some pixels: what stands in the way there is contrast."""
    hour, dry = CONDITIONS["day, dry"]
    near = float(critical_dimension(*of.sides(of.view))) / (kit.ifov * _CLOSE_PIXELS)
    floor = LOWEST_WING if kit.aircraft and not kit.aircraft.hovers and of.view == "above" else 0.0
    found = evaluate(_ask(of, place, hour, dry), [kit], distances=np.array([max(near, floor)]))
    return tuple(bool(works) for works in found.seeing_works[0])


def _rows(kit: Combination, of: Target, place: CardPlace) -> list[CardRow]:
    found: dict[str, dict[str, float | None]] = {task: {} for task in (*TASKS, "measure")}
    for name, (hour, humidity) in CONDITIONS.items():
        expected = evaluate(_ask(of, place, hour, humidity), [kit])
        for k, task in enumerate(TASKS):
            found[task][name] = float(expected.reach[0, k])
        measures = kit.camera.accuracy is not None and expected.measure is not None
        found["measure"][name] = float(expected.measure[0]) if measures and expected.measure is not None else None
    return [CardRow(of, task, reach) for task, reach in found.items()]


def _ask(of: Target, place: CardPlace, hour: int, humidity: float) -> Ask:
    sky = replace(Sky(lowest=place.lowest, highest=place.highest), relative_humidity=humidity)
    # Asked to detect: doubts are then worked out for this one hour, and measuring is told beside.
    return Ask(
        of.name, of, "detect", PROBABILITY, ACCURACY, None, 0.5, 5000.0, Work("point", "one target"), sky,
        view=of.view, of="rise" if of.warmth.rise is not None else "temperature", hour=hour, lat_deg=place.lat_deg,
        lon_deg=place.lon_deg, day=place.day,
    )  # fmt: skip
