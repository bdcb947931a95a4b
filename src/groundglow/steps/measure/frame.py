"""One frame measured: recorded values to surface temperature with three-part doubt, or to levelled counts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FrameError
from groundglow.frames.radiometry import Signal, to_signal
from groundglow.model.band import Band, BandTable, ideal_band, lookup, nominal_band
from groundglow.model.doubt import Doubt
from groundglow.model.response import NOMINAL_BANDS
from groundglow.model.sensing import Sensitivities, Surroundings, surface_temperature_and_sensitivities
from groundglow.records.field import Field, Reason
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Frame
from groundglow.records.log import FlightLog, LogEntry
from groundglow.records.tie import Level
from groundglow.records.visit import Conditions
from groundglow.steps.measure.air import Air, Reflection, air_at, distance_map, path, path_doubt, reflection
from groundglow.steps.measure.surfaces import GroundSurface, surface_shares

__all__ = ["FrameInputs", "band_and_table", "band_name", "measure_frame"]

#: What is assumed of a camera that says nothing, K: wide on purpose, listed in the report.
DEFAULT_NOISE = 0.1
DEFAULT_CALIBRATION = 5.0
DEFAULT_DRIFT = 1.0


@dataclass(frozen=True)
class FrameInputs:
    """What measuring one frame needs besides its pixels.

    ``pattern`` is the flight's fixed pattern in the unit of the frame, shape (rows, columns), or None;
    ``pattern_sd`` what is left of it.
    """

    log: FlightLog
    spec: FlightSpec
    entry: LogEntry
    level: Level
    pattern: NDArray[np.float32] | None
    pattern_sd: float
    conditions: Conditions
    surfaces: Sequence[GroundSurface]


def band_name(spec: FlightSpec) -> str:
    """Name of the camera's band: one of the shipped nominal responses, or an ideal band from its edges."""
    low, high = spec.camera.band_um
    return f"{low:g}-{high:g}"


@lru_cache(maxsize=8)
def band_and_table(low_um: float, high_um: float) -> tuple[Band, BandTable]:
    """The camera's band and its lookup tables, made once."""
    name = f"{low_um:g}-{high_um:g}"
    band = nominal_band(name) if name in NOMINAL_BANDS else ideal_band(low_um * 1e-6, high_um * 1e-6)
    return band, lookup(band)


def measure_frame(frame: Frame, inputs: FrameInputs) -> Field:
    """Surface temperature of one frame with its doubt; levelled counts where there is no calibration.

    Parameters
    ----------
    frame : Frame
        As recorded.
    inputs : FrameInputs

    Returns
    -------
    Field
        Unit K and quantity ``surface_temperature``, or unit ``counts`` and ``levelled_counts``.

    Raises
    ------
    FrameError
        When the frame is not of the flight's shape, or is a picture.
    """
    if frame.values.shape != inputs.log.shape:
        raise FrameError(f"{frame.values.shape} is not the flight's shape {inputs.log.shape}")
    band, table = band_and_table(*inputs.spec.camera.band_um)
    signal = to_signal(_levelled(frame, inputs), inputs.spec, table, recorded=frame.values)
    if signal.unit == "counts":
        return _relative(signal, inputs)
    return _absolute(signal, inputs, band, table)


def _levelled(frame: Frame, inputs: FrameInputs) -> Frame:
    values = frame.values.astype(np.float32) - np.float32(inputs.level.offset)
    return replace(frame, values=values if inputs.pattern is None else values - inputs.pattern)


def _relative(signal: Signal, inputs: FrameInputs) -> Field:
    noise = np.full(signal.value.shape, np.hypot(pixel_noise(signal.value), inputs.pattern_sd), dtype=np.float32)
    doubt = Doubt(noise, frame={"level": np.array(inputs.level.standard_uncertainty)})
    return Field(signal.value, doubt, signal.mask, "levelled_counts", "counts")


def pixel_noise(values: NDArray[np.float32]) -> float:
    """Noise of a frame from differences of neighbouring pixels, robust against edges, unit of the values."""
    steps = np.diff(values, axis=1)
    middle = np.nanmedian(steps)
    return float(1.4826 * np.nanmedian(np.abs(steps - middle)) / np.sqrt(2.0))


