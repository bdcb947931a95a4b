"""Reference targets put to use: each is one observation of the sources that the flight shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from groundglow.frames.radiometry import RADIANCE, Signal, to_signal
from groundglow.model.band import Band, BandTable
from groundglow.model.constraint import Constraint, constrain
from groundglow.model.through_air import at_sensor_radiance_through_air
from groundglow.records.frame import Frame
from groundglow.records.visit import Reference
from groundglow.steps.measure.air import air_at, distance_map, path_doubt, reflection
from groundglow.steps.measure.frame import (
    FrameInputs,
    band_and_table,
    band_name,
    drift_of,
    level_radiance,
    levelled,
    noise_radiance,
)
from groundglow.steps.measure.references import KNOWN_HALF, Spot
from groundglow.steps.measure.spectra import response_change, sky_passing
from groundglow.steps.measure.surfaces import GroundSurface, surface_of

__all__ = ["TARGET_MATERIALS", "TargetRow", "at_target", "constraint_of", "target_row", "target_surface"]

#: What a target's surface is made of when nobody said (common practice, no source; the table has its doubt).
TARGET_MATERIALS = {
    "water": "water",
    "tape": "electrical tape, black vinyl",
    "foil": "aluminium, foil, crumpled",
    "board": "paint, matt black",
    "heated": "paint, matt black",
}


@dataclass(frozen=True)
class TargetRow:
    """One observation: what the camera received beyond what the contact value predicts, W m-2 sr-1.

    ``by_source`` is its change for one standard uncertainty of each source that the flight shares; ``noise`` the
    standard uncertainty that no such source explains.
    """

    name: str
    residual: float
    noise: float
    by_source: dict[str, float]


def target_surface(reference: Reference, inputs: FrameInputs) -> GroundSurface:
    """The surface of a target: its own material, or the usual one of its kind.

    Raises
    ------
    InputError
        For a material that the table does not have.
    """
    return surface_of(reference.material or TARGET_MATERIALS[reference.kind], band=band_name(inputs.spec))


def target_row(reference: Reference, spot: Spot, frame: Frame, inputs: FrameInputs) -> TargetRow | None:
    """What one target in one frame says; None when the frame is relative or the target unreadable.

    Parameters
    ----------
    reference : Reference
    spot : Spot
        Where it is in the frame.
    frame : Frame
        As recorded.
    inputs : FrameInputs
        Of that frame.
    """
    band, table = band_and_table(*inputs.spec.camera.band_um)
    signal = to_signal(levelled(frame, inputs.level.offset, inputs.pattern), inputs.spec, table, recorded=frame)
    window = spot.window
    good = np.isfinite(signal.value[window]) & (signal.mask[window] == 0)
    if signal.unit != RADIANCE or signal.corrected or not good.any():
        return None
    surface = target_surface(reference, inputs)
    predicted, by_input, own = _prediction(reference, surface, inputs, band, table)
    seen = signal.value[window][good]
    noise = np.sqrt(
        (noise_radiance(inputs, table) ** 2) / good.sum()
        + float(level_radiance(inputs, table)) ** 2
        + (float(np.var(seen)) if spot.half > KNOWN_HALF else 0.0)
        + own**2
    )
    by_source = _of_camera(signal, window, good, inputs) | {name: -change for name, change in by_input.items()}
    return TargetRow(reference.name, float(np.mean(seen)) - predicted, float(noise), by_source)


def _of_camera(
    signal: Signal, window: tuple[slice, slice], good: NDArray[np.bool_], inputs: FrameInputs
) -> dict[str, float]:
    made = {name: float(np.mean(change[window][good])) for name, change in signal.flight.items()}
    slope = np.asarray(signal.slope)[window][good]
    return made | {"drift": float(np.mean(slope)) * drift_of(inputs)}


def _prediction(
    reference: Reference, surface: GroundSurface, inputs: FrameInputs, band: Band, table: BandTable
) -> tuple[float, dict[str, float], float]:
    """Predicted radiance, its change by each input's standard uncertainty, and the doubt that is the target's own."""
    air = air_at(inputs.conditions, inputs.entry.time)
    far, far_sd = distance_map(inputs.log, inputs.entry.pose)
    distance = float(np.median(far))
    mirrored = reflection(band, table, surface, air)
    weather = {
        "air_temperature": air.temperature.value,
        "relative_humidity": air.humidity.value,
        "pressure": air.pressure.value,
    }

    def received(kelvin: float, emissivity: float, reflected: float) -> float:
        return float(
            at_sensor_radiance_through_air(
                table, kelvin, emissivity=emissivity, reflected_radiance=reflected, distance=distance, **weather
            )
        )

    passing = float(sky_passing(band, table, [mirrored], air, np.array([distance], dtype=np.float32))[0])
    value, emissivity, sky = reference.value, surface.emissivity, passing * mirrored.radiance
    base = received(value, emissivity, sky)
    leaving = emissivity * float(table.radiance(value)) + (1.0 - emissivity) * sky
    changes = {n: t * leaving + r for n, (t, r) in path_doubt(band, distance, far_sd, air).items()}
    changes |= {
        "sky": received(value, emissivity, sky + passing * mirrored.sky) - base,
        "cloud": received(value, emissivity, max(sky + passing * mirrored.cloud, 0.0)) - base,
        f"emissivity: {surface.name}": received(value, max(emissivity - surface.emissivity_sd, 0.0), sky) - base,
    }
    changes[f"emissivity: {surface.name}"] *= -1.0
    shown = response_change(band, table, base, surface, mirrored, air=air, distance=distance)
    changes |= {name: -change for name, change in shown.items()}
    return base, changes, received(value + reference.standard_uncertainty, emissivity, sky) - base


def constraint_of(rows: Sequence[TargetRow], names: Sequence[str]) -> Constraint:
    """What targets say of the named sources; a source that the flight does not share counts as the target's noise."""
    shared = sorted(names)
    design = np.array([[row.by_source.get(n, 0.0) for n in shared] for row in rows]).reshape(len(rows), len(shared))
    own = [sum(v**2 for n, v in row.by_source.items() if n not in shared) for row in rows]
    noise = [float(np.hypot(row.noise, np.sqrt(extra))) for row, extra in zip(rows, own, strict=True)]
    return constrain(shared, design, [row.residual for row in rows], noise)


def at_target(inputs: FrameInputs, reference: Reference) -> FrameInputs:
    """The same frame, read as if all of it were the target's surface."""
    return replace(inputs, surfaces=(target_surface(reference, inputs),))
