"""The job of the invented site as a client and a pilot would leave it on disk: brief, plan, visit, flights."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from importlib.resources import files
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from groundglow.frames.clock import iso_text
from groundglow.frames.places import LocalPlane
from groundglow.model.rotation import yaw_pitch_roll_from_rotation
from groundglow.records.frame import Stamp
from groundglow.records.log import Origin
from groundglow.simulate.flight.camera import CAMERA
from groundglow.simulate.flight.path import DOUBTS, Shot
from groundglow.simulate.site.build import NAME, ORIGIN
from groundglow.simulate.site.field import TILT_DEG
from groundglow.simulate.site.kinds import KINDS
from groundglow.simulate.site.parts import Site, rectangle

__all__ = [
    "CALIBRATION_SD_K",
    "DRIFT_K",
    "DRIFT_MEMORY_S",
    "FLIGHTS",
    "PATTERN_K",
    "PLACE",
    "STATED",
    "VISIT",
    "stamp_of",
    "write_brief",
    "write_errors_page",
    "write_flight",
    "write_flight_areas",
    "write_outline",
    "write_visit",
]

VISIT = "2026-04-16"
#: Flights in their order, one a plan of the brief, and how names of their frames begin.
FLIGHTS = {"overview": "over", "close": "near"}
#: What each plan flies over, and where it takes off: on the track, m.
_AREAS = {
    "whole site": rectangle(-33.0, -27.0, 28.0, 27.0),
    "two rows and the busbars": rectangle(-16.5, 3.0, 24.5, 12.9),
}
_HOME = (4.1, -31.0)
PLACE = Origin(*ORIGIN)
#: What the visit states of the weather: value and standard uncertainty, in the units of conditions.csv.
STATED: dict[str, tuple[float, float]] = {
    "air_temperature_c": (18.0, 1.0),
    "relative_humidity_pct": (45.0, 5.0),
    "pressure_hpa": (1006.0, 1.0),
    "wind_speed_m_s": (2.0, 0.7),
    "wind_from_deg": (250.0, 20.0),
    "irradiance_w_m2": (790.0, 40.0),
    "cloud_fraction": (0.1, 0.1),
}
#: Standard uncertainty of a calibrated black-body temperature and rms of drift and fixed pattern, K.
CALIBRATION_SD_K, DRIFT_K, PATTERN_K = 0.8, 0.35, 0.12
#: Time over which the drift changes, s.
DRIFT_MEMORY_S = 60.0


def _text(name: str) -> str:
    return files("groundglow.simulate").joinpath("texts", name).read_text("utf-8")


def write_brief(job: Path) -> None:
    """``brief.toml``."""
    lon, lat, ground = ORIGIN
    text = _text("brief.toml").format(site=NAME, lon=lon, lat=lat, tilt=TILT_DEG, ground=ground)
    (job / "brief.toml").write_text(text, "utf-8")


def write_errors_page(job: Path) -> None:
    """``ERRORS.md``: which errors are constant over a flight and which vary, with their sizes."""
    text = _text("errors.txt").format(
        site=NAME,
        memory=DOUBTS.memory_s,
        tilt_memory=DOUBTS.tilt_memory_s,
        calibration=CALIBRATION_SD_K,
        drift=DRIFT_K,
        drift_memory=DRIFT_MEMORY_S,
        pattern=PATTERN_K,
        noise=CAMERA.noise,
        **{name: getattr(DOUBTS, name) for name in ("position", "height", "tilt_deg", "heading_deg", "clock_s")},
    )
    (job / "ERRORS.md").write_text(text, "utf-8")


def write_outline(job: Path, site: Site) -> None:
    """``site.geojson``: the zones, places to a centimetre as a client would draw them."""
    features = [
        _feature({"name": name, "surface": KINDS[surface].material}, _polygon(outline))
        for name, (surface, outline) in site.zones.items()
    ]
    _write_features(job / "site.geojson", features)


def write_flight_areas(job: Path) -> None:
    """``flights.geojson``: what each plan flies over, and where it takes off."""
    features = [_feature({"name": name, "use": "survey"}, _polygon(area)) for name, area in _AREAS.items()]
    home: dict[str, object] = {"type": "Point", "coordinates": _degrees_of(np.array([_HOME]))[0]}
    _write_features(job / "flights.geojson", [*features, _feature({"name": "track", "use": "take-off"}, home)])


def _degrees_of(places: NDArray[np.float64]) -> list[list[float]]:
    lon, lat = LocalPlane(PLACE).to_geographic(*places.T)
    return [[round(float(a), 7), round(float(b), 7)] for a, b in zip(lon, lat, strict=True)]


def _polygon(outline: NDArray[np.float64]) -> dict[str, object]:
    return {"type": "Polygon", "coordinates": [_degrees_of(np.vstack([outline, outline[:1]]))]}


def _feature(properties: dict[str, str], geometry: dict[str, object]) -> dict[str, object]:
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def _write_features(path: Path, features: list[dict[str, object]]) -> None:
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}, indent=1) + "\n", "utf-8")


def write_visit(folder: Path, start: float, references: Sequence[dict[str, str]]) -> None:
    """``conditions.csv`` for an hour from ``start`` and ``references.csv``."""
    names = list(STATED)
    rows = [["time_utc", *names, *(f"{n}_sd" for n in names)]]
    for minutes in (0, 30, 60):
        values = [f"{v:g}" for v, _ in STATED.values()] + [f"{sd:g}" for _, sd in STATED.values()]
        rows.append([iso_text(start + 60 * minutes), *values])
    _write_rows(folder / "conditions.csv", rows)
    if references:
        _write_rows(folder / "references.csv", [list(references[0]), *(list(r.values()) for r in references)])


def _write_rows(path: Path, rows: Sequence[Sequence[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(rows)


def _geographic(shot: Shot) -> tuple[float, float, float]:
    lon, lat = LocalPlane(PLACE).to_geographic(shot.position[0], shot.position[1])
    return float(lon), float(lat), float(shot.position[2]) + PLACE.height_m


def _angles(shot: Shot) -> tuple[float, float, float]:
    yaw, pitch, roll = (float(np.degrees(a)) for a in yaw_pitch_roll_from_rotation(shot.rotation))
    return yaw, pitch, roll


def stamp_of(shot: Shot) -> Stamp:
    """What the camera writes into a frame: its clock, the receiver's place, the air as the visit states it."""
    lon, lat, height = _geographic(shot)
    top = -shot.rotation[1]  # where the top of the picture points: what a heading means when looking down
    yaw, pitch = float(np.degrees(np.arctan2(top[0], top[1]))), _angles(shot)[1]
    return Stamp(
        time=shot.time,
        lon_deg=lon,
        lat_deg=lat,
        height_m=height,
        yaw_deg=yaw,
        pitch_deg=pitch,
        air_temperature_c=STATED["air_temperature_c"][0],
        relative_humidity_pct=STATED["relative_humidity_pct"][0],
        pressure_hpa=STATED["pressure_hpa"][0],
    )


