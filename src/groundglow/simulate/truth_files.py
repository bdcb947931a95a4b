"""The truth of a simulated job, in a folder apart from it: only tests and the demo's closing score read it.

``site.json``: seed, origin, hectares seen, true weather and emissivities, what is constant and what varies.
``faults.json``: every planted fault with its level, limit, temperatures and where each frame shows it.
``decoys.json``: what is warm, cool or bright without being a fault. ``<flight>.json``: true and recorded poses,
drift, calibration and clock error. ``<flight>-pattern.npy``: fixed pattern, K. ``<flight>/<frame>.png``: true surface
temperature of each pixel in hundredths of a kelvin (mean over the pixel, no blur).
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from groundglow.frames.places import LocalPlane
from groundglow.model.pose import pixel_to_ground
from groundglow.simulate.flight.bird import Bird, where_is
from groundglow.simulate.flight.camera import CAMERA
from groundglow.simulate.flight.limit import Planted, Sight, Stage, sights_of
from groundglow.simulate.flight.mirrored import mirrored_places
from groundglow.simulate.flight.path import DOUBTS, Shot
from groundglow.simulate.flight.render import View
from groundglow.simulate.job_files import PLACE, VISIT
from groundglow.simulate.nature import Nature
from groundglow.simulate.site.decoys import Decoys
from groundglow.simulate.site.parts import Site
from groundglow.simulate.site.shade import shadows

__all__ = ["CENTIKELVIN", "FlightTruth", "write_decoys", "write_faults", "write_flight_truth", "write_site"]

CENTIKELVIN = 100.0
CLOCK_SHIFTS = (
    "recorded times of all frames alike (poses.csv and Exif), hence the moment at which conditions are looked up; "
    "no position and no attitude"
)
#: Kinds of surface small enough to be taken for a spot: they stand on the site and depart from it lastingly.
_FIXTURES = ("clamp", "insulator", "box", "mast", "board")


@dataclass(frozen=True)
class FlightTruth:
    """What one flight drew; lists run over the frames that were written.

    ``calibration_error`` and ``drift`` in K, ``views`` free of noise.
    """

    stage: Stage
    shots: Sequence[Shot]
    recorded: Sequence[Shot]
    calibration_error: float
    drift: Sequence[float]
    bird: Bird
    views: Sequence[View]

    @property
    def name(self) -> str:
        """Name of the flight."""
        return self.stage.name


def _write(path: Path, content: Any) -> None:
    path.write_text(json.dumps(content, indent=1, sort_keys=True, allow_nan=False) + "\n", "utf-8")


def write_site(truth: Path, seed: int, nature: Nature, flown: Sequence[FlightTruth]) -> None:
    """``site.json``."""
    constant = {name: getattr(DOUBTS, name)[0] for name in ("position", "height", "tilt_deg", "heading_deg")}
    varying = {name: getattr(DOUBTS, name)[1] for name in ("position", "height", "tilt_deg", "heading_deg")}
    content = {
        "seed": seed,
        "origin": asdict(PLACE),
        "hectares": round(_hectares(flown), 4),
        "weather": asdict(nature.weather),
        "emissivity_change": nature.emissivity,
        "constant_over_a_flight_sd": {**constant, "clock_s": DOUBTS.clock_s},
        "slowly_varying_sd": {**varying, "memory_s": DOUBTS.memory_s, "tilt_memory_s": DOUBTS.tilt_memory_s},
    }
    _write(truth / "site.json", content)


def _hectares(flown: Sequence[FlightTruth]) -> float:
    """Ground that at least one frame shows, ha."""
    step, half = 0.25, 70.0
    seen = np.zeros((int(2 * half / step),) * 2, np.uint8)
    right, bottom = CAMERA.columns - 1.0, CAMERA.rows - 1.0
    corners = np.array([[0.0, 0.0], [right, 0.0], [right, bottom], [0.0, bottom]])
    for shot in (s for flight in flown for s in flight.shots):
        shape = (CAMERA.rows, CAMERA.columns)
        column, row = corners.T
        ground = pixel_to_ground(column, row, shot.position, shot.rotation, CAMERA.focal_px, shape)
        cv2.fillPoly(seen, [np.round((ground[:, :2] + half) / step).astype(np.int32)], 1)
    return float(seen.sum()) * step**2 / 1e4


def write_faults(truth: Path, planted: Sequence[Planted], flown: Sequence[FlightTruth], *, workers: int) -> None:
    """``faults.json``: an entry a fault, with each frame's sight of it."""
    with ThreadPoolExecutor(workers) as pool:
        entries = list(pool.map(lambda p: _fault(p, flown), planted))
    _write(truth / "faults.json", entries)


