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
from groundglow.model.constraint import Constraint, constrained
from groundglow.model.doubt import Doubt
from groundglow.model.response import NOMINAL_BANDS
from groundglow.model.sensing import Sensitivities
from groundglow.model.through_air import surface_temperature_through_air
from groundglow.records.field import Field, Reason
from groundglow.records.flight import FlightSpec
from groundglow.records.frame import Frame, Stamp, ValueKind
from groundglow.records.log import FlightLog, LogEntry
from groundglow.records.tie import Level
from groundglow.records.visit import Conditions
from groundglow.steps.measure.air import Air, Reflection, air_at, distance_map, path_doubt, reflection
from groundglow.steps.measure.spectra import sky_passing, spectral_doubt
from groundglow.steps.measure.surfaces import GroundSurface, surface_shares

__all__ = ["FrameInputs", "band_and_table", "band_name", "levelled", "measure_frame", "radiance_a_unit"]

#: What is assumed of a camera that says nothing, K: wide on purpose, listed in the report.
DEFAULT_NOISE = 0.1
DEFAULT_DRIFT = 1.0
#: Temperature at which noise-equivalent differences are stated, K (common practice, no source).
NOISE_TEMPERATURE = 300.0
#: Spread of emissivity between surfaces that a pixel may show, below which nothing is said of it.
LEAST_MIXTURE = 1e-3


@dataclass(frozen=True)
class FrameInputs:
    """What measuring one frame needs besides its pixels.

    ``pattern`` is the flight's fixed pattern in the unit of the frame, shape (rows, columns), or None;
    ``pattern_sd`` what is left of it. ``known`` is what reference targets say of the flight's shared sources.
    """

    log: FlightLog
    spec: FlightSpec
    entry: LogEntry
    level: Level
    pattern: NDArray[np.float32] | None
    pattern_sd: float
    conditions: Conditions
    surfaces: Sequence[GroundSurface]
    known: Constraint | None = None


def band_name(spec: FlightSpec) -> str:
    """Name of the camera's band: one of the shipped nominal responses, or an ideal band from its edges."""
    low, high = spec.camera.band_um
    return f"{low:g}-{high:g}"


@lru_cache(maxsize=8)
def band_and_table(low_um: float, high_um: float) -> tuple[Band, BandTable]:
    """The camera's band and its lookup tables, made once."""
    name = f"{low_um:g}-{high_um:g}"
    if name in NOMINAL_BANDS:
        band = nominal_band(name)
    else:  # two edges are no response: as uncertain as a nominal one
        band = replace(ideal_band(low_um * 1e-6, high_um * 1e-6), nominal=True)
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
    signal = to_signal(levelled(frame, inputs.level.offset, inputs.pattern), inputs.spec, table, recorded=frame)
    if signal.unit == "counts":
        return _relative(signal, inputs)
    if signal.corrected:
        return _delivered(signal, inputs, table)
    return _absolute(signal, inputs, band, table)


def levelled(frame: Frame, offset: float, pattern: NDArray[np.float32] | None) -> Frame:
    """The frame with its level and the flight's fixed pattern taken off."""
    values = frame.values.astype(np.float32) - np.float32(offset)
    return replace(frame, values=values if pattern is None else values - pattern)


def _relative(signal: Signal, inputs: FrameInputs) -> Field:
    noise = np.full(signal.value.shape, np.hypot(pixel_noise(signal.value), inputs.pattern_sd), dtype=np.float32)
    doubt = Doubt(noise, frame={"level": np.array(inputs.level.standard_uncertainty)})
    return Field(signal.value, doubt, signal.mask, "levelled_counts", "counts")


def pixel_noise(values: NDArray[np.float32]) -> float:
    """Noise of a frame from differences of neighbouring pixels, robust against edges, unit of the values."""
    steps = np.diff(values, axis=1)
    middle = np.nanmedian(steps)
    return float(1.4826 * np.nanmedian(np.abs(steps - middle)) / np.sqrt(2.0))


