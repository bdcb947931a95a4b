"""Questions of plan of a brief, with what they refer to beside it: site, terrain, kit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import timedelta, timezone
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from groundglow.errors import FileError, InputError
from groundglow.frames.clock import iso_time
from groundglow.frames.heights import read_heights
from groundglow.frames.places import LocalPlane
from groundglow.frames.site import SiteFeature, read_site
from groundglow.frames.specs import read_brief
from groundglow.job.fit import kit_file
from groundglow.job.folder import JobFolder
from groundglow.kit.fleet import Fleet, fleet_with
from groundglow.kit.rules import flying_rules
from groundglow.model.sun import Place, sun_position
from groundglow.records.brief import Brief, PlanQuestion
from groundglow.records.kit import Combination, Figure
from groundglow.records.log import Origin
from groundglow.records.plan import Plan, PlanKind
from groundglow.records.quantity import Kind, quantity
from groundglow.steps.fit.choose import chosen_combinations
from groundglow.steps.plan.air import Wind
from groundglow.steps.plan.ask import Face, PlanAsk, Search
from groundglow.steps.plan.camera import sampling_at
from groundglow.steps.plan.ground import Ground, flat_ground
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.settings import usual_ways
from groundglow.steps.plan.smear import smear_within_budget

__all__ = ["own_rules", "plan_ask", "plan_files", "plan_question", "plans_of_brief", "rules_folder"]

Rules = Mapping[str, Figure]

#: Terrain is read this far beyond the site and take-off points, m; farther sites are no one plan.
AROUND, FARTHEST = 150.0, 60_000.0
MORE_THAN_NOTHING = ("sampling", "height", "speed", "radius", "climb", "slope")


def plan_files(job: JobFolder, brief: Brief) -> tuple[Path, ...]:
    """Files that the plans hang on."""
    named = [job.brief, kit_file(job)]
    named += [job.root / brief.site.outline] if brief.site.outline else []
    named += sorted(rules_folder(job.root).glob("*.toml"))
    named += [job.root / name for q in brief.plan for name in (q.over, q.terrain) if name]
    return tuple(dict.fromkeys(p for p in named if p is not None))


def rules_folder(root: Path) -> Path:
    """Where a job keeps rules of its own."""
    return root / "rules"


def own_rules(folder: Path | None) -> Path | None:
    """A named folder of rules.

    Raises
    ------
    FileError
        When there is none.
    """
    if folder is not None and not folder.is_dir():
        raise FileError(folder, "there is no such folder of rules", "Name a folder with flying.toml or PAIR.toml.")
    return folder


def plan_question(job: JobFolder, number: int) -> Plan:
    """The answer to one of them, counted from 0."""
    return plan_of(plan_ask(job.root, read_brief(job.brief), number, fleet_with(kit_file(job))))


def plans_of_brief(path: Path, fleet: Fleet) -> list[Plan]:
    """Answers to all ``[[plan]]`` blocks of a brief.

    Raises
    ------
    InputError
        When it has none.
    """
    brief = read_brief(path)
    if not brief.plan:
        raise InputError(f"{path} asks nothing of plan: add a [[plan]] block with over, sampling and camera")
    return [plan_of(plan_ask(path.parent, brief, i, fleet)) for i in range(len(brief.plan))]


def plan_ask(folder: Path, brief: Brief, number: int, fleet: Fleet, rules: Path | None = None) -> PlanAsk:
    """One question of a brief with everything that it names, in metres of its own plane.

    ``rules`` is a folder of rules of one's own; None: that of the brief's folder.
    """
    by = flying_rules(rules or rules_folder(folder))
    asked = brief.plan[number]
    name = asked.name or f"plan {number + 1}"
    features = _features(folder, brief, asked, name)
    survey, origin = _survey(features, asked, name)
    plane = LocalPlane(origin)
    take_offs = _take_offs(features, asked, plane, name)
    shape = _local(survey, plane)
    shut = [_local(f.shape, plane) for f in features if f.use == "no-fly"]
    kind, kit = _kind(shape, asked, name), _kit(asked, fleet, name)
    ground = _ground(folder, asked, plane, _bounds(shape, take_offs))
    return PlanAsk(
        name, kind, shape, origin, kit, ground, take_offs, asked.terrain is not None or asked.ground_height is not None,
        no_fly=shapely.union_all(shut) if shut else None, **_figures(asked, brief, by),
        smear=_smear(asked, kit, name, by),
        **_sights(asked, origin, name),
        face=_face(asked, kind, name), search=_search(asked, features, plane, name, by),
    )  # fmt: skip


def _features(folder: Path, brief: Brief, asked: PlanQuestion, name: str) -> tuple[SiteFeature, ...]:
    file = asked.over or brief.site.outline
    if file is None:
        raise InputError(f"{name}: over is missing: name a GeoJSON file with the area, line or point to be flown.")
    return read_site(folder / file)


def _survey(features: Sequence[SiteFeature], asked: PlanQuestion, name: str) -> tuple[Any, Origin]:
    wanted = [f for f in features if f.use == "survey" and asked.zone in (None, f.name)]
    if not wanted:
        known = ", ".join(f.name for f in features if f.use == "survey") or "nothing to be flown"
        raise InputError(
            f"{name}: nothing to fly over{f' is called {asked.zone!r}' if asked.zone else ''}; there is {known}."
        )
    kinds = {f.shape.geom_type.removeprefix("Multi") for f in wanted}
    if len(kinds) > 1:
        raise InputError(f"{name}: {' and '.join(sorted(kinds))} together; name one zone, or make a plan of each.")
    shape = shapely.union_all([f.shape for f in wanted]) if "Polygon" in kinds else _collected(wanted)
    middle = shapely.get_coordinates(shapely.envelope(shape)).mean(axis=0)
    return shape, Origin((float(middle[0]) + 180.0) % 360.0 - 180.0, float(middle[1]), 0.0)


def _collected(wanted: Sequence[SiteFeature]) -> Any:
    parts = [p for f in wanted for p in shapely.get_parts(f.shape)]
    if parts[0].geom_type == "Point":
        if len(parts) > 1:
            told = ", ".join(f.name or "one without a name" for f in wanted)
            raise InputError(f"{len(parts)} points ({told}); a plan circles one: name a zone.")
        return parts[0]
    return shapely.MultiLineString(parts) if len(parts) > 1 else parts[0]


def _local(shape: Any, plane: LocalPlane) -> Any:
    return shapely.transform(shape, lambda xy: np.c_[plane.to_local(xy[:, 0], xy[:, 1])])


def _take_offs(
    features: Sequence[SiteFeature], asked: PlanQuestion, plane: LocalPlane, name: str
) -> dict[str, tuple[float, float]]:
    homes = [f for f in features if f.use == "take-off"]
    odd = [f"{f.name or 'one'} is a {f.shape.geom_type}" for f in homes if f.shape.geom_type != "Point"]
    if odd:
        raise InputError(f"{name}: a take-off is a point; {', '.join(odd)}.")
    points = {f.name: shapely.get_coordinates(f.shape)[0] for f in homes}
    if asked.take_off:
        lat, _, lon = asked.take_off.partition(",")
        try:
            points["take-off"] = np.array([float(lon), float(lat)])
        except ValueError:
            raise InputError(f"{name}: take_off {asked.take_off!r} is no 'LAT, LON' in degrees.") from None
        if not (abs(points["take-off"][1]) <= 90.0 and abs(points["take-off"][0]) <= 180.0):
            raise InputError(f"{name}: take_off {asked.take_off!r}: latitude comes first, -90 to 90, then longitude.")
    found = {n: tuple(float(v) for v in plane.to_local(*p)) for n, p in points.items()}
    far = [n for n, p in found.items() if not math.hypot(*p) < FARTHEST]
    if far:
        raise InputError(f"{name}: {', '.join(far)} lies more than {FARTHEST / 1000:.0f} km from the site; check it.")
    return found  # type: ignore[return-value]


def _bounds(shape: Any, take_offs: Mapping[str, tuple[float, float]]) -> tuple[float, float, float, float]:
    both = shapely.GeometryCollection([shape, *(shapely.Point(p) for p in take_offs.values())])
    west, south, east, north = both.bounds
    return west - AROUND, south - AROUND, east + AROUND, north + AROUND


def _ground(folder: Path, asked: PlanQuestion, plane: LocalPlane, bounds: tuple[float, float, float, float]) -> Ground:
    west, south, east, north = bounds
    if max(east - west, north - south) > 2 * FARTHEST:
        raise InputError(f"the site is {(east - west) / 1000:.0f} x {(north - south) / 1000:.0f} km; plan its parts.")
    if asked.terrain is None:
        level = quantity(asked.ground_height, "length", "ground_height") if asked.ground_height is not None else 0.0
        return flat_ground((west - 1e4, south - 1e4, east + 1e4, north + 1e4), level)
    return Ground(*read_heights(folder / asked.terrain, plane, bounds))


def _kind(shape: Any, asked: PlanQuestion, name: str) -> PlanKind:
    base = shape.geom_type.removeprefix("Multi")
    if base == "Polygon":
        return "search" if asked.sweep_width is not None else "area"
    if base == "LineString":
        return "face" if asked.face_height is not None else "along"
    if base == "Point":
        return "around"
    raise InputError(f"{name}: a {base} cannot be flown; an area, a line or a point is wanted.")


def _kit(asked: PlanQuestion, fleet: Fleet, name: str) -> Combination:
    """The named kit, or the first that the user owns."""
    if not (asked.camera or asked.lens or asked.aircraft):
        if fleet.owned:
            return fleet.owned[0]
        raise InputError(
            f"{name}: camera is missing: name camera and aircraft, or list yours under [[owned]] in kit.toml."
        )
    if asked.aircraft is None:
        carried = ", ".join(fleet.aircraft)
        raise InputError(f"{name}: aircraft is missing: sorties hang on its battery. Known are {carried}.")
    found = chosen_combinations(fleet, camera=asked.camera, lens=asked.lens, aircraft=asked.aircraft)
    borne = tuple(
        c for c in found if c.aircraft and c.camera.mount in c.aircraft.mounts and c.mass <= c.aircraft.payload
    )
    if not borne:
        raise InputError(f"{name}: {asked.aircraft} does not carry {asked.camera or 'any such camera'}: mount or mass.")
    return borne[0]


def _number(by: Rules, name: str) -> float:
    """A rule's value."""
    return float(by[name].value)


