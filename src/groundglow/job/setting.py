"""From a frame's file and what a person said to the setting that a reading needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FileError, InputError
from groundglow.frames.radiometry import to_signal
from groundglow.frames.reading import read_frame
from groundglow.job.folder import FlightFolder, JobFolder
from groundglow.job.inputs import (
    brief_of,
    conditions_of,
    flight_spec,
    is_relative,
    local_zones,
    log_of,
    registration_of,
)
from groundglow.job.plans.check import flight_at, log_path
from groundglow.job.plans.register import pattern_path, registration_path
from groundglow.job.poses import flight_poses
from groundglow.kit import camera
from groundglow.model.table import BandTable
from groundglow.records.flight import CameraSpec, FlightSpec
from groundglow.records.frame import Frame, Stamp, ValueKind
from groundglow.records.log import FlightLog
from groundglow.records.visit import Conditions
from groundglow.steps.check import assemble, look
from groundglow.steps.measure import resolve_surfaces
from groundglow.steps.measure.air import distance_map
from groundglow.steps.measure.asking.knowns import (
    Known,
    Said,
    distance_said,
    emissivity_said,
    reflected_said,
    weather_said,
)
from groundglow.steps.measure.asking.sensor import Sensor, sensor_of
from groundglow.steps.measure.asking.setting import Setting, Sight
from groundglow.steps.measure.frame import band_and_table, band_name, levelled, radiance_a_unit
from groundglow.steps.measure.live import sensor_levelled
from groundglow.steps.measure.surfaces import GroundSurface, surface_shares

__all__ = ["Asked", "camera_said", "setting_of"]

#: How far above a frame its flight.toml may lie.
ABOVE = 4
RECORDED = (
    "This reads the frame as recorded: the fixed pattern and the level between frames, which `groundglow measure` "
    "takes off, are still in it and in the doubt."
)

LEVELLED = (
    "The fixed pattern and the level between frames are taken off, as `groundglow measure` does; the visit's "
    "reference targets, which it also takes into account, are not."
)


@dataclass(frozen=True)
class Asked:
    """What was said: of the scene (``""``) and of single labels; of the numbers; of the camera."""

    said: Mapping[str, Said]
    values: Mapping[str, Any] = field(default_factory=dict)
    camera: Mapping[str, Any] = field(default_factory=dict)
    camera_id: str | None = None
    calibration_sd_k: float | None = None

    @property
    def scene(self) -> Said:
        """What holds for all regions."""
        return self.said.get("", Said())


def camera_said(asked: Asked, known: CameraSpec | None = None) -> CameraSpec:
    """The camera: of the flight, or of the kit, with what was said on top. A frame by itself may be a part of one."""
    base = camera(asked.camera_id) if asked.camera_id else (known or CameraSpec())
    fields = base.model_dump(exclude_unset=True) | {k: v for k, v in asked.camera.items() if v is not None}
    if asked.camera_id:
        fields = {k: v for k, v in fields.items() if k not in ("width_px", "height_px")}
    return CameraSpec.parse(fields, "options")


def setting_of(path: Path, asked: Asked, *, level: bool = False) -> Setting:
    """The setting of one frame, in a flight's folder or by itself.

    Parameters
    ----------
    path : Path
        The frame's file.
    asked : Asked
        What was said of scene, numbers and camera.
    level : bool
        Take the fixed pattern and the level off, where the flight was registered.

    Raises
    ------
    InputError, FrameError, FileError
        When it is not said what the frame's numbers mean, or the frame cannot be read.
    """
    if not path.is_file():
        raise FileError(path, "no such file", "Give the file of a frame.")
    found = _flight_above(path)
    spec = _spec_alone(path, asked) if found is None else _spec_of_flight(found, asked)
    frame = read_frame(path, spec)
    _, table = band_and_table(*spec.camera.band_um)
    off = _levels(found, frame.name) if found and level else None
    taken = levelled(frame, off.offset, off.pattern) if off else frame
    signal = to_signal(taken, spec, table, recorded=frame)
    conditions = conditions_of(found.visit_path) if found else None
    place = _placed(found, frame, spec) if found else None
    time = place.time if place else frame.stamp.time
    rows, columns = signal.value.shape
    surfaces, shares = _zones(found, place, spec, asked)
    made = {label: m for label, said in asked.said.items() if (m := emissivity_said(said, band_name(spec)))}
    return Setting(
        table=table,
        signal=signal,
        sight=_sight(asked.scene, place, spec, (rows, columns)),
        sensor=_sensor(spec, table, off, float(np.nanmedian(frame.values))),
        air=weather_said(asked.scene, conditions, time),
        reflected=reflected_said(asked.scene),
        made={label: replace(m, name=label) if label and m.name == "surface" else m for label, m in made.items()},
        camera=spec.camera,
        surfaces=surfaces,
        shares=shares,
        notes=(
            LEVELLED if off else RECORDED,
            *(n for n in signal.notes if signal.unit != "counts"),
            *_notes(place, conditions),
        ),
    )


@dataclass(frozen=True)
class _Levels:
    """What registering found of one frame, in the unit of the frame."""

    offset: float
    pattern: NDArray[np.float32]
    level_sd: float
    pattern_sd: float


def _levels(flight: FlightFolder, frame: str) -> _Levels | None:
    root = flight.path.parents[3] if len(flight.path.parents) > 3 else flight.path
    paths = [of(JobFolder(root), flight) for of in (registration_path, pattern_path)]
    if not all(path.is_file() for path in paths):
        return None
    found = registration_of(paths[0])
    if not any(x.frame == frame for x in found.levels):
        return None
    at = found.level(frame)
    return _Levels(at.offset, np.load(paths[1]), at.standard_uncertainty, found.pattern_sd)


def _sensor(spec: FlightSpec, table: BandTable, off: _Levels | None, middle: float) -> Sensor:
    """The camera's doubt; with pattern and level taken off, what is left of them."""
    sensor = sensor_of(spec.camera, spec.calibration.standard_uncertainty_k)
    if off is None or is_relative(spec):
        return sensor
    signal = to_signal(Frame("", np.array([[middle]]), ValueKind(spec.values.kind), Stamp(), {}), spec, table)
    unit = radiance_a_unit(spec, middle, table) / float(table.slope(table.temperature(signal.value[0, 0])))
    return sensor_levelled(sensor, pattern_k=off.pattern_sd * unit, level_k=off.level_sd * unit)


