"""Reading a truth folder back: where each planted fault and each decoy shows in a frame."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FileError
from groundglow.model.pose import ground_to_pixel
from groundglow.records.log import Origin
from groundglow.simulate.flight.camera import CAMERA

__all__ = ["Truth", "read_truth"]

_SHAPE = (CAMERA.rows, CAMERA.columns)
_CORNERS = 4


@dataclass(frozen=True)
class Truth:
    """Contents of a truth folder. Frames are named ``<visit>/<flight>`` and file name."""

    site: dict[str, Any]
    faults: list[dict[str, Any]]
    decoys: dict[str, list[dict[str, Any]]]
    flights: dict[str, dict[str, Any]]

    @property
    def origin(self) -> Origin:
        """Of the site's local plane."""
        return Origin(**self.site["origin"])

    @cached_property
    def _poses(self) -> dict[tuple[str, str], dict[str, Any]]:
        return {(name, f["frame"]): f["true"] for name, flight in self.flights.items() for f in flight["frames"]}

    @cached_property
    def _outlines(self) -> dict[tuple[int, str, str], tuple[dict[str, Any], NDArray[np.float32] | None]]:
        return {}

    def pixels(self, flight: str, frame: str, places: NDArray[np.float64]) -> NDArray[np.float64] | None:
        """Column and row (n, 2) at which a frame shows places (n, 3); None for an unknown frame."""
        pose = self._poses.get((flight.rsplit("/", 1)[-1], frame))
        if pose is None:
            return None
        position, rotation = np.array(pose["position"]), np.array(pose["rotation"])
        return np.asarray(np.stack(ground_to_pixel(places, position, rotation, CAMERA.focal_px, _SHAPE), axis=-1))

    def distance_px(self, thing: dict[str, Any], view: tuple[str, str, float, float]) -> float:
        """How far a view (flight, frame, column, row) lies outside a thing, px; 0 within, infinite elsewhere."""
        flight, frame, column, row = view
        if "frame" in thing:
            here = (thing["flight"], thing["frame"]) == (flight, frame)
            away = np.hypot(column - thing["column"], row - thing["row"]) - thing["radius_px"] if here else np.inf
            return float(max(away, 0.0))
        seen = self._outline_px(thing, flight, frame)
        if seen is None:
            return float("inf")
        inside = cv2.pointPolygonTest(seen, (float(column), float(row)), True)
        return max(0.0, -float(inside))

    def _outline_px(self, thing: dict[str, Any], flight: str, frame: str) -> NDArray[np.float32] | None:
        """Outline of a thing in a frame, px, worked out once; None where it cannot be seen from there."""
        key = (id(thing), flight, frame)
        if key not in self._outlines:
            seen = self.pixels(flight, frame, _corners(thing))
            shown = seen is not None and bool(np.isfinite(seen).all())
            # The thing is kept beside its outline, so that no other thing comes to have its identity.
            self._outlines[key] = (thing, np.asarray(seen, dtype=np.float32) if shown else None)
        return self._outlines[key][1]


def _corners(thing: dict[str, Any]) -> NDArray[np.float64]:
    """Outline in space of a fault or decoy, shape (n, 3)."""
    if thing.get("outline") is not None:
        flat = np.array(thing["outline"])
        return np.column_stack([flat, np.full(len(flat), thing.get("z", thing.get("level", 0.0)))])
    angle = np.linspace(0, 2 * np.pi, 4 * _CORNERS, endpoint=False)
    ring = np.stack([np.cos(angle), np.sin(angle), np.zeros_like(angle)], axis=1)
    return np.asarray(np.array([thing["x"], thing["y"], thing["z"]]) + 0.5 * thing["diameter_m"] * ring)


def read_truth(folder: Path) -> Truth:
    """The truth that `groundglow.simulate.demo.make_demo` wrote.

    Raises
    ------
    FileError
        When the folder is not one.
    """
    if not (folder / "site.json").is_file():
        raise FileError(folder, "holds no truth of a simulated job", "Give the folder that the demo wrote apart.")
    named = {p.stem: json.loads(p.read_text("utf-8")) for p in sorted(folder.glob("*.json"))}
    site, faults, decoys = (named.pop(name) for name in ("site", "faults", "decoys"))
    return Truth(site, faults, decoys, named)