def _in_si(asked: PlanQuestion, fields: Mapping[str, tuple[str, Kind]]) -> dict[str, float]:
    """Quantities that were given, by the name that the plan has for them."""
    found = {
        theirs: quantity(getattr(asked, theirs), kind, theirs)
        for theirs, (_, kind) in fields.items() if getattr(asked, theirs) is not None
    }  # fmt: skip
    none = [name for name, value in found.items() if value <= 0 and name in MORE_THAN_NOTHING]
    if none:
        raise InputError(f"{asked.name or 'plan'}: {none[0]} is {getattr(asked, none[0])}; allowed above 0.")
    return {fields[name][0]: value for name, value in found.items()}


def _figures(asked: PlanQuestion, brief: Brief, by: Rules) -> dict[str, Any]:
    plain: dict[str, tuple[str, Kind]] = {
        "sampling": ("sampling", "length"), "height": ("height", "length"), "forward_overlap": ("forward", "share"),
        "side_overlap": ("side", "share"), "ceiling": ("ceiling", "length"), "speed": ("speed", "speed"),
        "radius": ("radius", "length"), "hold": ("hold", "duration"),
    }  # fmt: skip
    ways: dict[str, tuple[str, Kind]] = {
        "climb": ("climb", "speed"), "slope": ("slope", "share"), "clearance": ("clearance", "length"),
        "lowest": ("lowest", "length"),
    }  # fmt: skip
    found: dict[str, Any] = {"forward": _number(by, "forward_overlap"), "side": _number(by, "side_overlap")}
    found |= _in_si(asked, plain)
    if asked.pixels_on_target is not None:
        if asked.target_size is None:
            raise InputError(f"{asked.name}: pixels_on_target needs the target_size that they are on, such as '0.3 m'.")
        if asked.sampling is not None:
            raise InputError(f"{asked.name}: sampling and pixels_on_target ask for the same; leave one of them out.")
        found["sampling"] = quantity(asked.target_size, "length", "target_size") / asked.pixels_on_target
    wind = quantity(asked.wind, "speed", "wind") if asked.wind is not None else 0.0
    return found | {
        "heading": None if asked.heading_deg is None else math.radians(asked.heading_deg),
        "highest": brief.limits.highest_m, "ways": usual_ways(by, **_in_si(asked, ways)),
        "wind": Wind(wind, math.radians(asked.wind_from_deg)), "aircraft": asked.aircraft_count,
        "hours": asked.hours_a_day, "days": asked.days, "extra_frames": asked.extra_frames,
        "tilt": math.radians(asked.tilt_deg), "sides": asked.sides, "rings": asked.rings, "recording": asked.recording,
        "people_near": brief.limits.people_near, "live_parts": brief.limits.live_parts,
        "surface": _surface(brief),
    }  # fmt: skip


