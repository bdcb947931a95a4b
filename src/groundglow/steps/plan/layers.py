"""A plan as features of maps and rows of tables, in longitude and latitude.

References
----------
RFC 7946, 3.1.9: what crosses the antimeridian is cut there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from groundglow.frames.places import LocalPlane
from groundglow.frames.vectors import Feature, GpxPoint, Style, Value
from groundglow.records.plan import Line, Plan, Sortie, Waypoint
from groundglow.steps.plan.proof import frame_poses

__all__ = ["FRAME_COLUMNS", "STYLES", "cut_at_antimeridian", "features_of", "frame_rows", "gpx_of", "waypoint_rows"]

Array = NDArray[np.float64]
#: By folder: lines, ways, places; colours that differ in lightness too.
STYLES: Final[Mapping[str, Style]] = {
    "site": Style((40, 40, 40, 255), (200, 200, 200, 60), 2.0),
    "no-fly": Style((150, 0, 60, 255), (150, 0, 60, 110), 2.0),
    "lines": Style((0, 90, 160, 255), width=3.0),
    "sorties": Style((110, 110, 110, 200), width=1.0),
    "take-offs": Style((0, 0, 0, 255)),
}
FRAME_COLUMNS: Final = ("frame", "line", "lon_deg", "lat_deg", "height_m", "yaw_deg", "pitch_deg", "roll_deg")


def features_of(plan: Plan, *, heights: str = "sea") -> dict[str, tuple[Feature, ...]]:
    """Features by folder: site, no-fly, lines, sorties, take-offs.

    Parameters
    ----------
    plan : Plan
    heights : str
        Third coordinate: ``sea`` (above the terrain's reference), ``ground`` or ``none``.
    """
    plane, flown = LocalPlane(plan.origin), _flown(plan)
    return {
        "site": tuple(_area(plan.name, g) for g in plan.site),
        "no-fly": tuple(_area(f"no-fly {i}", g, use="no-fly") for i, g in enumerate(plan.no_fly, 1)),
        "lines": tuple(_line(x, flown.get(x.number, 0), plane, heights) for x in plan.lines),
        "sorties": tuple(_sortie(s, plane, heights) for s in plan.sorties),
        "take-offs": tuple(
            Feature({"type": "Point", "coordinates": list(_wrapped(*p))}, {"name": n, "use": "take-off"})
            for n, p in plan.take_offs.items()
        ),
    }


def _flown(plan: Plan) -> dict[int, int]:
    return {number: s.number for s in plan.sorties for number in s.lines}


def _wrapped(lon: float, lat: float) -> tuple[float, float]:
    return (lon + 180.0) % 360.0 - 180.0, lat


def _area(name: str, geometry: Mapping[str, Any], **said: Value) -> Feature:
    shape = shapely.geometry.shape(geometry)
    return Feature(shapely.geometry.mapping(cut_at_antimeridian(shape)), {"name": name, **said})


def cut_at_antimeridian(shape: Any) -> Any:
    """A shape whose longitudes run on across 180 degrees as its parts on either side, all within -180 to 180.

    Examples
    --------
    >>> cut_at_antimeridian(shapely.box(179.0, 0.0, 181.0, 1.0)).bounds
    (-180.0, 0.0, 180.0, 1.0)
    """
    west, _, east, _ = shape.bounds
    if west >= -180.0 and east <= 180.0:
        return shape
    parts = []
    for turn in (-360.0, 0.0, 360.0):
        part = shapely.intersection(shape, shapely.box(turn - 180.0, -90.0, turn + 180.0, 90.0))
        parts += [shapely.transform(p, lambda xy, turn=turn: xy - (turn, 0.0)) for p in shapely.get_parts(part)]
    kept = [p for p in parts if p.area > 0]
    return shapely.MultiPolygon(kept) if len(kept) > 1 else kept[0]


def _line(line: Line, sortie: int, plane: LocalPlane, heights: str) -> Feature:
    above = line.nodes[:, 2] - line.ground
    properties: dict[str, Value] = {
        "name": f"line {line.number}", "line": line.number, "sortie": sortie, "length_m": round(line.length, 2),
        "frames": line.frames, "speed_m_s": round(line.speed, 3), "height_m": round(float(line.nodes[0, 2]), 2),
        "least_above_ground_m": round(float(above.min()), 2), "most_above_ground_m": round(float(above.max()), 2),
    }  # fmt: skip
    return Feature(_path(_lifted(line.nodes, line.ground, heights), plane), properties)


def _sortie(sortie: Sortie, plane: LocalPlane, heights: str) -> Feature:
    table = np.array([(w.x, w.y, w.z, w.ground) for w in sortie.waypoints])
    properties: dict[str, Value] = {
        "name": f"sortie {sortie.number}", "sortie": sortie.number, "aircraft": sortie.aircraft, "day": sortie.day,
        "take_off": sortie.take_off, "start_s": round(sortie.start, 1), "duration_s": round(sortie.duration, 1),
        "available_s": round(sortie.available, 1), "frames": sortie.frames,
    }  # fmt: skip
    return Feature(_path(_lifted(table[:, :3], table[:, 3], heights), plane), properties)


def _lifted(nodes: Array, ground: Array, heights: str) -> Array:
    if heights == "none":
        return nodes[:, :2]
    return np.asarray(np.c_[nodes[:, :2], nodes[:, 2] - (ground if heights == "ground" else 0.0)])


def _path(nodes: Array, plane: LocalPlane) -> dict[str, Any]:
    """A line in degrees, in parts where it crosses the antimeridian; a point where it is one."""
    lon, lat = plane.to_geographic(nodes[:, 0], nodes[:, 1])
    turned = plane.origin.lon_deg + (lon - plane.origin.lon_deg + 180.0) % 360.0 - 180.0
    parts = [p.tolist() for p in _parts(np.c_[turned, lat, nodes[:, 2:]])]
    if len(nodes) == 1:
        return {"type": "Point", "coordinates": parts[0][0]}
    return {"type": "MultiLineString", "coordinates": parts} if len(parts) > 1 else {
        "type": "LineString", "coordinates": parts[0]}  # fmt: skip


def _parts(places: Array) -> Iterator[Array]:
    band = np.floor((places[:, 0] + 180.0) / 360.0)
    begin, lead = 0, places[:0]
    for i in map(int, np.flatnonzero(np.diff(band))):
        edge = 360.0 * max(band[i], band[i + 1]) - 180.0
        share = (edge - places[i, 0]) / (places[i + 1, 0] - places[i, 0])
        cut = places[i] + share * (places[i + 1] - places[i])
        cut[0] = edge
        yield np.vstack([lead, places[begin : i + 1], cut]) - _shift(places, band[i])
        begin, lead = i + 1, cut[None]
    yield np.vstack([lead, places[begin:]]) - _shift(places, band[-1])


def _shift(places: Array, band: float) -> Array:
    return np.asarray(np.r_[360.0 * band, np.zeros(places.shape[1] - 1)])


def _degrees(angle: float) -> float:
    return round(math.degrees(angle), 3)


def waypoint_rows(plan: Plan) -> Iterator[dict[str, Value]]:
    """Waypoints of all sorties, with the camera's pitch and heading: one row each."""
    for sortie in plan.sorties:
        for i, w in enumerate(sortie.waypoints, 1):
            yield {
                "sortie": sortie.number, "point": i, "kind": w.kind, "line": w.line, "time_s": round(w.time, 2),
                "lon_deg": round(_wrapped(w.lon_deg, 0.0)[0], 8), "lat_deg": round(w.lat_deg, 8),
                "height_m": round(w.z, 3), "ground_m": round(w.ground, 3), "above_ground_m": round(w.above_ground, 3),
                "course_deg": _degrees(w.course), "yaw_deg": _degrees(w.yaw), "pitch_deg": _degrees(w.pitch),
                "speed_m_s": round(w.speed, 3),
            }  # fmt: skip


def frame_rows(plan: Plan) -> Iterator[dict[str, Value]]:
    """Planned poses of all frames as a table of poses: height above the terrain's reference, pitch 0 level."""
    places, angles = frame_poses(plan.lines)
    lon, lat = LocalPlane(plan.origin).to_geographic(places[:, 0], places[:, 1])
    numbers = np.repeat([x.number for x in plan.lines], [x.frames for x in plan.lines])
    for i, (number, x, y, z, (yaw, pitch)) in enumerate(zip(numbers, lon, lat, places[:, 2], angles, strict=True), 1):
        row = (f"planned-{i:06d}", int(number), round(float(x), 8), round(float(y), 8), round(float(z), 3),
               _degrees(float(yaw) % (2 * math.pi)), _degrees(float(pitch)), 0.0)  # fmt: skip
        yield dict(zip(FRAME_COLUMNS, row, strict=True))


def gpx_of(plan: Plan) -> tuple[list[GpxPoint], dict[str, list[GpxPoint]]]:
    """Take-off points, and a route a sortie."""
    known = plan.above_sea
    homes = [_gpx(s.waypoints[0], s.take_off, known) for s in {s.take_off: s for s in plan.sorties}.values()]
    return homes, {f"sortie {s.number}": _route(s.waypoints, known) for s in plan.sorties}


def _route(points: Sequence[Waypoint], known: bool) -> list[GpxPoint]:
    return [_gpx(w, f"{w.kind} {w.line or ''}".strip(), known) for w in points]


def _gpx(w: Waypoint, name: str, known: bool) -> GpxPoint:
    return GpxPoint(_wrapped(w.lon_deg, 0.0)[0], w.lat_deg, w.z if known else math.nan, name)
