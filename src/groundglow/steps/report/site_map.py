"""The site seen from above: zones, where frames were taken, findings as numbered rings. An SVG."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from xml.sax.saxutils import escape

import numpy as np

from groundglow.paper.drawing import round_down
from groundglow.records.finding import Finding
from groundglow.records.log import FlightLog

__all__ = ["site_map"]

WIDTH = 720.0
MARGIN = 26.0
FLIGHT_COLOURS = ("#3a6ea5", "#7a5195", "#4c8c6b", "#a5673a")


class _View:
    """From local metres to dots, north up."""

    def __init__(self, points: np.ndarray) -> None:
        low, high = points.min(axis=0), points.max(axis=0)
        self.scale = (WIDTH - 2 * MARGIN) / max(float(high[0] - low[0]), 1.0)
        self.low, self.high = low, high
        self.height = float(high[1] - low[1]) * self.scale + 2 * MARGIN

    def __call__(self, x: float, y: float) -> tuple[float, float]:
        return (
            round(MARGIN + (x - float(self.low[0])) * self.scale, 1),
            round(MARGIN + (float(self.high[1]) - y) * self.scale, 1),
        )


def site_map(logs: Sequence[FlightLog], findings: Sequence[Finding], zones: Mapping[str, Any]) -> str | None:
    """SVG text of the map, or None when nothing has a place in metres."""
    stations = [[(float(e.pose.position[0]), float(e.pose.position[1])) for e in log.used if e.pose] for log in logs]
    placed = [(f.x, f.y) for f in findings if f.x is not None and f.y is not None]
    known = [p for s in stations for p in s] + placed + [p for area in zones.values() for p in _corners(area)]
    if len(known) < 2:
        return None
    view = _View(np.asarray(known, dtype=float))
    parts = [_zone(view, name, area) for name, area in sorted(zones.items())]
    parts += [_stations(view, s, FLIGHT_COLOURS[i % len(FLIGHT_COLOURS)]) for i, s in enumerate(stations)]
    parts += [_finding(view, f) for f in findings if f.x is not None]
    parts += [_scale(view), _north(), _key(logs)]
    box = f"0 0 {WIDTH:g} {view.height:.0f}"
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" font-family="DejaVu Sans Mono">'
    return "\n".join([head, *parts, "</svg>"])


def _corners(area: Any) -> list[tuple[float, float]]:
    parts = getattr(area, "geoms", [area])
    return [(float(x), float(y)) for part in parts for x, y in part.exterior.coords]


def _zone(view: _View, name: str, area: Any) -> str:
    parts = getattr(area, "geoms", [area])
    rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
    path = " ".join("M" + " L".join("{:g} {:g}".format(*view(x, y)) for x, y in ring.coords) + " Z" for ring in rings)
    middle = area.representative_point()
    x, y = view(middle.x, middle.y)
    return (
        f'<path d="{path}" fill="#efece4" fill-rule="evenodd" stroke="#8b8678" stroke-width="1"/>'
        f'<text x="{x:g}" y="{y:g}" font-size="11" fill="#6d6859" text-anchor="middle">{escape(name)}</text>'
    )


def _stations(view: _View, points: Sequence[tuple[float, float]], colour: str) -> str:
    if not points:
        return ""
    path = " ".join("{:g},{:g}".format(*view(x, y)) for x, y in points)
    dots = "".join(_dot(*view(x, y), colour) for x, y in points)
    return f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="0.6" opacity="0.7"/>{dots}'


def _dot(x: float, y: float, colour: str) -> str:
    return f'<circle cx="{x:g}" cy="{y:g}" r="1.8" fill="{colour}"/>'


def _finding(view: _View, finding: Finding) -> str:
    x, y = view(finding.x or 0.0, finding.y or 0.0)
    colour = "#a3261f" if finding.sign > 0 else "#1f4fa3"
    return (
        f'<circle cx="{x:g}" cy="{y:g}" r="6" fill="none" stroke="{colour}" stroke-width="2"/>'
        f'<text x="{x + 8:g}" y="{y - 4:g}" font-size="12" font-weight="bold" fill="{colour}">{finding.number}</text>'
    )


def _scale(view: _View) -> str:
    length = round_down(float(view.high[0] - view.low[0]) / 4)
    dots, y = length * view.scale, view.height - 8
    return (
        f'<line x1="{MARGIN}" y1="{y:g}" x2="{MARGIN + dots:g}" y2="{y:g}" stroke="#202428" stroke-width="2"/>'
        f'<text x="{MARGIN}" y="{y - 4:g}" font-size="11" fill="#202428">{length:g} m</text>'
    )


def _north() -> str:
    x = WIDTH - 16
    return (
        f'<path d="M{x} 8 L{x - 5} 24 L{x} 20 L{x + 5} 24 Z" fill="#202428"/>'
        f'<text x="{x}" y="36" font-size="11" text-anchor="middle" fill="#202428">N</text>'
    )


def _key(logs: Sequence[FlightLog]) -> str:
    lines = []
    for i, log in enumerate(logs):
        colour, x = FLIGHT_COLOURS[i % len(FLIGHT_COLOURS)], MARGIN + 210 * i
        lines.append(f'<circle cx="{x + 4:g}" cy="12" r="3" fill="{colour}"/>')
        lines.append(f'<text x="{x + 12:g}" y="16" font-size="11" fill="#202428">{escape(log.flight)}</text>')
    return "".join(lines)