def _fault(planted: Planted, flown: Sequence[FlightTruth]) -> dict[str, Any]:
    fault = planted.fault
    lon, lat = LocalPlane(PLACE).to_geographic(fault.feature.east, fault.feature.north)
    outline = fault.feature.outline
    seen = {f"{VISIT}/{f.name}": [_sight(s) for s in sights_of(f.stage, f.shots, planted)] for f in flown}
    return {
        "id": fault.name,
        "kind": fault.kind,
        "form": fault.form,
        "level": fault.level,
        "level_refers_to": fault.flight,
        "sign": fault.sign,
        "surface": fault.surface,
        "x": fault.feature.east,
        "y": fault.feature.north,
        "z": fault.height,
        "lon_deg": float(lon),
        "lat_deg": float(lat),
        "diameter_m": fault.diameter,
        "rise_k": fault.feature.kelvin,
        "temperature_k": planted.around_k + fault.feature.kelvin,
        "around_k": planted.around_k,
        "limit_k": planted.limit,
        "outline": None if outline is None else np.round(outline, 3).tolist(),
        "seen": seen,
    }


def _sight(sight: Sight) -> dict[str, Any]:
    plain = {k: round(v, 4) if isinstance(v, float) else v for k, v in asdict(sight).items()}
    return plain | {"level": round(sight.rise / sight.limit, 3)}


def write_decoys(truth: Path, site: Site, decoys: Decoys, flown: Sequence[FlightTruth]) -> None:
    """``decoys.json``: things that stay (``standing``, ``shade``) and things that move (``moving``)."""
    heights = {s.name: s.height for s in site.surfaces}
    boxes = [
        {
            "kind": "junction box",
            "of": on,
            "x": b.east,
            "y": b.north,
            "z": heights[on](b.east, b.north),
            "diameter_m": max(b.size),
        }
        for b, on in zip(decoys.boxes, decoys.boxed, strict=True)
    ]
    small = [*((s, "soiling") for s in decoys.soiled), *((s, "fixture") for k in _FIXTURES for s in site.named(k))]
    standing = [_standing(s, kind) for s, kind in small]
    shade = [
        {"kind": "shade", "of": name, "level": level, "outline": np.round(outline, 3).tolist()}
        for level in (0.0, 1.5, 2.2, 3.5)
        for name, outline in shadows(site, level).items()
    ]
    moving = [m for f in flown for m in _moving(f, site)]
    _write(truth / "decoys.json", {"standing": boxes + standing, "shade": shade, "moving": moving})


def _standing(surface: Any, kind: str) -> dict[str, Any]:
    east, north = surface.centre
    size = float(np.ptp(surface.outline, axis=0).max())
    return {
        "kind": kind,
        "of": surface.name,
        "x": east,
        "y": north,
        "z": surface.height(east, north),
        "diameter_m": size,
    }


def _moving(flight: FlightTruth, site: Site) -> list[dict[str, Any]]:
    is_glass = np.array([s.kind == "module" for s in site.surfaces])
    found = []
    for shot, view in zip(flight.shots, flight.views, strict=True):
        named = {"flight": f"{VISIT}/{flight.name}", "frame": f"{shot.name}.tif"}
        for kind, column, row, radius in mirrored_places(shot, is_glass[view.number]):
            found.append(named | {"kind": f"{kind} mirrored", "column": column, "row": row, "radius_px": radius})
        bird = where_is(flight.bird, shot)
        if bird is not None:
            found.append(named | {"kind": "bird", "column": bird[0], "row": bird[1], "radius_px": bird[2] / 2})
    return found


def write_flight_truth(truth: Path, flight: FlightTruth, *, workers: int) -> None:
    """``<flight>.json``, ``<flight>-pattern.npy`` and the true temperature of every frame."""
    frames = [
        {"frame": f"{s.name}.tif", "drift_k": d, "true": _pose(s), "recorded": _pose(r)}
        for s, r, d in zip(flight.shots, flight.recorded, flight.drift, strict=True)
    ]
    constant = {
        "calibration_error_k": flight.calibration_error,
        "clock_error_s": flight.recorded[0].time - flight.shots[0].time,
        "clock_error_shifts": CLOCK_SHIFTS,
    }
    _write(truth / f"{flight.name}.json", {**constant, "frames": frames})
    np.save(truth / f"{flight.name}-pattern.npy", flight.stage.pattern)
    folder = truth / flight.name
    folder.mkdir(exist_ok=True)

    def picture(pair: tuple[Shot, View]) -> None:
        kelvin = flight.stage.table.temperature(pair[1].surface)
        centi = np.rint(CENTIKELVIN * kelvin).astype(np.uint16)
        cv2.imwrite(str(folder / f"{pair[0].name}.png"), centi, [cv2.IMWRITE_PNG_COMPRESSION, 1])

    with ThreadPoolExecutor(workers) as pool:
        list(pool.map(picture, zip(flight.shots, flight.views, strict=True)))


def _pose(shot: Shot) -> dict[str, Any]:
    return {"time": shot.time, "position": shot.position.tolist(), "rotation": shot.rotation.tolist()}
