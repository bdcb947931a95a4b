"""Lines whose camera looks aside: along a line on both sides, around a point, along a face."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.errors import InputError, UnmetError
from groundglow.model.overlap import count_to_cover, spacing_for_overlap
from groundglow.records.plan import Line
from groundglow.steps.plan.area import Drawn, first_height, kept_out, line_speed
from groundglow.steps.plan.ask import Face, PlanAsk
from groundglow.steps.plan.camera import footprint_sides
from groundglow.steps.plan.ground import climb_limited, simplified
from groundglow.steps.plan.legs import sampled

__all__ = ["aimed_lines", "draw_along", "draw_around", "draw_face", "face_axes"]

Array = NDArray[np.float64]


def draw_along(ask: PlanAsk) -> Drawn:
    """To and fro on both sides of a line that is looked at (a power line, a pipe), or once straight above it.

    Frames look at places at most ``base`` apart on the line itself, so that bends keep the overlap.
    """
    distance, base = _distance_and_base(ask)
    tilt = 0.0 if ask.sides == 1 else ask.tilt
    lines: list[Line] = []
    heading = _course(ask.shape)
    speed, limit = line_speed(ask, distance, base, heading)
    for part in shapely.get_parts(shapely.force_2d(ask.shape)):
        aim, sideways = _stations(part, base)
        for side in (1,) if ask.sides == 1 else (1, -1):
            target = np.c_[aim, _heights(ask, aim)]
            place = (
                target
                + np.c_[side * distance * math.sin(tilt) * sideways, np.full(len(aim), distance * math.cos(tilt))]
            )
            clear = _not_folded(part, place, distance * math.sin(tilt))
            place, target = place[clear][::side], target[clear][::side]
            lines += aimed_lines(ask, place, target, speed, course_yaw=ask.sides == 1)
    return _drawn(ask, lines, (distance, speed, heading, base, limit), spacing=2 * distance * math.sin(tilt))


def _not_folded(line: Any, place: Array, offset: float) -> NDArray[np.bool_]:
    """Places that keep their distance from the whole line: on the inside of a bend others would run to and fro."""
    return np.asarray(shapely.distance(line, shapely.points(place[:, :2])) >= offset * (1 - 1e-3))


def draw_around(ask: PlanAsk) -> Drawn:
    """Rings around a point that is looked at."""
    distance, base = _distance_and_base(ask)
    if ask.radius is not None and ask.radius >= distance:
        raise InputError(
            f"{ask.name}: a radius of {ask.radius:g} m is no less than the distance of {distance:.1f} m that the "
            "sampling or height asks for; take a smaller radius or a coarser sampling."
        )
    outer = ask.tilt if ask.radius is None else math.asin(ask.radius / distance)
    centre = shapely.get_coordinates(ask.shape)[0]
    target = np.r_[centre, _heights(ask, centre[None])]
    speed, limit = line_speed(ask, distance, base, 0.0)
    lines: list[Line] = []
    for tilt in np.linspace(outer, outer / 2, ask.rings):
        radius = distance * math.sin(tilt)
        count = max(count_to_cover(2 * math.pi * radius, base), 9)
        round_ = np.linspace(0.0, 2 * math.pi, count)
        place = (
            target + np.c_[radius * np.sin(round_), radius * np.cos(round_), np.full(count, distance * math.cos(tilt))]
        )
        lines += aimed_lines(ask, place, np.tile(target, (count, 1)), speed)
    return _drawn(ask, lines, (distance, speed, 0.0, base, limit), spacing=base)


def face_axes(face: Face, course: float) -> tuple[Array, Array]:
    """Up along a face whose foot runs on a course, and square out of it: unit vectors.

    Examples
    --------
    >>> up, out = face_axes(Face(10.0), 0.0)  # a wall that runs north looks east
    >>> (up.round(9) + 0.0).tolist(), out.round(9).tolist()
    ([0.0, 0.0, 1.0], [1.0, 0.0, 0.0])
    """
    right = np.array([math.cos(course), -math.sin(course), 0.0])
    up, level = np.array([0.0, 0.0, 1.0]), math.cos(face.tilt)
    return up * math.sin(face.tilt) - right * level, right * math.sin(face.tilt) + up * level


def draw_face(ask: PlanAsk) -> Drawn:
    """Rows along an upright or tilted face, at one distance from it, to and fro."""
    face = ask.face
    if face is None:
        raise InputError(f"{ask.name}: a face needs its height.")
    distance, base = _distance_and_base(ask)
    spacing = spacing_for_overlap(footprint_sides(ask.kit, distance)[1], ask.side)
    speed, limit = line_speed(ask, distance, base, _course(ask.shape))
    lines: list[Line] = []
    for part in shapely.get_parts(ask.shape):
        for foot in _straights(part):
            rows = _face_rows(ask, face, foot, (distance, base, spacing))
            for i, (place, target) in enumerate(rows):
                order = slice(None, None, -1 if i % 2 else 1)
                lines += aimed_lines(ask, place[order], target[order], speed)
    return _drawn(ask, lines, (distance, speed, _course(ask.shape), base, limit), spacing=spacing)


def _face_rows(
    ask: PlanAsk, face: Face, foot: Array, figures: tuple[float, float, float]
) -> Iterator[tuple[Array, Array]]:
    """Camera places and what they look at, a row at a time from below."""
    distance, base, spacing = figures
    tall = footprint_sides(ask.kit, distance)[1]
    course = math.atan2(*(foot[1] - foot[0]))
    up, _ = face_axes(face, course)
    _, out = face_axes(Face(face.height, face.tilt - face.aside), course)
    along, _ = sampled(foot, base)
    floor = np.c_[along, _heights(ask, along) + face.foot]
    for row in _row_heights(face.height, tall, spacing):
        target = floor + row * up
        place = target + distance * out
        least = ask.ground.at(place[:, 0], place[:, 1]) + ask.ways.lowest
        place[:, 2] = np.maximum(place[:, 2], least)
        yield place, target


def _row_heights(height: float, tall: float, spacing: float) -> Array:
    """Where rows look at a face: the lowest picture stands on its foot, the highest reaches its top.

    Examples
    --------
    >>> _row_heights(12.0, 10.0, 3.0).tolist(), _row_heights(8.0, 10.0, 3.0).tolist()
    ([5.0, 7.0], [4.0])
    """
    if height <= tall:
        return np.array([height / 2])
    return np.linspace(tall / 2, height - tall / 2, max(math.ceil((height - tall) / spacing - 1e-9) + 1, 2))


def _straights(part: Any) -> list[Array]:
    corners = shapely.get_coordinates(part)
    return [corners[i : i + 2] for i in range(len(corners) - 1)]


def _distance_and_base(ask: PlanAsk) -> tuple[float, float]:
    """Of camera and target; between frames: the picture's columns run along the flight where the camera looks aside."""
    distance = first_height(ask)
    across, along = footprint_sides(ask.kit, distance)
    over = ask.kind == "along" and ask.sides == 1
    return distance, spacing_for_overlap(along if over else across, ask.forward)