def _absolute(signal: Signal, inputs: FrameInputs, band: Band, table: BandTable) -> Field:
    pose = inputs.entry.pose
    air = air_at(inputs.conditions, inputs.entry.time)
    distance, distance_sd = distance_map(inputs.log, pose)
    along = path(band, distance, air)
    shares = surface_shares(inputs.log, pose, inputs.surfaces)
    reflected = [reflection(band, table, s, air) for s in inputs.surfaces]
    emissivity = _mixed(shares, [s.emissivity for s in inputs.surfaces])
    surroundings = Surroundings(_mixed(shares, [r.radiance for r in reflected]), along.transmittance, along.radiance)
    value, slopes = surface_temperature_and_sensitivities(table, signal.value, emissivity, surroundings)
    mask = np.where(np.isnan(value) & (signal.mask == 0), np.uint8(Reason.NO_SOLUTION), signal.mask)
    middle = float(np.median(distance))
    air_doubt = path_doubt(band, middle, distance_sd, air)
    air_doubt["transmittance"] = _model_doubt(float(np.median(along.transmittance_sd)), table, air)
    flight = (
        _camera_sources(signal, inputs, table, slopes)
        | {name: slopes.transmittance * t + slopes.path_radiance * r for name, (t, r) in air_doubt.items()}
        | _reflection_sources(shares, reflected, slopes)
        | _emissivity_sources(shares, inputs.surfaces, slopes)
    )
    frame = _frame_sources(shares, emissivity, inputs, table, slopes)
    doubt = Doubt(
        _noise(inputs, table, slopes), frame=frame, flight={k: v.astype(np.float32) for k, v in flight.items()}
    )
    return Field(value.astype(np.float32), doubt, mask.astype(np.uint8), "surface_temperature", "K")


def _mixed(shares: NDArray[np.float32], values: Sequence[float]) -> NDArray[np.float32]:
    return np.asarray(np.tensordot(np.asarray(values, dtype=np.float32), shares, axes=1))


def _model_doubt(transmittance_sd: float, table: BandTable, air: Air) -> tuple[float, float]:
    """A transmittance that is off takes the air's own radiance with it."""
    return transmittance_sd, -transmittance_sd * float(table.radiance(air.temperature.value))


def _camera_sources(
    signal: Signal, inputs: FrameInputs, table: BandTable, slopes: Sensitivities
) -> dict[str, NDArray[np.float32]]:
    spec = inputs.spec
    calibration = spec.calibration.standard_uncertainty_k
    drift = spec.camera.drift_k
    per_kelvin = slopes.radiance * table.slope(table.temperature(signal.value))
    return {
        "calibration": per_kelvin * np.float32(DEFAULT_CALIBRATION if calibration is None else calibration),
        "drift": per_kelvin * np.float32(DEFAULT_DRIFT if drift is None else drift),
    }


def _reflection_sources(
    shares: NDArray[np.float32], reflected: Sequence[Reflection], slopes: Sensitivities
) -> dict[str, NDArray[np.float32]]:
    return {
        "sky": slopes.reflected_radiance * _mixed(shares, [r.sky for r in reflected]),
        "cloud": slopes.reflected_radiance * _mixed(shares, [r.cloud for r in reflected]),
    }


def _emissivity_sources(
    shares: NDArray[np.float32], surfaces: Sequence[GroundSurface], slopes: Sensitivities
) -> dict[str, NDArray[np.float32]]:
    """Emissivity is shared only within one material: one source a material."""
    sources: dict[str, NDArray[np.float32]] = {}
    for share, surface in zip(shares, surfaces, strict=True):
        if share.max() > 0.0:
            name = f"emissivity: {surface.name}"
            sources[name] = sources.get(name, np.float32(0.0)) + slopes.emissivity * share * surface.emissivity_sd
    return sources


def _frame_sources(
    shares: NDArray[np.float32],
    emissivity: NDArray[np.float32],
    inputs: FrameInputs,
    table: BandTable,
    slopes: Sensitivities,
) -> dict[str, NDArray[np.float32]]:
    """What is left of the level, and which side of a zone's edge a pixel lies on."""
    second = _mixed(shares, [s.emissivity**2 for s in inputs.surfaces])
    which = np.sqrt(np.maximum(second - emissivity**2, 0.0))
    unit = _kelvin_a_unit(inputs, table)
    sources = {"level": slopes.radiance * np.float32(unit * inputs.level.standard_uncertainty)}
    if which.max() > 1e-3:
        sources["which surface"] = (slopes.emissivity * which).astype(np.float32)
    return sources


def _kelvin_a_unit(inputs: FrameInputs, table: BandTable) -> float:
    """Band radiance that one stored unit is worth near 300 K."""
    step = to_signal_slope(inputs.spec, table)
    return step


def _noise(inputs: FrameInputs, table: BandTable, slopes: Sensitivities) -> NDArray[np.float32]:
    netd = inputs.spec.camera.netd_mk
    noise = (netd / 1000.0 if netd else DEFAULT_NOISE) * float(table.slope(300.0))
    pattern = inputs.pattern_sd * _kelvin_a_unit(inputs, table)
    return np.abs(slopes.radiance).astype(np.float32) * np.float32(np.hypot(noise, pattern))


def check_usable(frame: Frame) -> None:
    """Refuse a frame that cannot be measured at all."""
    if frame.kind == "picture":
        raise FrameError("an 8-bit picture: no temperature can be stated for it")
