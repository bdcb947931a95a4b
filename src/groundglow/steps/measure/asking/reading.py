"""``read``: points, regions and lines of one recorded frame, each with its interval and how far it is supported."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from groundglow.errors import InputError
from groundglow.records.field import REASON_TEXT, Reason
from groundglow.records.finding import Support
from groundglow.steps.measure.asking.measured import (
    Value,
    as_delivered,
    each_pixel,
    minus,
    region_value,
)
from groundglow.steps.measure.asking.regions import Region
from groundglow.steps.measure.asking.scene import Scene, pixel_temperatures
from groundglow.steps.measure.asking.sensor import Received
from groundglow.steps.measure.asking.setting import Setting, received_by, scene_of, view_angle
from groundglow.steps.measure.asking.support import support_of, why_no_temperature
from groundglow.steps.measure.asking.target import Corrected, correct, pixels_across

__all__ = ["Profile", "RegionReading", "Rise", "read_regions", "rise_of"]

Array = NDArray[np.float64]

NO_CALIBRATION = "counts without calibration: no temperature can be stated"


@dataclass(frozen=True)
class Profile:
    """Pixels along a line, in order: places, value with the ends of its 95 % interval, and why there is none."""

    column: NDArray[np.intp]
    row: NDArray[np.intp]
    value: Array
    low: Array
    high: Array
    reason: tuple[str, ...]


@dataclass(frozen=True)
class RegionReading:
    """What one region says.

    ``value`` is None where no temperature can be stated, and ``reason`` says why. In ``counts`` there is a mean
    and no interval: noise alone would be too narrow a doubt. ``pixels`` are those read, ``left_out`` bad ones.
    """

    region: Region
    unit: str
    pixels: int
    left_out: int
    value: Value | None
    mean: float
    least: float
    greatest: float
    support: Support
    reason: str
    scene: Scene | None = None
    corrected: Corrected | None = None
    profile: Profile | None = None


@dataclass(frozen=True)
class Rise:
    """Difference of two regions of the frame, K; None with the reason when either has no temperature, then ``counts``
    is the difference of counts, if there is one (else NaN).
    """

    over: tuple[str, str]
    value: Value | None
    reason: str
    counts: float = np.nan
    cancelled: tuple[str, ...] = ()


def read_regions(
    setting: Setting,
    regions: Sequence[Region],
    *,
    sizes: Mapping[str, float] | None = None,
    accuracy: float | None = None,
) -> tuple[RegionReading, ...]:
    """Read all regions of a frame.

    Parameters
    ----------
    setting : Setting
    regions : sequence of Region
    sizes : mapping of label to float, optional
        Size of the target that a region shows, m; infinite for one that is much larger than the region; the
        label ``""`` is for all others.
    accuracy : float, optional
        Half width of the interval that was asked for, K.

    Returns
    -------
    tuple of RegionReading

    Raises
    ------
    InputError
        When a region reaches out of the frame, or a size needs a camera that is not known.
    """
    return tuple(_read(setting, region, _size(sizes or {}, region), accuracy) for region in regions)


def _size(sizes: Mapping[str, float], region: Region) -> float | None:
    return sizes.get(region.label, sizes.get(""))


def _read(setting: Setting, region: Region, size: float | None, accuracy: float | None) -> RegionReading:
    if setting.signal.unit == "counts":
        return _in_counts(setting, region)
    rows, columns = region.pixels(setting.shape)
    scene = None if setting.signal.corrected else scene_of(setting, region)
    received = received_by(setting, rows, columns)
    kelvin = _kelvin(setting, scene, received)
    mask = setting.signal.mask[rows, columns]
    mask = np.where((mask == Reason.GOOD) & np.isnan(kelvin), np.uint8(Reason.NO_SOLUTION), mask)
    good = mask == Reason.GOOD
    seen = _Seen(setting, region, scene, received.only(good), kelvin[good])
    profile = _profile(seen, (rows, columns, mask)) if region.kind == "line" else None
    why = why_no_temperature(mask)
    if why:
        return RegionReading(
            region, "K", 0, len(rows), None, np.nan, np.nan, np.nan, Support.NOT_SUPPORTED, why, scene, None, profile
        )
    return _supported(seen, int((~good).sum()), size, accuracy, profile)


@dataclass(frozen=True)
class _Seen:
    """The good pixels of one region; ``scene`` is None for temperatures taken as delivered."""

    setting: Setting
    region: Region
    scene: Scene | None
    received: Received
    kelvin: Array

    def value(self) -> Value:
        """Mean with its doubt."""
        if self.scene is None:
            return as_delivered(self.setting.table, self.received, self.setting.sensor)[1]
        return region_value(self.scene, self.received, self.kelvin, self.setting.sensor)


def _kelvin(setting: Setting, scene: Scene | None, received: Received) -> Array:
    if scene is None:
        return np.asarray(setting.table.temperature(received.radiance))
    return pixel_temperatures(scene, received.radiance, received.distance)


def _supported(
    seen: _Seen, left_out: int, size: float | None, accuracy: float | None, profile: Profile | None
) -> RegionReading:
    """The reading with its support, after the correction for size where one is due."""
    corrected, across = _corrected(seen, size)
    made = corrected if isinstance(corrected, Corrected) else None
    plain = seen.value()
    support, reason = support_of(
        width=seen.region.width(seen.setting.shape),
        across=across,
        corrected=made is not None,
        half_width=(made.value if made else plain).half_width,
        accuracy=accuracy,
        view_angle=view_angle(seen.setting, seen.region),
    )
    said = f"{reason}; {corrected}" if isinstance(corrected, str) and corrected else reason
    ends = float(seen.kelvin.min()), float(seen.kelvin.max())
    count = len(seen.kelvin)
    return RegionReading(
        seen.region, "K", count, left_out, plain, plain.kelvin, *ends, support, said, seen.scene, made, profile
    )


def _corrected(seen: _Seen, size: float | None) -> tuple[Corrected | str, float | None]:
    """The correction for size, or why there is none, and the pixels across the target."""
    if size is None or not np.isfinite(size):
        return "", None if size is None else np.inf
    if seen.scene is None:
        return "delivered temperatures cannot be corrected for size", None
    across = pixels_across(seen.setting, seen.scene, size)
    return correct(seen.setting, seen.region, seen.scene, seen.received, size), across


def _profile(seen: _Seen, places: tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.uint8]]) -> Profile:
    rows, columns, mask = places
    good = mask == Reason.GOOD
    value, low, high = (np.full(rows.shape, np.nan) for _ in range(3))
    value[good] = seen.kelvin
    if seen.scene is None:
        half = seen.value().half_width
        low, high = value - half, value + half
    elif good.any():
        low[good], high[good] = each_pixel(seen.scene, seen.received, seen.setting.sensor)
    reasons = tuple("" if m == Reason.GOOD else REASON_TEXT[Reason(int(m))] for m in mask)
    return Profile(columns, rows, value, low, high, reasons)


def _in_counts(setting: Setting, region: Region) -> RegionReading:
    """Mean of the counts, without an interval: noise alone would be too narrow a doubt."""
    rows, columns = region.pixels(setting.shape)
    counts = np.asarray(setting.signal.value[rows, columns], dtype=float)
    mask = setting.signal.mask[rows, columns]
    profile = None
    if region.kind == "line":
        nothing = np.full(counts.shape, np.nan)
        profile = Profile(columns, rows, counts, nothing, nothing, tuple(NO_CALIBRATION for _ in counts))
    spoilt = why_no_temperature(mask)
    why = f"{NO_CALIBRATION}; {spoilt}" if spoilt else NO_CALIBRATION
    good = counts[mask == Reason.GOOD] if not spoilt else np.array([np.nan])
    read = 0 if spoilt else len(good)
    ends = float(good.mean()), float(good.min()), float(good.max())
    left = len(counts) - read
    return RegionReading(region, "counts", read, left, None, *ends, Support.NOT_SUPPORTED, why, profile=profile)


def rise_of(readings: Sequence[RegionReading], over: tuple[str, str]) -> Rise:
    """How much one region is warmer than another: signed sensitivities subtracted source by source.

    Raises
    ------
    InputError
        When a label is not among the readings.
    """
    by_label = {r.region.label: r for r in readings}
    for label in over:
        if label not in by_label:
            raise InputError(f"There is no region {label!r} to take a rise of; there are {', '.join(by_label)}.")
    first, second = (by_label[label] for label in over)
    if first.unit == "counts":
        spoilt = next((r.reason for r in (first, second) if not r.pixels), "")
        return Rise(over, None, spoilt or NO_CALIBRATION, first.mean - second.mean)
    if first.value is None or second.value is None:
        return Rise(over, None, next(r.reason for r in (first, second) if r.value is None))
    value = minus(_best(first), _best(second))
    return Rise(over, value, "", cancelled=_cancelled(_best(first), value))


def _best(reading: RegionReading) -> Value:
    """The corrected value where there is one."""
    if reading.corrected is not None:
        return reading.corrected.value
    if reading.value is None:
        raise InputError(f"{reading.region.label}: {reading.reason}")
    return reading.value


def _cancelled(of: Value, rise: Value) -> tuple[str, ...]:
    """Shared sources that lose at least nine tenths of their effect in the rise, largest first."""
    before = {**of.doubt.frame, **of.doubt.flight}
    after = {**rise.doubt.frame, **rise.doubt.flight}
    lost = [n for n, v in before.items() if abs(float(v)) > 0.1 and abs(float(after[n])) < 0.1 * abs(float(v))]
    return tuple(sorted(lost, key=lambda n: -abs(float(before[n]))))
