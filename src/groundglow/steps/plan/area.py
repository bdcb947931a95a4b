"""Lines over an area: height by the terrain, heading, runs, heights along them, frames."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from groundglow.errors import InputError, UnmetError
from groundglow.model.optics import height_for_ground_sampling
from groundglow.model.overlap import count_to_cover
from groundglow.model.search import coverage_for_probability
from groundglow.records.plan import Line
from groundglow.steps.plan.air import along_speed
from groundglow.steps.plan.ask import PlanAsk
from groundglow.steps.plan.camera import footprint_sides, halves, speed_limit, steps, straight_down
from groundglow.steps.plan.cover import in_track, parallel_runs
from groundglow.steps.plan.ground import Ground, climb_limited, simplified
from groundglow.steps.plan.heading import best_heading, glint_in_view
from groundglow.steps.plan.legs import sampled, turn_radius
from groundglow.steps.plan.order import ordered
from groundglow.steps.plan.pattern import tightened
from groundglow.steps.plan.route import STAND_OFF
from groundglow.steps.plan.runs import Layout, Run, looks_at_border

__all__ = ["Drawn", "draw_area", "kept_out", "line_along", "line_speed", "not_entered", "wanted_frames"]


#: Chords of a quarter of a turn around corners of no-fly areas.
_ARC = 4


@dataclass(frozen=True)
class Drawn:
    """Lines in the order of flight, and the figures they were drawn with."""

    lines: tuple[Line, ...]
    height: float
    speed: float
    heading: float
    spacing: float
    base: float
    limit: str
    notes: tuple[str, ...] = ()


def kept_out(ask: PlanAsk) -> Any:
    """The no-fly areas with what is kept from them; for an aircraft that cannot stop also its circle."""
    if ask.no_fly is None or ask.no_fly.is_empty:
        return None
    room = ask.ways.clearance + 2 * turn_radius(ask.kit.aircraft, ask.ways)
    sagging = math.cos(math.pi / (4 * _ARC))  # chords of the corners' arcs lie within them
    return shapely.buffer(ask.no_fly, room / sagging, quad_segs=_ARC)


def not_entered(ask: PlanAsk) -> Any:
    """The no-fly areas with the clearance alone: what no way may enter."""
    if ask.no_fly is None or ask.no_fly.is_empty:
        return None
    return shapely.buffer(ask.no_fly, max(ask.ways.clearance - STAND_OFF, 0.0), quad_segs=4)


def _shut_to_lines(ask: PlanAsk) -> Any:
    """A little more, so that the ends of lines do not touch it and ways lead on from them."""
    shut = kept_out(ask)
    return None if shut is None else shapely.buffer(shut, 2 * STAND_OFF, quad_segs=4)


def draw_area(ask: PlanAsk) -> Drawn:
    """Parallel lines for the asked ground sampling or height.

    Raises
    ------
    UnmetError
        Where terrain and limits leave no height, or the wind no speed.
    """
    height = first_height(ask)
    heading = ask.heading if ask.heading is not None else _heading(ask, height)
    lines, notes = _lines(ask, height, heading), []
    fitted, why = _fitted_height(ask, lines, height)
    lower = height - fitted if fitted < height * (1 - 1e-6) else 0.0
    if lower:
        height, level = fitted, sum(line.frames for line in lines)
        lines = _lines(ask, fitted, heading)
        notes.append(_lower(ask, lower, why, sum(line.frames for line in lines) - level))
    if ask.search is not None:
        ask = replace(ask, search=tightened(
            ask.search, ask.parts, lambda search: _lines(replace(ask, search=search), height, heading),
            footprint_sides(ask.kit, height)[0],
        ))  # fmt: skip
        lines = _lines(ask, height, heading)
    spacing, base = spacings(ask, height)
    aircraft, circle = ask.kit.aircraft, 2 * turn_radius(ask.kit.aircraft, ask.ways)
    if aircraft is not None and circle and kept_out(ask) is not None:
        notes.append(f"{aircraft.id} cannot stop: it keeps its circle of {circle:.0f} m from no-fly areas.")
    speed, limit = line_speed(ask, height, base, heading)
    return Drawn(tuple(lines), height, speed, heading, spacing, base, limit, tuple(notes))


def spacings(ask: PlanAsk, height: float) -> tuple[float, float]:
    """Between lines (of a search: by sweep width, never wider than the picture) and between frames, m."""
    spacing, base = steps(ask.kit, height, (ask.forward, ask.side))
    if ask.search is not None:
        across = footprint_sides(ask.kit, height)[0]
        coverage = ask.search.tighter * float(coverage_for_probability(ask.search.detection))
        spacing = min(min(ask.search.width, across) / coverage, across)
    return spacing, base


def wanted_frames(ask: PlanAsk, drawn: Drawn) -> int:
    """Frames that the asked overlap puts every place of an area in, its border among it; 1 for a search."""
    if ask.search is not None:
        return 1
    across, along = footprint_sides(ask.kit, drawn.height)
    looks = Layout(drawn.heading, drawn.spacing, drawn.base, (across, along)).looks
    first, low, last, high = in_track(ask.shape, drawn.heading).bounds
    along = min(looks[1], count_to_cover(max(last - first, 1e-9), drawn.base))  # a short site has no more frames
    return along * (looks[0] if high - low > drawn.spacing else 1)


def first_height(ask: PlanAsk) -> float:
    detector = ask.kit.camera.detector
    if ask.height is not None:
        return ask.height
    wanted = ask.sampling if ask.sampling is not None else math.nan
    return float(height_for_ground_sampling(wanted, detector.pitch, ask.kit.lens.focal_length))


def _most(ask: PlanAsk, distance: float, base: float) -> tuple[float, str]:
    """Greatest speed by camera and, where the aircraft stops for each frame, by how fast it gathers speed."""
    most, limit = speed_limit(ask.kit, distance, base, ask.smear_limit)
    peak = math.sqrt(ask.ways.acceleration * base) if ask.hold else math.inf
    return (peak, "stopping") if peak < most else (most, limit)


def line_speed(ask: PlanAsk, distance: float, base: float, heading: float) -> tuple[float, str]:
    """Speed over ground that holds both ways along a heading, and what limits it.

    Raises
    ------
    UnmetError
        When the aircraft cannot fly so slowly, or not against this wind.
    """
    most, limit = _most(ask, distance, base)
    if ask.speed is not None and ask.speed < most:
        most, limit = ask.speed, "asked"
    aircraft = ask.kit.aircraft
    if aircraft is None:
        return most, limit
    if ask.hold and not aircraft.hovers:
        raise UnmetError(f"{ask.name}: {aircraft.id} cannot stop for each frame; leave out hold, or take another.")
    both = [along_speed(most, heading + turn, ask.wind, aircraft) for turn in (0.0, math.pi)]
    if any(math.isnan(v) for v in both):
        raise UnmetError(f"{ask.name}: the wind of {ask.wind.speed:g} m/s is too strong for {aircraft.id}.")
    if max(both) > most * (1 + 1e-9):
        raise UnmetError(
            f"{ask.name}: {aircraft.id} flies no slower than {max(both):.1f} m/s over ground; {limit} allows "
            f"{most:.1f} m/s. Fly higher, allow more smear, take a camera of less lag, or one that hovers."
        )
    return (most, limit) if min(both) == most else (min(both), "wind")


def _heading(ask: PlanAsk, height: float) -> float:
    footprint = footprint_sides(ask.kit, height)
    spacing, base = spacings(ask, height)

    def speed(heading: float) -> float:
        try:
            return line_speed(ask, height, base, heading)[0]
        except UnmetError:
            return math.nan

    glints = None
    if ask.sun is not None:
        sun, (tilt, azimuth) = ask.sun, ask.surface

        def glints(heading: float) -> bool:
            return glint_in_view(heading, sun, halves(ask.kit), tilt=tilt, azimuth=azimuth)

    turn = 2.0 + _most(ask, height, base)[0] / ask.ways.acceleration
    return best_heading(ask.shape, lambda h: Layout(h, spacing, base, footprint), speed, turn, glints=glints)


def _lines(ask: PlanAsk, height: float, heading: float) -> list[Line]:
    footprint = footprint_sides(ask.kit, height)
    spacing, base = spacings(ask, height)
    layout = Layout(heading, spacing, base, footprint, ask.extra_frames * base, ask.ways.join)
    runs = parallel_runs(ask.shape, _shut_to_lines(ask), layout)
    if not runs:
        raise UnmetError(f"{ask.name}: the no-fly areas leave nothing of the site to fly over.")
    speed, _ = line_speed(ask, height, base, heading)
    start = in_track(shapely.Point(next(iter(ask.take_offs.values()))), heading)
    half = math.hypot(spacing * max(0.5, looks_at_border(ask.side) - 1), base * looks_at_border(ask.forward))
    high = ask.ground.highest(half if np.ptp(ask.ground.heights[np.isfinite(ask.ground.heights)]) > 0 else 0.0)
    order = ordered(runs, (float(start.x), float(start.y)))
    return [_line(i, run, against, (ask, high), (height, base, speed, heading))
            for i, (run, against) in enumerate(order, 1)]  # fmt: skip


def _line(
    number: int, run: Run, against: bool, over: tuple[PlanAsk, Ground], figures: tuple[float, float, float, float]
) -> Line:
    ask, high = over
    height, base, speed, heading = figures
    ends = np.array([(run.start, run.offset), (run.end, run.offset)][:: -1 if against else 1])
    way = shapely.get_coordinates(in_track(shapely.LineString(ends), heading))
    return line_along(number, way, base, speed, ground=(ask, high), height=height,
                      yaw=(heading + math.pi * against) % (2 * math.pi), pitch=straight_down())  # fmt: skip


def line_along(
    number: int, way: np.ndarray, base: float, speed: float,
    *, ground: tuple[PlanAsk, Ground], height: float, yaw: float, pitch: float,
) -> Line:  # fmt: skip
    """A straight line with frames at most ``base`` apart that keeps above the highest ground in each frame.

    Parameters
    ----------
    ground : (PlanAsk, Ground)
        The question, and its terrain's highest ground around each place.
    """
    ask, high = ground
    plane, along = sampled(way, float(np.clip(min(abs(s) for s in high.step), 1.0, max(along_end(way) / 4, 1.0))))
    floor, below = high.at(plane[:, 0], plane[:, 1]) + height, ask.ground.at(plane[:, 0], plane[:, 1])
    if np.isnan(floor).any() or np.isnan(below).any():
        raise InputError(
            f"{ask.name}: the terrain file does not reach below every line, or has holes there; give one that "
            f"reaches {height:.0f} m beyond the site."
        )
    profile = climb_limited(along, floor, ask.ways.slope)
    kept = simplified(along, profile, ask.ways.tolerance, ask.ways.slope)
    lifted = profile[kept] + (ask.ways.tolerance * math.hypot(1, ask.ways.slope) if len(kept) > 2 else 0.0)
    nodes = np.c_[plane[kept], lifted]
    count = len(kept)
    line = Line(number, "", nodes, below[kept], np.full(count, yaw), np.full(count, pitch), np.zeros(0), speed)
    frames = count_to_cover(line.length, base) if line.length > 1e-9 else 1
    return Line(number, "", nodes, line.ground, line.yaw, line.pitch, np.linspace(0, line.length, frames), speed)


def along_end(way: np.ndarray) -> float:
    """Length of a way, m."""
    return float(np.linalg.norm(np.diff(way, axis=0), axis=1).sum())


def _lower(ask: PlanAsk, lower: float, why: str, frames: int) -> str:
    """That lines are lower than asked, by what, and what it takes."""
    asked = "asked" if ask.sampling is None else f"{100 * ask.sampling:g} cm a pixel on level ground"
    more = f" That takes {frames} frames more." if frames > 0 else ""
    return f"Flown {lower:.1f} m lower than {'' if ask.sampling is None else 'for '}{asked}: {why}.{more}"


def _fitted_height(ask: PlanAsk, lines: list[Line], height: float) -> tuple[float, str]:
    """The height at which lines that vary with the terrain keep the ground sampling, the limit and the ceiling; and
    which of them it is that asks for it.

    Raises
    ------
    UnmetError
        When none does.
    """
    excess, tops = [], []
    for line in lines:
        plane, along = sampled(line.nodes[:, :2], min(abs(s) for s in ask.ground.step) if line.length else 1.0)
        z = np.interp(along, *_over_plane(line))
        excess.append(z - ask.ground.at(plane[:, 0], plane[:, 1]) - height)
        tops.append(float(z.max()))
    relief = np.concatenate(excess)
    varies = f", less the {relief.max():.1f} m that the ground below the lines varies by" if relief.max() > 0.05 else ""
    rooms = [
        (ask.highest - float(relief.max()), f"the limit of {ask.highest:g} m above ground holds{varies}"),
        (ask.ceiling - max(tops) + height, f"the ceiling of {ask.ceiling:g} m holds"),
    ]
    if ask.sampling is not None:
        rooms.append((height - float(np.quantile(relief, 0.95)), "the terrain below the lines varies"))
    room, why = min(rooms)
    fitted = min(height, room)
    if fitted < ask.ways.lowest:
        raise UnmetError(_no_height(ask, fitted, float(relief.max()), max(tops) - height))
    return fitted, why


def _over_plane(line: Line) -> tuple[np.ndarray, np.ndarray]:
    steps_ = np.linalg.norm(np.diff(line.nodes[:, :2], axis=0), axis=1)
    return np.r_[0.0, np.cumsum(steps_)], line.nodes[:, 2]


def _no_height(ask: PlanAsk, fitted: float, relief: float, top: float) -> str:
    if ask.ceiling - top < ask.ways.lowest:
        return (
            f"{ask.name}: the ceiling of {ask.ceiling:.0f} m lies below the terrain and the least height over it: "
            f"the ground reaches {top:.0f} m, {ask.ways.lowest:g} m are kept. Lower ground, or a higher ceiling."
        )
    return (
        f"{ask.name}: no height fits: the ground below the lines varies by {relief:.0f} m where a climb of "
        f"{100 * ask.ways.slope:.0f} % is allowed, which leaves {fitted:.0f} m; at least {ask.ways.lowest:g} m are "
        "kept. Allow steeper climbs, a coarser sampling or a greater height, or plan the parts by themselves."
    )