def _flight_above(path: Path) -> FlightFolder | None:
    for folder in list(path.resolve().parents)[:ABOVE]:
        if (folder / "flight.toml").is_file() and len(folder.parents) > 2:
            return flight_at(folder)
    return None


def _spec_of_flight(flight: FlightFolder, asked: Asked) -> FlightSpec:
    if asked.values:
        raise InputError(
            f"{flight.path / 'flight.toml'} says what the numbers of this frame mean; leave out --values, --scale, "
            "--offset and --unit, or copy the frame elsewhere."
        )
    spec = flight_spec(flight)
    return _with_calibration(spec.model_copy(update={"camera": camera_said(asked, spec.camera)}), asked)


def _spec_alone(path: Path, asked: Asked) -> FlightSpec:
    if "kind" not in asked.values:
        raise InputError(
            f"{path.name}: no flight.toml lies above it, so it is not known what its numbers mean. Say it: --values "
            "apparent_temperature --scale 0.1 --offset 0 --unit C."
        )
    spec = FlightSpec.parse({"values": dict(asked.values), "poses": {"source": "none"}}, "options")
    return _with_calibration(spec.model_copy(update={"camera": camera_said(asked)}), asked)


def _with_calibration(spec: FlightSpec, asked: Asked) -> FlightSpec:
    if asked.calibration_sd_k is None:
        return spec
    calibration = spec.calibration.model_copy(update={"standard_uncertainty_k": asked.calibration_sd_k})
    return spec.model_copy(update={"calibration": calibration})


@dataclass(frozen=True)
class _Place:
    """The job that a frame lies in, its log, and when it was taken."""

    job: JobFolder
    log: FlightLog
    name: str

    @property
    def time(self) -> float | None:
        return self.log.entry(self.name).time


def _placed(flight: FlightFolder, frame: Frame, spec: FlightSpec) -> _Place | None:
    """The frame's entry in the flight's log, as checked or made for this frame alone; None outside of a job."""
    root = flight.path.parents[3] if len(flight.path.parents) > 3 else flight.path
    if not (root / "brief.toml").is_file():
        return None
    job = JobFolder(root)
    if log_path(job, flight).is_file():
        log = log_of(log_path(job, flight))
        if any(entry.name == frame.name for entry in log.entries):
            return _Place(job, log, frame.name)
    seen = look(frame, spec)
    log = assemble(flight.key, [seen], flight_poses(job, flight, [seen]), spec=spec, paths={frame.name: frame.name})
    return _Place(job, log, frame.name)


def _sight(said: Said, place: _Place | None, spec: FlightSpec, shape: tuple[int, int]) -> Sight:
    focal = (spec.camera.focal_mm or 0.0) * 1000.0 / spec.camera.pitch_um if spec.camera.pitch_um else 0.0
    pose = place.log.entry(place.name).pose if place else None
    measured = None
    if pose is not None and place is not None and place.log.metres_per_unit and place.log.focal_px:
        away, spread = distance_map(place.log, pose)
        measured = Known("distance", float(np.median(away)), spread, "m", "poses", "poses")
        if said.distance_m is None:
            return Sight(away, distance_said(said, measured), focal, pose)
    known = distance_said(said, measured)
    return Sight(np.full(shape, known.value), known, focal, pose if measured else None)


def _zones(
    flight: FlightFolder | None, place: _Place | None, spec: FlightSpec, asked: Asked
) -> tuple[tuple[GroundSurface, ...], np.ndarray | None]:
    """The brief's surfaces as the frame shows them, unless something was said of all surfaces."""
    said = asked.scene
    if flight is None or place is None or said.emissivity is not None or said.material:
        return (), None
    zones = local_zones(place.job, place.log.origin)
    known = [s for s in brief_of(place.job).surface if s.zone == "*" or zones]
    surfaces = resolve_surfaces(known, zones, band=band_name(spec))
    return surfaces, surface_shares(place.log, place.log.entry(place.name).pose, surfaces)


def _notes(place: _Place | None, conditions: Conditions | None) -> tuple[str, ...]:
    reason = place.log.entry(place.name).reason if place else ""
    set_aside = (f"The check set this frame aside: {reason}.",) if reason else ()
    return (*set_aside, *(conditions.notes if conditions else ()))


def accuracy_of(path: Path) -> float | None:
    """The narrowest accuracy that the brief of the job around a frame asks for, K."""
    flight = _flight_above(path)
    root = flight.path.parents[3] if flight and len(flight.path.parents) > 3 else None
    if root is None or not (root / "brief.toml").is_file():
        return None
    asked = [q.accuracy_k for q in brief_of(JobFolder(root)).question if q.accuracy_k is not None]
    return min(asked, default=None)
