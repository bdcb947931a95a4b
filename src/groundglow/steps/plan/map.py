"""The site from above: coverage, outline, no-fly areas, lines by sortie, take-off points. A PNG, north up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from groundglow.frames.places import LocalPlane
from groundglow.paper.drawing import INK, PAPER, SOFT, Colour, Sheet, round_down
from groundglow.records.plan import Plan, Proof, Sortie
from groundglow.steps.plan.coverage import CLASSES, blocks, class_of

__all__ = ["SEEN", "plan_map"]

Array = NDArray[np.float64]
Point = tuple[float, float]
SIZE, MARGIN, FOOT, HEAD = 620.0, 16.0, 58.0, 30.0
#: Colours of sorties; they differ in lightness too, and each is numbered where it begins.
SORTIES: Final[tuple[Colour, ...]] = (
    (46, 74, 92), (150, 92, 64), (104, 122, 70), (132, 88, 128), (60, 128, 128), (170, 74, 84),
)  # fmt: skip
#: Frames that show a place -> shade: more is darker.
_SHADES: Final[tuple[Colour, ...]] = ((250, 214, 204), (226, 234, 236), (204, 220, 224), (180, 204, 210))
SEEN: Final[tuple[tuple[int, Colour, str], ...]] = tuple(
    (least, shade, words) for (least, words), shade in zip(CLASSES, _SHADES, strict=True)
)
SHUT: Final[Colour] = (163, 38, 31)
_CELLS: Final = 160
#: With more sorties than this, numbers and ways would cover each other: lines alone are drawn, and with more lines
#: than this none, as they would cover the site.
MOST_NUMBERED: Final = 40
MOST_LINES: Final = 250


@dataclass(frozen=True)
class _View:
    """From metres to places on the sheet."""

    low: Point
    scale: float
    height: float

    def __call__(self, x: float, y: float) -> Point:
        return MARGIN + (x - self.low[0]) * self.scale, self.height - FOOT - (y - self.low[1]) * self.scale


def plan_map(plan: Plan) -> bytes:
    """PNG of a plan; the same plan gives the same bytes."""
    plane = LocalPlane(plan.origin)
    site = [_local(plane, ring) for shape in plan.site for ring in _rings(shape)]
    shut = [_local(plane, ring) for shape in plan.no_fly for ring in _rings(shape)]
    places = {n: _local(plane, [p])[0] for n, p in plan.take_offs.items()}
    paths = [np.array([(w.x, w.y) for w in s.waypoints]) for s in plan.sorties]
    known = [p for p in (*site, *paths, *(np.atleast_2d(p) for p in places.values())) if len(p)]
    if not known:
        known = [line.nodes[:, :2] for line in plan.lines]
    view, width = _view(np.vstack(known))
    sheet = Sheet(round(width), round(view.height))
    _coverage(sheet, view, plan)
    for ring in site:
        sheet.line([view(x, y) for x, y in ring.tolist()], colour=INK, width=1.5)
    for ring in shut:
        sheet.line([view(x, y) for x, y in ring.tolist()], colour=SHUT, width=2, dash=6)
    if len(plan.sorties) > MOST_NUMBERED:
        _many(sheet, view, plan)
    else:
        for sortie, path in zip(plan.sorties, paths, strict=True):
            _sortie(sheet, view, plan, sortie, path)
    for name, place in places.items():
        _take_off(sheet, view, width, name, (float(place[0]), float(place[1])))
    _legend(sheet, view, width, plan, bool(shut))
    return sheet.png()


def _view(points: Array) -> tuple[_View, float]:
    low, high = points.min(axis=0), points.max(axis=0)
    span = np.maximum(high - low, 1.0)
    scale = float(min((SIZE - 2 * MARGIN) / span[0], (SIZE - HEAD) / span[1]))
    room = (SIZE - 2 * MARGIN) / scale - span[0]  # a narrow site stands in the middle
    height = HEAD + float(span[1]) * scale + FOOT
    return _View((float(low[0]) - 0.5 * room, float(low[1])), scale, height), SIZE


def _rings(shape: Mapping[str, Any]) -> list[Sequence[Sequence[float]]]:
    """Rings and lines of a GeoJSON geometry."""
    kind, parts = shape["type"], shape.get("coordinates", ())
    if kind == "GeometryCollection":
        return [ring for part in shape["geometries"] for ring in _rings(part)]
    if kind in ("Polygon", "MultiLineString"):
        return list(parts)
    if kind == "MultiPolygon":
        return [ring for part in parts for ring in part]
    return [parts] if kind == "LineString" else [[parts]] if kind == "Point" else [[p] for p in parts]


def _local(plane: LocalPlane, ring: Sequence[Sequence[float]]) -> Array:
    pairs = np.array([p[:2] for p in ring], dtype=float)
    return np.column_stack(plane.to_local(pairs[:, 0], pairs[:, 1]))


def _coverage(sheet: Sheet, view: _View, plan: Plan) -> None:
    """Cells of the proof, so few that a dot is seen; a cell shows the worst of what it stands for."""
    proof = plan.proof
    if proof is None or not proof.counts.size:
        return
    if len(proof.places):
        _seen_places(sheet, view, proof)
        return
    for west, south, east, north, frames in blocks(proof, _CELLS):
        sheet.box(view(west, south), view(east, north), _shade_of(frames))


def _seen_places(sheet: Sheet, view: _View, proof: Proof) -> None:
    """Places on a line, at a point or on a face; the worst lie on top."""
    counts = proof.counts.ravel()
    radius = max(3.0, 0.75 * proof.cell * view.scale)
    for i in np.argsort(-counts, kind="stable").tolist():
        sheet.dot(view(*proof.places[i].tolist()), radius, _shade_of(int(counts[i])))


def _shade_of(frames: int) -> Colour:
    return _SHADES[class_of(frames)]


def _sortie(sheet: Sheet, view: _View, plan: Plan, sortie: Sortie, path: Array) -> None:
    colour = SORTIES[(sortie.number - 1) % len(SORTIES)]
    sheet.line([view(x, y) for x, y in path.tolist()], colour=colour, width=0.7)
    lines = {line.number: line for line in plan.lines}
    for number in sortie.lines:
        sheet.line([view(x, y) for x, y in lines[number].nodes[:, :2].tolist()], colour=colour, width=1.8)
    if sortie.lines:
        start = view(*lines[sortie.lines[0]].nodes[0, :2].tolist())
        sheet.dot(start, 8.5, PAPER)
        sheet.dot(start, 7.5, colour)
        sheet.text(start, str(sortie.number), size=11, colour=PAPER, anchor="mm")


def _many(sheet: Sheet, view: _View, plan: Plan) -> None:
    """Lines of more sorties than can be told apart."""
    for line in plan.lines if len(plan.lines) <= MOST_LINES else ():
        sheet.line([view(x, y) for x, y in line.nodes[:, :2].tolist()], colour=SORTIES[0], width=0.7)


def _take_off(sheet: Sheet, view: _View, width: float, name: str, place: Point) -> None:
    x, y = view(*place)
    sheet.box((x - 6, y - 6), (x + 6, y + 6), PAPER)
    sheet.box((x - 5, y - 5), (x + 5, y + 5), INK)
    left = x > 0.6 * width
    words = sheet.width_of(name, 12)
    start = x - 10 - words if left else x + 10
    sheet.box((start - 2, y - 8), (start + words + 2, y + 8), PAPER)
    sheet.text((start, y), name, size=12)


def _legend(sheet: Sheet, view: _View, width: float, plan: Plan, shut: bool) -> None:
    length = round_down(0.25 * (width - 2 * MARGIN) / view.scale)
    y = view.height - 30
    sheet.line([(MARGIN, y), (MARGIN + length * view.scale, y)], colour=INK, width=2)
    sheet.text((MARGIN + length * view.scale + 8, y), f"{length:g} m", size=12)
    if len(plan.sorties) > MOST_NUMBERED:
        lines = "lines too" if len(plan.lines) > MOST_LINES else "lines alone are drawn"
        words = f"{len(plan.sorties)} sorties: numbers and ways are left out, {lines}"
        sheet.text((width - 48, y), words, size=12, colour=SOFT, anchor="rm")
    x = MARGIN
    if plan.proof is not None:
        sheet.text((x, view.height - 11), "frames that show a place:", size=12, colour=SOFT)
        x += sheet.width_of("frames that show a place:", 12) + 10
        for _, colour, words in SEEN:
            sheet.box((x, view.height - 17), (x + 12, view.height - 5), colour)
            sheet.text((x + 16, view.height - 11), words, size=12, colour=SOFT)
            x += 26 + sheet.width_of(words, 12)
    if shut:
        sheet.line([(x + 4, view.height - 11), (x + 30, view.height - 11)], colour=SHUT, width=2, dash=6)
        sheet.text((x + 35, view.height - 11), "no-fly", size=12, colour=SOFT)
    sheet.line([(width - 18, view.height - 22), (width - 18, view.height - 44)], colour=INK, width=1.5)
    tip = view.height - 46
    sheet.line([(width - 22, tip + 7), (width - 18, tip), (width - 14, tip + 7)], colour=INK, width=1.5)
    sheet.text((width - 30, view.height - 33), "N", size=12, anchor="mm")
