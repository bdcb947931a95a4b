"""From the stored numbers of a frame to the signal at the sensor: band radiance, or counts as they are."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import FrameError
from groundglow.frames.radiometry.calibration import (
    DEFAULT_CALIBRATION_SD_K,
    calibration_sources,
    counts_to_radiance,
)
from groundglow.frames.radiometry.delivered import delivered_radiance
from groundglow.frames.reading import PICTURE_REASON
from groundglow.frames.units import ZERO_CELSIUS
from groundglow.model.table import BandTable
from groundglow.records.field import Reason
from groundglow.records.flight import CalibrationSpec, FlightSpec
from groundglow.records.frame import Frame, ValueKind

__all__ = ["RADIANCE", "Signal", "to_signal"]

Floats = NDArray[np.floating]
Float32 = NDArray[np.float32]
Notes = tuple[str, ...]

RADIANCE = "W m-2 sr-1"


@dataclass(frozen=True)
class Signal:
    """What a frame's pixels received, and how far their calibration is known.

    Parameters
    ----------
    value : ndarray float32, shape (rows, columns)
        In ``unit``; NaN where there is none.
    mask : ndarray uint8, shape (rows, columns)
        A `Reason` per pixel; values of saturated pixels and of those out of range are kept.
    unit : str
        ``W m-2 sr-1``, or ``counts`` when there is no calibration.
    slope : ndarray float32 or None
        Change of the value with black-body temperature, per K, a pixel; None for counts.
    flight : dict of str to ndarray
        Signed change of the value for one standard uncertainty of each source of the calibration's doubt.
    corrected : bool
        True when the value is the surface's own black-body radiance as delivered: emissivity and air were
        corrected by whoever delivered it, and must not be corrected again.
    notes : tuple of str
        What was assumed, in words.
    """

    value: Float32
    mask: NDArray[np.uint8]
    unit: str
    slope: Float32 | None = None
    flight: dict[str, Float32] = field(default_factory=dict)
    corrected: bool = False
    notes: tuple[str, ...] = ()


def to_signal(frame: Frame, spec: FlightSpec, table: BandTable, *, recorded: Frame | None = None) -> Signal:
    """The signal of a frame.

    Parameters
    ----------
    frame : Frame
    spec : FlightSpec
        Says what the numbers mean, how the camera is calibrated, where its counts end.
    table : BandTable
        The camera's band.
    recorded : Frame, optional
        The frame as it was recorded when ``frame`` holds levelled values: whether a pixel is saturated or no
        number is then judged by this one.

    Returns
    -------
    Signal

    Raises
    ------
    FrameError
        For a picture: no temperature can be stated.
    """
    if frame.kind is ValueKind.PICTURE:
        raise FrameError(f"{frame.name}: {frame.tags.get('reason', PICTURE_REASON)}")
    quantity = frame.values * spec.values.scale + spec.values.offset
    ends = _ends(recorded or frame, spec)
    if frame.kind is ValueKind.COUNTS and spec.calibration.form == "none":
        return _as_counts(quantity, ends)
    made = _MAKERS[frame.kind](np.asarray(quantity, dtype=np.float32), spec, table)
    return _masked(made, _mask(ends, spec, made))


@dataclass(frozen=True)
class _Made:
    """Radiance before masking, with the temperature that the calibrated range is about."""

    radiance: Floats
    kelvin: Floats
    slope: Floats
    flight: dict[str, Floats]
    corrected: bool = False
    notes: tuple[str, ...] = ()


def _as_counts(counts: NDArray[np.floating], mask: NDArray[np.uint8]) -> Signal:
    value = np.where(mask == Reason.BAD_PIXEL, np.nan, counts).astype(np.float32)
    return Signal(value, mask, "counts", notes=("counts without calibration: no temperature can be stated",))


def _of_counts(counts: Floats, spec: FlightSpec, table: BandTable) -> _Made:
    radiance = counts_to_radiance(counts, spec.calibration, table)
    kelvin = table.temperature(radiance)
    slope = table.slope(kelvin)
    calibration, notes = spec.calibration, Notes()
    if calibration.covariance is None:
        calibration, notes = _with_doubt(calibration)
    return _Made(radiance, kelvin, slope, calibration_sources(counts, kelvin, slope, calibration), notes=notes)


def _of_apparent(quantity: Floats, spec: FlightSpec, table: BandTable) -> _Made:
    kelvin = _kelvin(quantity, spec)
    return _direct(table.radiance(kelvin), kelvin, spec, table)


def _of_radiance(quantity: Floats, spec: FlightSpec, table: BandTable) -> _Made:
    return _direct(quantity, table.temperature(quantity), spec, table)


def _of_surface(quantity: Floats, spec: FlightSpec, table: BandTable) -> _Made:
    kelvin = _kelvin(quantity, spec)
    undone = delivered_radiance(kelvin, spec.values, table)
    made = _direct(undone.radiance, kelvin, spec, table)
    notes = (*made.notes, *undone.notes)
    return _Made(made.radiance, kelvin, made.slope, made.flight | undone.flight, undone.corrected, notes)


_MAKERS = {
    ValueKind.COUNTS: _of_counts,
    ValueKind.APPARENT_TEMPERATURE: _of_apparent,
    ValueKind.RADIANCE: _of_radiance,
    ValueKind.SURFACE_TEMPERATURE: _of_surface,
}


def _kelvin(quantity: Floats, spec: FlightSpec) -> Floats:
    return quantity + ZERO_CELSIUS if spec.values.unit == "C" else quantity


def _direct(radiance: Floats, kelvin: Floats, spec: FlightSpec, table: BandTable) -> _Made:
    """Radiance that a recorder calibrated: its doubt is the stated one, in K of a black body."""
    calibration, notes = _with_doubt(spec.calibration)
    slope = table.slope(table.temperature(radiance))
    return _Made(radiance, kelvin, slope, {"calibration": slope * calibration.standard_uncertainty_k}, notes=notes)


def _with_doubt(calibration: CalibrationSpec) -> tuple[CalibrationSpec, Notes]:
    """The calibration with a wide default where it states no doubt in K."""
    if calibration.standard_uncertainty_k is not None:
        return calibration, ()
    note = (
        "doubt of the calibration not stated: taken as +-5 K at most, "
        f"a standard uncertainty of {DEFAULT_CALIBRATION_SD_K:.1f} K"
    )
    return calibration.model_copy(update={"standard_uncertainty_k": DEFAULT_CALIBRATION_SD_K}), (note,)


def _ends(frame: Frame, spec: FlightSpec) -> NDArray[np.uint8]:
    """Pixels that are no number, and those at an end of the camera's or the file's range."""
    mask = np.zeros(frame.values.shape, dtype=np.uint8)
    if frame.values.dtype.kind == "u":
        limits = np.iinfo(frame.values.dtype)
        mask[(frame.values == limits.min) | (frame.values == limits.max)] = Reason.SATURATED
    if spec.camera.saturation_counts and frame.kind is ValueKind.COUNTS:
        low, high = spec.camera.saturation_counts
        counts = frame.values * spec.values.scale + spec.values.offset
        mask[(counts <= low) | (counts >= high)] = Reason.SATURATED
    bad = ~np.isfinite(frame.values) | (frame.values == frame.tags.get("nodata", np.nan))
    mask[bad] = Reason.BAD_PIXEL
    return mask


def _mask(ends: NDArray[np.uint8], spec: FlightSpec, made: _Made) -> NDArray[np.uint8]:
    outside = ~np.isfinite(made.radiance)
    if spec.calibration.valid_c:
        low, high = (limit + ZERO_CELSIUS for limit in spec.calibration.valid_c)
        outside |= (made.kelvin < low) | (made.kelvin > high)
    ends[outside & (ends == Reason.GOOD)] = Reason.OUT_OF_RANGE
    return ends


def _masked(made: _Made, mask: NDArray[np.uint8]) -> Signal:
    bad = (mask == Reason.BAD_PIXEL) | ~np.isfinite(made.radiance)
    some_bad = bool(bad.any())

    def part(values: Floats) -> Float32:
        kept = values.astype(np.float32, copy=some_bad)
        if some_bad:
            kept[bad] = np.nan
        return kept

    flight = {name: part(values) for name, values in made.flight.items()}
    return Signal(part(made.radiance), mask, RADIANCE, part(made.slope), flight, made.corrected, made.notes)
