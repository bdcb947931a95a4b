"""How a flight's values were made, in words and as a budget, for the report."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from groundglow.frames.radiometry.calibration import DEFAULT_CALIBRATION_SD_K
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.model.doubt import combined
from groundglow.records.field import Field
from groundglow.records.flight import FlightSpec
from groundglow.records.visit import Conditions
from groundglow.steps.measure.air import UNKNOWN_DISTANCE, air_at
from groundglow.steps.measure.frame import DEFAULT_DRIFT, DEFAULT_NOISE, band_name
from groundglow.steps.measure.references import ReferenceReading
from groundglow.steps.measure.surfaces import GroundSurface

__all__ = ["Method", "describe_method"]

SHARED_BY = {"independent": "nothing: each pixel", "frame": "the frame", "flight": "the flight"}


@dataclass(frozen=True)
class Method:
    """``absolute`` is False where only counts can be told. ``budget`` rows: source, K, share, shared by."""

    absolute: bool
    lines: tuple[str, ...]
    assumed: tuple[str, ...]
    budget: tuple[tuple[str, str, str, str], ...]
    references: tuple[tuple[str, str, str, str, str], ...]


def describe_method(
    measured: Field | None,
    spec: FlightSpec,
    conditions: Conditions,
    surfaces: Sequence[GroundSurface],
    references: Sequence[ReferenceReading],
    *,
    time: float | None,
    has_pose: bool,
    targets: str = "",
) -> Method:
    """What was done to the values of one flight; ``measured`` is a frame in the middle of it."""
    if measured is None:
        return Method(False, ("No frame of this flight could be measured.",), (), (), ())
    if measured.relative:
        return Method(False, _relative_lines(), (), (), ())
    return Method(
        True,
        (*_lines(spec, surfaces), *([targets] if targets else [])),
        tuple(_assumed(spec, conditions, surfaces, time, has_pose)),
        tuple(budget_rows(measured)),
        tuple(_reference_row(r) for r in references),
    )


def _relative_lines() -> tuple[str, ...]:
    return (
        "Recorded in counts, no calibration given: no temperature can be stated. The camera's fixed pattern was "
        "removed and frames were levelled on their overlaps; departures from the surroundings are in counts.",
    )


def _lines(spec: FlightSpec, surfaces: Sequence[GroundSurface]) -> list[str]:
    said = [
        f"Recorded as {spec.values.kind.replace('_', ' ')}; calibration: {spec.calibration.form.replace('_', '-')}"
        + (f", of {spec.calibration.date}" if spec.calibration.date else "")
        + f". Band {band_name(spec)} µm (nominal response).",
        "Fixed pattern removed, frames levelled on their overlaps; then the radiance equation solved for the surface: "
        "emitted and reflected radiance through the air, plus the air's own.",
        "Emissivity: "
        + "; ".join(f"{s.name} {s.emissivity:.3f} ± {1.96 * s.emissivity_sd:.3f} (95 %)" for s in _distinct(surfaces))
        + ".",
    ]
    return said


def _distinct(surfaces: Sequence[GroundSurface]) -> list[GroundSurface]:
    return list({(s.name, s.emissivity): s for s in surfaces}.values())


def _assumed(
    spec: FlightSpec,
    conditions: Conditions,
    surfaces: Sequence[GroundSurface],
    time: float | None,
    has_pose: bool,
) -> list[str]:
    said = list(air_at(conditions, time).assumed)
    said += [f"emissivity of {s.name} {s.emissivity:g} ± {1.96 * s.emissivity_sd:g}" for s in surfaces if s.assumed]
    if spec.calibration.standard_uncertainty_k is None and spec.calibration.covariance is None:
        said.append(f"calibration good to ± {1.96 * DEFAULT_CALIBRATION_SD_K:.0f} K")
    if spec.camera.drift_k is None:
        said.append(f"drift within ± {1.96 * DEFAULT_DRIFT:.0f} K")
    if spec.camera.netd_mk is None:
        said.append(f"noise {1000 * DEFAULT_NOISE:.0f} mK")
    if not has_pose:
        said.append(f"distance {UNKNOWN_DISTANCE[0]:.0f} ± {1.96 * UNKNOWN_DISTANCE[1]:.0f} m")
    return said


def budget_rows(measured: Field) -> list[tuple[str, str, str, str]]:
    """Typical standard uncertainty of each source over a frame, K, and its share of the variance; largest first."""
    total = float(np.nanmedian(combined(measured.doubt)))
    parts = [("noise", "independent", _typical(measured.doubt.independent))]
    parts += [(name, "frame", _typical(v)) for name, v in measured.doubt.frame.items()]
    parts += [(name, "flight", _typical(v)) for name, v in measured.doubt.flight.items()]
    parts.sort(key=lambda p: -p[2])
    squares = sum(p[2] ** 2 for p in parts)
    rows = [(name, f"{u:.2f} K", f"{100 * u * u / squares:.0f} %", SHARED_BY[part]) for name, part, u in parts]
    return [*rows, ("all together", f"{total:.2f} K", "100 %", "")]


def _typical(values: np.ndarray) -> float:
    return float(np.sqrt(np.nanmean(np.square(values))))


def _reference_row(r: ReferenceReading) -> tuple[str, str, str, str, str]:
    half = 1.96 * r.standard_uncertainty
    use = "withheld as a check" if r.use == "withhold" else "used"
    return (
        f"{r.name} ({r.kind}; {use})",
        f"{r.contact - ZERO_CELSIUS:.1f} °C",
        f"{r.read - ZERO_CELSIUS:.1f} °C",
        f"{r.read - half - ZERO_CELSIUS:.1f} to {r.read + half - ZERO_CELSIUS:.1f} °C",
        "yes" if r.within else "no",
    )