def write_flight(folder: Path, name: str, recorded: Sequence[Shot], calibration: tuple[float, ...]) -> None:
    """``flight.toml`` and ``poses.csv`` of one flight."""
    position, height, tilt, heading = (DOUBTS.position, DOUBTS.height, DOUBTS.tilt_deg, DOUBTS.heading_deg)
    text = _text("flight.toml").format(
        name=name,
        coefficients=", ".join(f"{c:.6f}" for c in calibration),
        calibration_sd=CALIBRATION_SD_K,
        drift=DRIFT_K,
        pattern=PATTERN_K,
        ground=PLACE.height_m,
        clock=DOUBTS.clock_s,
        shared=position[0],
        position=position[1],
        height=_both(height),
        tilt=_both(tilt),
        heading=_both(heading),
        height_c=height[0],
        height_v=height[1],
        tilt_c=tilt[0],
        tilt_v=tilt[1],
        heading_c=heading[0],
        heading_v=heading[1],
    )
    (folder / "flight.toml").write_text(text, "utf-8")
    _write_rows(folder / "poses.csv", _pose_rows(recorded, (_both(height), _both(heading), _both(tilt))))


def _degrees(metres: float) -> tuple[str, str]:
    """A length at the site as degrees of longitude and of latitude."""
    east, north = (LocalPlane(PLACE).to_geographic(*way) for way in ((metres, 0.0), (0.0, metres)))
    return f"{float(east[0]) - PLACE.lon_deg:.9f}", f"{float(north[1]) - PLACE.lat_deg:.9f}"


def _both(parts: tuple[float, float]) -> float:
    return round(float(np.hypot(*parts)), 2)


def _pose_rows(recorded: Sequence[Shot], sd: tuple[float, float, float]) -> list[list[str]]:
    height_sd, heading_sd, tilt_sd = (f"{v:g}" for v in sd)
    numbers = ("lon_deg", "lat_deg", "height_m", "yaw_deg", "pitch_deg", "roll_deg")
    rows = [["frame", "time_utc", *numbers, *(f"{n}_sd" for n in numbers)]]
    for shot in recorded:
        lon, lat, height = _geographic(shot)
        place = [f"{lon:.8f}", f"{lat:.8f}", f"{height:.3f}"]
        turned = [f"{a:.4f}" for a in _angles(shot)]
        doubts = [*_degrees(DOUBTS.position[1]), height_sd, heading_sd, tilt_sd, tilt_sd]
        rows.append([f"{shot.name}.tif", iso_text(shot.time), *place, *turned, *doubts])
    return rows
