"""From a question to a plan: lines, sorties, proof, and the reasons why it is refused."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

import numpy as np
import shapely

from groundglow.errors import InputError, UnmetError
from groundglow.frames.places import LocalPlane
from groundglow.kit.recording import recording_kinds
from groundglow.model.overlap import motion_in_pixels
from groundglow.records.kit import RECORDING_KINDS
from groundglow.records.plan import Line, Plan, Proof, Segment
from groundglow.steps.plan.air import battery_seconds
from groundglow.steps.plan.area import Drawn, draw_area, kept_out, not_entered, wanted_frames
from groundglow.steps.plan.aside import draw_along, draw_around, draw_face
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.camera import footprint_sides, sampling_at
from groundglow.steps.plan.legs import Legs, Place
from groundglow.steps.plan.limits import broken_limits, eased_ways, flown_heights
from groundglow.steps.plan.patches import patches_of
from groundglow.steps.plan.pattern import search_segments
from groundglow.steps.plan.proof import proof_of_area, proof_of_patches
from groundglow.steps.plan.route import Router
from groundglow.steps.plan.settings import CAUTIONS, LEVEL, LIVE, PEOPLE, SEARCH, TERRAIN, UNKNOWN
from groundglow.steps.plan.sorties import Crew, Packed, pack

__all__ = ["plan_of"]

DRAW: Final[Mapping[str, Callable[[PlanAsk], Drawn]]] = {
    "area": draw_area,
    "search": draw_area,
    "along": draw_along,
    "around": draw_around,
    "face": draw_face,
}


def plan_of(ask: PlanAsk) -> Plan:
    """Answer one question of planning.

    Raises
    ------
    InputError
        For what cannot be worked with.
    UnmetError
        When there is no plan at all; one that falls short comes back with its reasons in ``unmet``.
    """
    drawn = DRAW[ask.kind](ask)
    packed = _packed(ask, drawn)
    proof = _proved(ask, drawn, packed) if packed.lines else None
    if proof is not None and not proof.seen[1]:
        raise UnmetError(
            f"{ask.name}: no planned frame shows any of it. Check the side that a face looks to, its tilt and the "
            "no-fly areas beside it."
        )
    flown = flown_heights(packed.sorties, ask.ground)
    if proof is not None:
        low, high = proof.above_ground
        proof = replace(proof, above_ground=(low, max(high, *(f.above for f in flown))))
    return _plan(ask, drawn, packed, proof, broken_limits(flown, ask.origin, highest=ask.highest, ceiling=ask.ceiling))


def _proved(ask: PlanAsk, drawn: Drawn, packed: Packed) -> Proof:
    lines, shut = tuple(packed.lines), not_entered(ask)
    if ask.kind not in ("area", "search"):
        return proof_of_patches(patches_of(ask, drawn, lines), lines, packed.sorties, ask.kit, shut)
    kept = kept_out(ask)
    reachable = ask.shape if kept is None else shapely.difference(ask.shape, kept)
    if reachable.is_empty:
        raise UnmetError(f"{ask.name}: the no-fly areas leave nothing of the site to fly over.")
    return proof_of_area(
        ask.shape, shut, ask.ground, lines, packed.sorties, ask.kit, footprint=footprint_sides(ask.kit, drawn.height),
        reachable=reachable, wanted=wanted_frames(ask, drawn),
    )  # fmt: skip


def _segments(ask: PlanAsk, drawn: Drawn, packed: Packed) -> tuple[Segment, ...]:
    if ask.search is None:
        return ()
    across = footprint_sides(ask.kit, drawn.height)[0]
    return search_segments(ask.parts, packed.lines, packed.sorties, ask.search.width, across=across,
                           presence=ask.search.presence)  # fmt: skip


def _packed(ask: PlanAsk, drawn: Drawn) -> Packed:
    router, plane = Router(kept_out(ask)), LocalPlane(ask.origin)
    names, places = list(ask.take_offs), np.array(list(ask.take_offs.values()), dtype=float)
    shut = [n for n, is_open in zip(names, router.open(places), strict=True) if not is_open]
    if shut:
        raise InputError(f"{ask.name}: take-off point {', '.join(shut)} lies in or too near a no-fly area; move it.")
    heights = ask.ground.at(places[:, 0], places[:, 1])
    if np.isnan(heights).any():
        raise InputError(f"{ask.name}: the terrain file does not reach {names[int(np.isnan(heights).argmax())]!r}.")
    take_offs = {n: Place(float(p[0]), float(p[1]), float(z)) for n, p, z in zip(names, places, heights, strict=True)}
    transit = _transit(ask, drawn)
    legs = Legs(
        ask.ground, router, ask.ways, ask.wind, ask.kit.aircraft, height=transit, line_speed=drawn.speed,
        least=min(ask.ways.lowest, transit) if ask.kind in ("area", "search") else transit,
        highest=ask.highest, ceiling=ask.ceiling,
    )  # fmt: skip
    lines = [replace(line, hold=ask.pause(line.speed)) for line in drawn.lines]
    packed = pack(lines, take_offs, _crews(ask), legs, day_length=ask.hours * 3600.0, worth=ask.ways.worth,
                  storage=lambda lines: _storage(ask, lines), ground=ask.ground.at,
                  place=lambda xy: plane.to_geographic(xy[:, 0], xy[:, 1]))  # fmt: skip
    packed.notes += eased_ways(packed.sorties, height=transit, slope=legs.climb_slope)
    return packed


def _transit(ask: PlanAsk, drawn: Drawn) -> float:
    """Height above ground between lines, m: that of the lines, and clear of a face's top."""
    if ask.face is None:
        return drawn.height
    top = ask.face.foot + ask.face.height * math.sin(ask.face.tilt)
    return max(drawn.height, top + ask.ways.clearance)