def _delivered(signal: Signal, inputs: FrameInputs, table: BandTable) -> Field:
    """A surface temperature that somebody corrected already, in a way that is lost: taken as delivered."""
    value = np.asarray(table.temperature(signal.value), dtype=np.float32)
    per_radiance = np.float32(1.0) / np.asarray(signal.slope, dtype=np.float32)
    flight = {name: per_radiance * change for name, change in signal.flight.items()}
    doubt = Doubt(
        per_radiance * np.float32(noise_radiance(inputs, table)),
        {"level": per_radiance * level_radiance(inputs, table)},
        flight,
    )
    return Field(value, doubt, signal.mask, "surface_temperature", "K")


@dataclass(frozen=True)
class _Scene:
    """What one frame looked at: shares of surfaces, what they reflect, the air between."""

    shares: NDArray[np.float32]
    emissivity: NDArray[np.float32]
    reflected: list[Reflection]
    passing: list[NDArray[np.float32]]
    distance: NDArray[np.float32]
    air: Air
    air_sources: dict[str, tuple[float, float]]

    def mirrored(self, values: Sequence[float]) -> NDArray[np.float32]:
        """What is reflected, of each surface's value, as a black body that arrives as much."""
        parts = zip(self.shares, values, self.passing, strict=True)
        return np.asarray(sum(share * np.float32(value) * factor for share, value, factor in parts), dtype=np.float32)


def _scene(inputs: FrameInputs, band: Band, table: BandTable) -> _Scene:
    pose = inputs.entry.pose
    air = air_at(inputs.conditions, inputs.entry.time)
    distance, distance_sd = distance_map(inputs.log, pose)
    shares = surface_shares(inputs.log, pose, inputs.surfaces)
    reflected = [reflection(band, table, s, air) for s in inputs.surfaces]
    return _Scene(
        shares=shares,
        emissivity=_mixed(shares, [s.emissivity for s in inputs.surfaces]),
        reflected=reflected,
        passing=sky_passing(band, table, reflected, air, distance),
        distance=distance,
        air=air,
        air_sources=path_doubt(band, float(np.median(distance)), distance_sd, air),
    )


def _absolute(signal: Signal, inputs: FrameInputs, band: Band, table: BandTable) -> Field:
    scene = _scene(inputs, band, table)
    found = surface_temperature_through_air(
        table,
        signal.value,
        emissivity=scene.emissivity,
        reflected_radiance=scene.mirrored([r.radiance for r in scene.reflected]),
        distance=scene.distance,
        air_temperature=scene.air.temperature.value,
        relative_humidity=scene.air.humidity.value,
        pressure=scene.air.pressure.value,
    )
    value, slopes = found.temperature, found.sensitivities
    model = _model_doubt(float(np.median(found.transmittance_sd)), table, scene.air)
    scene.air_sources["transmittance"] = model
    unsolved = np.isnan(value) & (signal.mask == Reason.GOOD)
    mask = np.where(unsolved, np.uint8(Reason.NO_SOLUTION), signal.mask)
    flight = (
        {name: slopes.radiance * change for name, change in signal.flight.items()}
        | {"drift": slopes.radiance * np.asarray(signal.slope) * np.float32(drift_of(inputs))}
        | {n: slopes.transmittance * t + slopes.path_radiance * r for n, (t, r) in scene.air_sources.items()}
        | _reflection_sources(scene, slopes)
        | _spectral_sources(signal, scene, inputs.surfaces, slopes, (band, table))
    )
    doubt = Doubt(
        np.abs(slopes.radiance) * np.float32(noise_radiance(inputs, table)),
        frame=_frame_sources(scene, inputs, table, slopes),
        flight={name: np.asarray(change, dtype=np.float32) for name, change in flight.items()},
    )
    if inputs.known is not None:
        value, doubt = constrained(value, doubt, inputs.known)
    return Field(value.astype(np.float32), doubt, mask, "surface_temperature", "K")