def _smear(asked: PlanQuestion, kit: Combination, name: str, by: Rules) -> float:
    """Allowed, px: asked, by the budget of a reading, or by the rules."""
    if asked.rise is None and asked.accuracy is None:
        return asked.smear_px or _number(by, "smear_px")
    if asked.smear_px is not None or asked.rise is None or asked.accuracy is None or asked.target_size is None:
        raise InputError(f"{name}: smear by budget needs rise, accuracy and target_size together, and no smear_px.")
    size = quantity(asked.target_size, "length", "target_size")
    sampling = size / asked.pixels_on_target if asked.pixels_on_target else 0.0
    if asked.sampling is not None:
        sampling = quantity(asked.sampling, "length", "sampling")
    if asked.height is not None:
        sampling = sampling_at(kit, quantity(asked.height, "length", "height"))
    if not (size > 0 and sampling > 0):
        raise InputError(f"{name}: smear by budget needs a target_size and a sampling or height above 0.")
    rise, accuracy = (quantity(t, "difference", n) for t, n in ((asked.rise, "rise"), (asked.accuracy, "accuracy")))
    return smear_within_budget(kit, size / sampling, rise, accuracy, _number(by, "budget_share"))


def _surface(brief: Brief) -> tuple[float, float]:
    """Tilt and azimuth of the first tilted surface of the brief, rad."""
    tilted = next((s for s in brief.surface if s.tilt_deg > 0), None)
    return (math.radians(tilted.tilt_deg), math.radians(tilted.azimuth_deg)) if tilted else (0.0, 0.0)