def _crews(ask: PlanAsk) -> list[Crew]:
    available = battery_seconds(ask.kit, ask.wind.speed)
    battery = ask.kit.aircraft.battery if ask.kit.aircraft else None
    sets = battery.count if battery else 1
    charge, swap = (battery.charge, battery.swap) if battery else (0.0, 0.0)
    base = ask.kit.aircraft.id if ask.kit.aircraft else "by hand"
    names = [base] if ask.aircraft == 1 else [f"{base} {i}" for i in range(1, ask.aircraft + 1)]
    return [Crew(name, available, [0.0] * sets, charge, swap) for name in names]


def recording_of(ask: PlanAsk) -> str:
    """The way to record: asked, or the camera's first that keeps temperatures."""
    offered = ask.kit.camera.records
    if ask.recording and ask.recording not in offered:
        raise InputError(
            f"{ask.name}: {ask.kit.camera.id} does not record {ask.recording!r}; it has {', '.join(offered)}."
        )
    return ask.recording or next((r for r in offered if RECORDING_KINDS[r]), offered[0])


def _storage(ask: PlanAsk, lines: Sequence[Line]) -> float:
    kind, detector = recording_of(ask), ask.kit.camera.detector
    size = detector.columns * detector.rows * recording_kinds()[kind].bits.value / 8.0
    if "video" in kind:
        return size * max(ask.kit.camera.frame_rates) * sum(line.seconds for line in lines)
    return size * sum(line.frames for line in lines)


def _plan(ask: PlanAsk, drawn: Drawn, packed: Packed, proof: Proof | None, broken: tuple[str, ...]) -> Plan:
    across, along = footprint_sides(ask.kit, drawn.height)
    sampling = sampling_at(ask.kit, drawn.height)
    plane = LocalPlane(ask.origin)
    return Plan(
        ask.name, ask.kind, ask.origin, ask.kit.id, drawn.height, sampling, drawn.speed, drawn.heading, drawn.spacing,
        drawn.base, drawn.base / drawn.speed + ask.pause(drawn.speed),
        1 - drawn.base / along, 1 - drawn.spacing / across,
        0.0 if ask.hold else motion_in_pixels(drawn.speed, ask.kit.camera.detector.time_constant, sampling),
        tuple(packed.lines), tuple(packed.sorties), proof, _segments(ask, drawn, packed),
        (*_unmet(ask, drawn, packed, proof), *broken), (*_shut_off(ask, proof), *_cautions(ask)),
        (*drawn.notes, *packed.notes),
        (_geographic(ask.shape, plane),),
        () if ask.no_fly is None else tuple(_geographic(g, plane) for g in shapely.get_parts(ask.no_fly)),
        {n: _degrees(p, plane) for n, p in ask.take_offs.items()},
        _settings(ask),
    )  # fmt: skip


def _degrees(place: tuple[float, float], plane: LocalPlane) -> tuple[float, float]:
    lon, lat = plane.to_geographic(*place)
    return float(lon), float(lat)


def _geographic(shape: Any, plane: LocalPlane) -> dict[str, Any]:
    """In degrees, longitudes continuous across the antimeridian."""

    def degrees(xy: Any) -> Any:
        lon, lat = plane.to_geographic(xy[:, 0], xy[:, 1])
        middle = plane.origin.lon_deg
        return np.c_[middle + (lon - middle + 180.0) % 360.0 - 180.0, lat]

    turned = shapely.transform(shape, degrees)
    return dict(shapely.geometry.mapping(turned))