def _course(shape: Any) -> float:
    corners = shapely.get_coordinates(shape)
    return math.atan2(*(corners[-1] - corners[0])) if len(corners) > 1 else 0.0


def _heights(ask: PlanAsk, plane: Array) -> Array:
    found = ask.ground.at(plane[:, 0], plane[:, 1])
    if np.isnan(found).any():
        raise InputError(f"{ask.name}: the terrain file does not reach what is looked at, or has holes there.")
    return found


def _stations(line: Any, base: float) -> tuple[Array, Array]:
    """Places on a line at most ``base`` apart with all its corners, and the unit vectors to their right."""
    corners = shapely.get_coordinates(line)
    place, _ = sampled(corners, base)
    steps = np.diff(place, axis=0)
    ahead = steps / np.linalg.norm(steps, axis=1, keepdims=True)
    mean = np.vstack([ahead[:1], ahead[:-1] + ahead[1:], ahead[-1:]])
    size = np.linalg.norm(mean, axis=1, keepdims=True)
    mean = np.where(size > 1e-6, mean / np.maximum(size, 1e-6), np.vstack([ahead[:1], ahead]))
    return place, np.c_[mean[:, 1], -mean[:, 0]]


def aimed_lines(ask: PlanAsk, place: Array, target: Array, speed: float, *, course_yaw: bool = False) -> list[Line]:
    """Lines through camera places, each looking at its target; cut where no-fly areas are in the way.

    Heights rise where the climb or the least height above ground asks for it; the camera keeps its aim.
    """
    lines = []
    for group in _open_groups(ask, place):
        where, aim = place[group].copy(), target[group]
        along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(where[:, :2], axis=0), axis=1))]
        below = ask.ground.at(where[:, 0], where[:, 1])
        if np.isnan(below).any():
            raise InputError(f"{ask.name}: the terrain file does not reach below every line.")
        where[:, 2] = climb_limited(along, np.maximum(where[:, 2], below + ask.ways.lowest), ask.ways.slope)
        lines.append(_aimed(ask, where, aim, (along, below), speed, course_yaw))
    return lines