def _sights(asked: PlanQuestion, origin: Origin, name: str) -> dict[str, Any]:
    if not asked.flown_at:
        return {}
    time = iso_time(asked.flown_at)
    zoned = time is not None and time == iso_time(asked.flown_at, timezone(timedelta(hours=1)))
    if time is None or not zoned:
        said = "says no time zone" if time is not None else "is no time"
        raise InputError(f"{name}: flown_at {asked.flown_at!r} {said}; write for example '2026-05-02T09:00Z'.")
    sun = sun_position(np.array([time]), Place(origin.lat_deg, origin.lon_deg, origin.height_m))
    return {"sun": (float(sun.azimuth[0]), math.pi / 2 - float(sun.apparent_zenith[0]))}


def _face(asked: PlanQuestion, kind: PlanKind, name: str) -> Face | None:
    if asked.face_height is None:
        return None
    if kind != "face":
        raise InputError(f"{name}: face_height is of a face above a foot line; an area or point is flown without it.")
    foot = quantity(asked.foot, "length", "foot") if asked.foot is not None else 0.0
    height = quantity(asked.face_height, "length", "face_height")
    if not height > 0:
        raise InputError(f"{name}: face_height is {height} m; allowed above 0.")
    return Face(height, math.radians(asked.face_tilt_deg), foot, math.radians(asked.aside_deg))


def _search(
    asked: PlanQuestion, features: Sequence[SiteFeature], plane: LocalPlane, name: str, by: Rules
) -> Search | None:
    if asked.sweep_width is None:
        return None
    width = quantity(asked.sweep_width, "length", "sweep_width")
    wanted = quantity(asked.probability, "share", "probability") if asked.probability is not None else None
    wanted = _number(by, "probability") if wanted is None else wanted
    if not (width > 0 and 0 < wanted < 1):
        raise InputError(f"{name}: sweep_width is {width} m, probability {wanted}; allowed above 0 m, and 0 to 1.")
    segments = [f for f in features if f.use == "segment"]
    presence = {f.name: f.presence for f in segments if f.presence is not None}
    return Search(width, wanted, {f.name: _local(f.shape, plane) for f in segments}, presence)