def _mixed(shares: NDArray[np.float32], values: Sequence[float]) -> NDArray[np.float32]:
    return np.asarray(np.tensordot(np.asarray(values, dtype=np.float32), shares, axes=1))


def _model_doubt(transmittance_sd: float, table: BandTable, air: Air) -> tuple[float, float]:
    """A transmittance that is off takes the air's own radiance with it."""
    return transmittance_sd, -transmittance_sd * float(table.radiance(air.temperature.value))


def drift_of(inputs: FrameInputs) -> float:
    drift = inputs.spec.camera.drift_k
    return DEFAULT_DRIFT if drift is None else drift


def _reflection_sources(scene: _Scene, slopes: Sensitivities) -> dict[str, NDArray[np.float32]]:
    return {
        "sky": slopes.reflected_radiance * scene.mirrored([r.sky for r in scene.reflected]),
        "cloud": slopes.reflected_radiance * scene.mirrored([r.cloud for r in scene.reflected]),
    }


def _spectral_sources(
    signal: Signal,
    scene: _Scene,
    surfaces: Sequence[GroundSurface],
    slopes: Sensitivities,
    seen_by: tuple[Band, BandTable],
) -> dict[str, NDArray[np.float32]]:
    """The camera's response, and emissivities with what their spectra leave unknown.

    Emissivity is shared only within one material: one source a material.
    """
    middle = float(np.median(scene.distance))
    unknown = spectral_doubt(*seen_by, signal.value, surfaces, scene.reflected, air=scene.air, distance=middle)
    sources = {name: unknown.of_response(name, signal.value, scene.shares) for name in unknown.response}
    for index, (share, surface) in enumerate(zip(scene.shares, surfaces, strict=True)):
        if share.max() > 0.0:
            name = f"emissivity: {surface.name}"
            mean = slopes.emissivity * share * np.float32(surface.emissivity_sd)
            change = np.copysign(np.hypot(mean, unknown.of_surface(index, signal.value, share)), mean)
            sources[name] = sources[name] + change if name in sources else change
    return sources


def _frame_sources(
    scene: _Scene, inputs: FrameInputs, table: BandTable, slopes: Sensitivities
) -> dict[str, NDArray[np.float32]]:
    """What is left of the level, and which side of a zone's edge a pixel lies on."""
    second = _mixed(scene.shares, [s.emissivity**2 for s in inputs.surfaces])
    which = np.sqrt(np.maximum(second - scene.emissivity**2, 0.0))
    sources = {"level": slopes.radiance * level_radiance(inputs, table)}
    if which.max() > LEAST_MIXTURE:
        sources["which surface"] = (slopes.emissivity * which).astype(np.float32)
    return sources


def radiance_a_unit(spec: FlightSpec, middle: float, table: BandTable) -> float:
    """Band radiance that one stored unit is worth about a stored value."""
    stored = np.array([[np.float32(middle), np.float32(middle) + 1]])
    pair = Frame("", stored, ValueKind(spec.values.kind), Stamp(), {})
    low, high = to_signal(pair, spec, table).value[0]
    return float(high - low)


def _radiance_a_unit(inputs: FrameInputs, table: BandTable) -> float:
    """The same in the middle of what the frame recorded."""
    return radiance_a_unit(inputs.spec, inputs.entry.stats["median"], table)


def level_radiance(inputs: FrameInputs, table: BandTable) -> np.float32:
    """Doubt of the frame's level as radiance."""
    return np.float32(_radiance_a_unit(inputs, table) * inputs.level.standard_uncertainty)


def noise_radiance(inputs: FrameInputs, table: BandTable) -> float:
    """Noise of one pixel as radiance, with what is left of the fixed pattern."""
    netd = inputs.spec.camera.netd_mk
    noise = (netd / 1000.0 if netd else DEFAULT_NOISE) * float(table.slope(NOISE_TEMPERATURE))
    return float(np.hypot(noise, inputs.pattern_sd * _radiance_a_unit(inputs, table)))
