"""The job of the invented site as a client and a pilot would leave it on disk: brief, plan, visit, flights."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
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

_BRIEF = '''# A demonstration job. The site, its owner and all values are invented.
title = "Hot parts, wet roof and warm inflow at {site}"
client = "Invented client"
prepared_by = "Groundglow demonstration"
asked_on = "2026-04-02"
notes = """
Overview at 60 m over the whole site, close pass at 20 m over two rows of modules and the busbars: as planned below.
Live parts: keep the distances that the network operator and local rules ask for. Nobody climbs the roof
or opens the yard for this job. Grades are advice; a licensed person decides.
"""

[site]
name = "{site}"
lon_deg = {lon}
lat_deg = {lat}
outline = "site.geojson"

# What is asked. A spot is compact; sizes are diameters on the ground. Modules are even, so a weaker spot counts
# there than on grass and gravel; a finding answers the first question that fits.
[[question]]
name = "Hot cells"
looking_for = "spot"
sign = "hot"
smallest_m = 0.1
largest_m = 0.4
zone = "field"
sigmas = 4.1

[[question]]
name = "Hot connections"
looking_for = "spot"
sign = "hot"
smallest_m = 0.1
largest_m = 0.6
zone = "yard"

[[question]]
name = "Leaks, seeps and vents"
looking_for = "spot"
sign = "both"          # water is colder than dry ground by day, a vent is warmer
smallest_m = 0.1
largest_m = 0.6
sigmas = 4.8

[[question]]
name = "Wet roof"
looking_for = "area"
sign = "both"          # wet insulation is cooler by day and warmer after sunset
smallest_m = 3.0
largest_m = 10.0
zone = "roof"

[[question]]
name = "Warm inflow"
looking_for = "area"
sign = "hot"
smallest_m = 2.0
largest_m = 15.0
least_rise_k = 1.0
zone = "pond"

# What the zones of the plan are made of. Tilt from level, azimuth where the upper side faces.
[[surface]]
zone = "field"
material = "photovoltaic module, glass front"
tilt_deg = {tilt}
azimuth_deg = 180.0

[[surface]]
zone = "yard"
material = "gravel, road or roof ballast"

[[surface]]
zone = "pad"
material = "gravel, road or roof ballast"

[[surface]]
zone = "roof"
material = "roofing, bitumen felt"

[[surface]]
zone = "pond"
material = "water"

[[surface]]
zone = "*"
material = "grass"

# How it is flown. The areas and the take-off point stand in flights.geojson; `groundglow plan` lays the lines.
[[plan]]
name = "overview"
over = "flights.geojson"
zone = "whole site"
camera = "demo-640"
lens = "l640-13"
aircraft = "demo-quad-work"
height = "60 m"
ground_height = "{ground:g} m"
forward_overlap = "76 %"
side_overlap = "56 %"
heading_deg = 0
hold = "0.5 s"                 # the aircraft stops for each frame
wind = "2 m/s"
wind_from_deg = 250

[[plan]]
name = "close"
over = "flights.geojson"
zone = "two rows and the busbars"
camera = "demo-640"
lens = "l640-13"
aircraft = "demo-quad-work"
height = "20 m"
ground_height = "{ground:g} m"
forward_overlap = "63 %"
side_overlap = "58 %"
heading_deg = 90
hold = "0.5 s"
wind = "2 m/s"
wind_from_deg = 250

[limits]
highest_m = 120.0
people_near = false
live_parts = true
'''

_FLIGHT = '''# Invented flight of an invented camera: 14-bit counts, calibrated by its maker's laboratory.
name = "{name}"
aircraft = "invented multirotor"
notes = """
What stays the same over the flight: the calibration's error, the fixed pattern, the shared part of position
({shared} m on each horizontal axis) and of height ({height_c} m), tilt ({tilt_c} deg) and heading ({heading_c}
deg), the clock's offset, the errors of the conditions and of each material's emissivity.
What changes slowly from frame to frame: drift ({drift} K), position ({position} m), height ({height_v} m), tilt
({tilt_v} deg), heading ({heading_v} deg). Independent in each pixel: noise.
The doubts of height, tilt and heading stated below hold both parts. The aircraft stops for each frame.
In poses.csv the *_sd columns hold, for longitude and latitude, the part that varies; for height and angles, both.
The clock is the camera's: its offset shifts the times of all frames alike, and no position.
"""

[values]
kind = "counts"
unit = "counts"

[calibration]
form = "sakuma_hattori"
quantity = "temperature"
unit = "K"
coefficients = [{coefficients}]   # A in um, B in um K, C and D in counts
valid_c = [-35.0, 150.0]
standard_uncertainty_k = {calibration_sd}
date = "2026-01-20"

[camera]
pitch_um = 12.0
focal_mm = 13.0
f_number = 1.0
width_px = 640
height_px = 512
netd_mk = 50.0
time_constant_ms = 10.0
band_um = [7.5, 13.5]
saturation_counts = [0.0, 16383.0]
drift_k = {drift}
pattern_k = {pattern}

[poses]
file = "poses.csv"
source = "file"
height_reference = "sea level"
ground_height_m = {ground}
pitch_zero = "horizon"
of = "camera"
time_zone = "UTC"
clock_sd_s = {clock}
position_sd_m = {position}
shared_position_sd_m = {shared}
height_sd_m = {height}
attitude_sd_deg = {tilt}
heading_sd_deg = {heading}
'''


def write_brief(job: Path) -> None:
    """``brief.toml``."""
    lon, lat, ground = ORIGIN
    text = _BRIEF.format(site=NAME, lon=lon, lat=lat, tilt=TILT_DEG, ground=ground)
    (job / "brief.toml").write_text(text, "utf-8")


_PAGE = """# {site}: what in this job is uncertain, and how

Everything here is invented: site, owner, camera, aircraft, values. The errors are drawn at random, with the standard
deviations below; the job states these where a crew would (flight.toml, poses.csv, conditions.csv, references.csv).

| error | constant over a flight | varying within it | how it varies |
|---|---|---|---|
| position, each horizontal axis | {position[0]:g} m | {position[1]:g} m | slowly, over {memory:g} s |
| height | {height[0]:g} m | {height[1]:g} m | slowly, over {memory:g} s |
| tilt, about east and about north | {tilt_deg[0]:g} deg | {tilt_deg[1]:g} deg | over {tilt_memory:g} s |
| heading | {heading_deg[0]:g} deg | {heading_deg[1]:g} deg | slowly, over {memory:g} s |
| clock of the camera | {clock_s:g} s | none | shifts the times of all frames alike, no position |
| camera's calibration | {calibration:g} K | {drift:g} K | drift, over {drift_memory:g} s |
| fixed pattern | {pattern:g} K rms over the pixels | none | a pattern of its own in each flight |
| noise | none | {noise:g} K | independent in each pixel of each frame |

Constant over both flights: the errors of the conditions (as conditions.csv states them), of the sky and of each
material's emissivity.
"""


def write_errors_page(job: Path) -> None:
    """``ERRORS.md``: which errors are constant over a flight and which vary, with their sizes."""
    text = _PAGE.format(
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
    text = _FLIGHT.format(
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