def _open_groups(ask: PlanAsk, place: Array) -> list[slice]:
    shut = kept_out(ask)
    if shut is None:
        return [slice(0, len(place))]
    if len(place) == 1:
        return [] if shapely.intersects(shut, shapely.Point(place[0, :2])) else [slice(0, 1)]
    hops = shapely.linestrings(np.stack([place[:-1, :2], place[1:, :2]], axis=1))
    free = ~shapely.intersects(shut, hops)
    edges = np.flatnonzero(np.diff(np.r_[False, free, False].astype(int)))
    return [slice(int(a), int(b) + 1) for a, b in edges.reshape(-1, 2)]


def _aimed(ask: PlanAsk, where: Array, aim: Array, known: tuple[Array, Array], speed: float, course_yaw: bool) -> Line:
    along, below = known
    sight = aim - where
    flat = np.hypot(sight[:, 0], sight[:, 1])
    pitch = np.arctan2(sight[:, 2], flat)
    steps = np.diff(where[:, :2], axis=0)
    courses = np.arctan2(steps[:, 0], steps[:, 1]) if len(steps) else np.zeros(1)
    yaw = np.r_[courses, courses[-1:]][: len(where)] if course_yaw else np.arctan2(sight[:, 0], sight[:, 1])
    kept = np.arange(len(where)) if len(where) < 3 else _corners(where, along, ask.ways.tolerance / 2)
    nodes = where[kept]
    path = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(nodes, axis=0), axis=1))]
    return Line(
        0, "", nodes, below[kept], np.unwrap(yaw)[kept], pitch[kept], np.interp(along, along[kept], path), speed
    )


def _corners(where: Array, along: Array, tolerance: float) -> NDArray[np.intp]:
    """Places that keep the path within a tolerance in plan and height."""
    by_height = simplified(along, where[:, 2], tolerance, 0.0)
    kept = shapely.get_coordinates(shapely.simplify(shapely.LineString(where[:, :2]), tolerance))
    ahead, found = 0, []
    for corner in kept:
        near = np.flatnonzero((where[ahead:, :2] == corner).all(axis=1))
        ahead += int(near[0])
        found.append(ahead)
    return np.union1d(by_height, np.array(found, dtype=np.intp))


def _drawn(
    ask: PlanAsk, lines: list[Line], figures: tuple[float, float, float, float, str], *, spacing: float
) -> Drawn:
    distance, speed, heading, base, limit = figures
    if not lines:
        raise UnmetError(f"{ask.name}: the no-fly areas leave no place to look from.")
    return Drawn(tuple(lines), distance, speed, heading, spacing, base, limit)
