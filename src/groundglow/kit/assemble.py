"""From the rows of a kit file to detectors, lenses, cameras and aircraft that refer to each other."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any, TypeVar

from groundglow.kit.figures import Faults, Row, read_row
from groundglow.kit.schema import FIGURES
from groundglow.kit.targets import target_of
from groundglow.records.fit import Target
from groundglow.records.kit import RECORDING_KINDS, Aircraft, Battery, Camera, Combination, Detector, Lens, Offer

__all__ = ["Fleet", "assemble"]

T = TypeVar("T")
_RATING = re.compile(r"IP[0-6X][0-9X]")
_OWNED = ("camera", "lens", "aircraft")
_ZERO = 273.15


@dataclass(frozen=True)
class Fleet:
    """Detectors, lenses, cameras, aircraft and batteries by id, and the combinations that the user owns."""

    detectors: Mapping[str, Detector] = field(default_factory=dict)
    lenses: Mapping[str, Lens] = field(default_factory=dict)
    batteries: Mapping[str, Battery] = field(default_factory=dict)
    cameras: Mapping[str, Camera] = field(default_factory=dict)
    aircraft: Mapping[str, Aircraft] = field(default_factory=dict)
    owned: tuple[Combination, ...] = ()
    targets: Mapping[str, Target] = field(default_factory=dict)

    def combinations(self) -> Iterator[Combination]:
        """Every camera with each of its lenses under every aircraft."""
        for camera in self.cameras.values():
            for lens in camera.lenses:
                for aircraft in self.aircraft.values():
                    yield Combination(camera, lens, aircraft)


def assemble(raw: Mapping[str, Any], base: Fleet, faults: Faults) -> Fleet:
    """The base with all sound items of a file; a fault in one item leaves the others."""
    for name in raw.keys() - FIGURES.keys() - {"owned"}:
        faults.unknown("file", name, (*FIGURES, "owned"))
    rows = {kind: _rows(kind, raw.get(kind, {}), faults) for kind in FIGURES}
    detectors = _joined(base.detectors, rows["detector"], lambda r: _detector(r, faults), faults)
    lenses = _joined(base.lenses, rows["lens"], _lens, faults)
    batteries = _joined(base.batteries, rows["battery"], _battery, faults)
    aircraft = _joined(base.aircraft, rows["aircraft"], lambda r: _aircraft(r, batteries, faults), faults)
    mounts = {m for a in aircraft.values() for m in a.mounts}
    parts = _Parts(detectors, lenses, mounts)
    cameras = _joined(base.cameras, rows["camera"], lambda r: _camera(r, parts, faults), faults)
    targets = _joined(base.targets, rows["target"], lambda r: target_of(r, faults), faults)
    fleet = Fleet(detectors, lenses, batteries, cameras, aircraft, (), targets)
    return replace(fleet, owned=_owned(raw.get("owned", []), fleet, faults))


def _rows(kind: str, raw: Any, faults: Faults) -> list[Row]:
    if not isinstance(raw, dict):
        faults.say(kind, f"is not a table of tables: write [{kind}.ID]")
        return []
    return [row for id, table in raw.items() if (row := read_row(kind, id, table, faults))]


def _joined(base: Mapping[str, T], rows: list[Row], make: Callable[[Row], T | None], faults: Faults) -> dict[str, T]:
    found = dict(base)
    for row in rows:
        if row.id in found:
            faults.say(row.id, "is in the catalogue already: choose another id")
        elif (item := make(row)) is not None:
            found[row.id] = item
        else:
            faults.broken.add(row.id)
    return found


def _offer(row: Row) -> Offer:
    return Offer(row.si.get("price"), str(row.texts.get("currency", "")), row.si.get("lead_time_days"))


def _detector(row: Row, faults: Faults) -> Detector | None:
    if not row.sound:
        return None
    low, high = row.number("band_low_um"), row.number("band_high_um")
    if low >= high:
        faults.say(f"detector.{row.id}", f"band_low_um {low * 1e6:g} is not below band_high_um {high * 1e6:g}")
        return None
    size = int(row.number("columns_px")), int(row.number("rows_px"))
    return Detector(
        row.id, row.texts["name"], *size, row.number("pitch_um"), (low, high), row.number("time_constant_ms"),
        row.figures,
    )  # fmt: skip


def _lens(row: Row) -> Lens | None:
    if not row.sound:
        return None
    return Lens(
        row.id, row.texts["name"], row.number("focal_mm"), row.number("f_number"), row.number("transmission", 1.0),
        row.number("distortion"), row.number("aberration_um"), row.number("mass_g"), _offer(row), row.figures,
    )  # fmt: skip


def _battery(row: Row) -> Battery | None:
    if not row.sound:
        return None
    return Battery(
        row.id, row.texts["name"], row.number("share"), int(row.number("count")), row.number("charge_min"),
        row.number("swap_min"), row.number("mass_g"), _offer(row), row.figures,
    )  # fmt: skip


def _aircraft(row: Row, batteries: Mapping[str, Battery], faults: Faults) -> Aircraft | None:
    place = f"aircraft.{row.id}"
    before = len(faults.lines)
    endurance = row.si.get("endurance_kg_min", ())
    in_wind = row.si.get("in_wind_m_s", ((0.0, 1.0),))
    speeds = row.number("speed_least_m_s"), row.number("speed_most_m_s")
    cold, warm = row.number("coldest_c"), row.number("warmest_c")
    _rising(f"{place}.endurance_kg_min", endurance, faults)
    _rising(f"{place}.in_wind_m_s", in_wind, faults)
    if any(second <= 0 for _, second in endurance):
        faults.say(f"{place}.endurance_kg_min", "an endurance is 0; allowed above 0 min")
    if any(not 0 <= share <= 1 for _, share in in_wind):
        faults.say(f"{place}.in_wind_m_s", "a share of the endurance is outside 0 to 1")
    if row.sound and speeds[0] >= speeds[1]:
        faults.say(place, f"speed_least_m_s {speeds[0]:g} is not below speed_most_m_s {speeds[1]:g}")
    if row.sound and cold >= warm:
        faults.say(place, f"coldest_c {cold - _ZERO:g} is not below warmest_c {warm - _ZERO:g}")
    battery = row.texts.get("battery")
    if battery is not None and battery not in batteries:
        faults.unknown(f"{place}.battery", str(battery), batteries)
    if "mounts" in row.texts:
        _texts(f"{place}.mounts", row.texts["mounts"], faults)
    _rating(place, row, faults)
    if not row.sound or len(faults.lines) > before:
        return None
    return Aircraft(
        row.id, row.texts["name"], tuple(row.texts["mounts"]), endurance, in_wind, speeds,
        row.number("wind_limit_m_s"), str(row.texts.get("rating", "")), row.number("ceiling_m"), (cold, warm),
        row.number("reserve"), batteries.get(str(battery)), _offer(row), str(row.texts.get("note", "")), row.figures,
    )  # fmt: skip


def _rising(place: str, pairs: tuple[tuple[float, float], ...], faults: Faults) -> None:
    firsts = [first for first, _ in pairs]
    if any(b <= a for a, b in pairwise(firsts)):
        faults.say(place, f"the first numbers {firsts} do not rise: sort the pairs")


def _texts(place: str, found: Any, faults: Faults) -> bool:
    sound = isinstance(found, list) and bool(found) and all(isinstance(t, str) for t in found)
    if not sound:
        faults.say(place, f"found {found!r}; a list of names is wanted")
    return sound


def _rating(place: str, row: Row, faults: Faults) -> None:
    rating = str(row.texts.get("rating", ""))
    if rating and not _RATING.fullmatch(rating):
        faults.say(f"{place}.rating", f"found {rating!r}; an IP code such as IP54 is wanted (IEC 60529)")


@dataclass(frozen=True)
class _Parts:
    """What a camera is made of, and the mounts that some aircraft carries."""

    detectors: Mapping[str, Detector]
    lenses: Mapping[str, Lens]
    mounts: set[str]


def _camera(row: Row, parts: _Parts, faults: Faults) -> Camera | None:
    place, before, texts = f"camera.{row.id}", len(faults.lines), row.texts
    wanted: tuple[tuple[str, Mapping[str, Any]], ...] = (
        ("lenses", parts.lenses), ("records", RECORDING_KINDS)
    )  # fmt: skip
    if "detector" in texts and texts["detector"] not in parts.detectors:
        faults.unknown(f"{place}.detector", str(texts["detector"]), parts.detectors)
    if "mount" in texts and texts["mount"] not in parts.mounts:
        known = ", ".join(sorted(parts.mounts))
        faults.say(f"{place}.mount", f"no aircraft carries a mount {texts['mount']!r}; known are {known}.")
    for field_name, known_names in wanted:
        if field_name in texts and _texts(f"{place}.{field_name}", texts[field_name], faults):
            for name in set(texts[field_name]) - known_names.keys():
                faults.unknown(f"{place}.{field_name}", name, known_names)
    for low, high in row.si.get("ranges_c", ()):
        if low >= high:
            faults.say(f"{place}.ranges_c", f"{low - _ZERO:g} is not below {high - _ZERO:g}")
    _rating(place, row, faults)
    whole = row.sound and len(faults.lines) == before and not _broken(row, faults)
    return _made(row, parts) if whole else None


def _broken(row: Row, faults: Faults) -> bool:
    """Whether a part that it names has faults of its own: those are told there."""
    return not faults.broken.isdisjoint([row.texts["detector"], *row.texts["lenses"]])


def _made(row: Row, parts: _Parts) -> Camera:
    lenses = tuple(parts.lenses[name] for name in row.texts["lenses"])
    return Camera(
        row.id, row.texts["name"], parts.detectors[row.texts["detector"]], lenses, row.number("netd_mk"),
        row.number("netd_f_number", 1.0), row.si["frame_rates_hz"], row.si.get("ranges_c", ()),
        row.si.get("accuracy_k"), row.number("pattern_k"), row.number("drift_k"), tuple(row.texts["records"]),
        str(row.texts.get("rating", "")), row.number("mass_g"), str(row.texts["mount"]), row.number("warm_up_min"),
        _offer(row), str(row.texts.get("note", "")), row.figures,
    )  # fmt: skip


def _owned(raw: Any, fleet: Fleet, faults: Faults) -> tuple[Combination, ...]:
    if not isinstance(raw, list):
        faults.say("owned", "is not a list of tables: write [[owned]]")
        return ()
    found = (_one_owned(f"owned[{i}]", table, fleet, faults) for i, table in enumerate(raw, 1))
    return tuple(c for c in found if c is not None)


def _one_owned(place: str, table: Mapping[str, Any], fleet: Fleet, faults: Faults) -> Combination | None:
    before = len(faults.lines)
    known: tuple[tuple[str, Mapping[str, Any]], ...] = (
        ("camera", fleet.cameras), ("lens", fleet.lenses), ("aircraft", fleet.aircraft)
    )  # fmt: skip
    for name in table.keys() - set(_OWNED):
        faults.unknown(place, name, _OWNED)
    for name, items in known:
        if name not in table:
            faults.say(place, f"{name} is missing: add it")
        elif table[name] not in items:
            faults.unknown(f"{place}.{name}", str(table[name]), items)
    if len(faults.lines) > before or not faults.broken.isdisjoint(table.values()):
        return None
    camera, lens = fleet.cameras[table["camera"]], fleet.lenses[table["lens"]]
    if lens not in camera.lenses:
        faults.say(place, f"lens {lens.id!r} does not fit camera {camera.id!r}; it takes {_ids(camera.lenses)}")
        return None
    return Combination(camera, lens, fleet.aircraft[table["aircraft"]])


def _ids(items: tuple[Lens, ...]) -> str:
    return ", ".join(item.id for item in items)