def _settings(ask: PlanAsk) -> dict[str, float]:
    return {
        "wind_m_s": ask.wind.speed, "highest_m": ask.highest, "lowest_m": ask.ways.lowest, "slope": ask.ways.slope,
        "clearance_m": ask.ways.clearance, "smear_allowed_px": ask.smear, "hours_a_day": ask.hours,
        "hold_s": ask.hold, "ground_given": float(ask.ground_given),
    }  # fmt: skip


def _cautions(ask: PlanAsk) -> tuple[str, ...]:
    heights = ask.ground.heights
    ground = TERRAIN if np.ptp(heights) > 0 else LEVEL.format(float(heights.flat[0])) if ask.ground_given else UNKNOWN
    said = ((ask.people_near, PEOPLE), (ask.live_parts, LIVE), (ask.kind == "search", SEARCH))
    return (*CAUTIONS, ground, *(text for given, text in said if given))


def _shut_off(ask: PlanAsk, proof: Proof | None) -> tuple[str, ...]:
    """How much of a site is not flown over for no-fly areas; shares that are seen leave it out."""
    lost = proof.area - proof.reachable if proof else 0.0
    if proof is None or ask.no_fly is None or lost < 1e-3 * proof.area:
        return ()
    return (
        f"No-fly areas and what is kept clear of them shut off {100 * lost / proof.area:.1f} % of the site "
        f"({lost:.0f} m2): it is not flown over, and shares that are seen leave it out.",
    )


def _out_of_circle(ask: PlanAsk, proof: Proof) -> float:
    """Share of the open site that is left out for the sake of turning."""
    shut = not_entered(ask)
    if shut is None or ask.kind not in ("area", "search") or ask.kit.aircraft is None or ask.kit.aircraft.hovers:
        return 0.0
    whole = float(shapely.difference(ask.shape, shut).area)
    return 1.0 - proof.reachable / whole if whole else 0.0


def _unmet(ask: PlanAsk, drawn: Drawn, packed: Packed, proof: Proof | None) -> tuple[str, ...]:
    """Why the plan does not do what was asked."""
    said = list(packed.left)
    if proof is None:
        return tuple(said)
    if proof.seen[1] < 1 - ask.ways.unseen and ask.kind != "search":
        said.append(f"{100 * (1 - proof.seen[1]):.1f} % of the reachable site is in no frame.")
    wanted = wanted_frames(ask, drawn) if ask.kind == "area" else 1
    if wanted > 1 and proof.seen[1] >= 1 - ask.ways.unseen > proof.seen[wanted]:
        short = 100 * (1 - proof.seen[wanted])
        said.append(f"{short:.1f} % of the reachable site is in fewer than the {wanted} frames of the asked overlap.")
    if (
        ask.sampling is not None
        and ask.kind in ("area", "search", "face")
        and proof.sampling.high > ask.sampling * (1 + ask.ways.coarser)
    ):
        said.append(f"Ground sampling is up to {100 * proof.sampling.high:.1f} cm over 95 % of the site; asked "
                    f"{100 * ask.sampling:.1f} cm. The terrain varies: plan its parts by themselves.")  # fmt: skip
    low = proof.above_ground[0]
    if low < ask.ways.lowest - 1e-6:
        said.append(f"Lines come down to {low:.1f} m above ground; {ask.ways.lowest:g} m are kept.")
    if proof.no_fly > 0:
        said.append(f"{proof.no_fly:.1f} m of the way lie in no-fly areas.")
    aircraft = ask.kit.aircraft
    lost = _out_of_circle(ask, proof)
    if aircraft is not None and lost > ask.ways.unseen:
        said.append(f"{100 * lost:.0f} % of the site lie within the turning circle of {aircraft.id} from no-fly areas; "
                    "take an aircraft that can stop.")  # fmt: skip
    if aircraft is not None and ask.wind.speed > aircraft.wind_limit:
        said.append(f"The wind of {ask.wind.speed:g} m/s is above the {aircraft.wind_limit:g} m/s of {aircraft.id}.")
    said += [
        f"{s.name}: probability of detection {100 * s.detection:.0f} %; asked {100 * ask.search.detection:.0f} %."
        for s in _segments(ask, drawn, packed) if ask.search and s.detection < ask.search.detection - 0.02
    ]  # fmt: skip
    longest = max((s.duration for s in packed.sorties), default=0.0)
    if longest > 3600.0 * ask.hours:
        said.append(f"A sortie takes {longest / 60:.0f} min; {60 * ask.hours:.0f} min are worked a day.")
    last = max((s.day for s in packed.sorties), default=0)
    if ask.days is not None and last > ask.days:
        said.append(f"It takes {last} days; allowed {ask.days}. More batteries or a second aircraft would help.")
    return tuple(said)
