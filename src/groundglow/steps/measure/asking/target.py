"""A small target of stated size: how much of its rise the reading shows, and the temperature without that loss.

Blur mixes target and surroundings in the radiance at the sensor. The correction is made there, before emissivity
and air: background + (reading - background) / response.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from groundglow.errors import InputError
from groundglow.model.pointspread import PointSpread
from groundglow.model.targetcorrection import BLUR_UNCERTAINTY
from groundglow.model.targetsize import LARGEST_TARGET, Reading, Shape, target_response
from groundglow.records.field import Reason
from groundglow.steps.measure.asking.measured import Value, one_reading
from groundglow.steps.measure.asking.regions import Region, ring_around
from groundglow.steps.measure.asking.scene import Scene
from groundglow.steps.measure.asking.sensor import Received, noise_of
from groundglow.steps.measure.asking.setting import Setting, received_by

__all__ = ["Corrected", "Factor", "correct", "pixels_across", "size_factor"]

#: Standard uncertainty of a stated size, as a share of it (common practice, no source).
SIZE_SHARE = 0.1
#: Gap between target and ring of background, and least width of the ring, px.
GAP, RING = 4.0, 4.0
#: A region wider than the target by this holds background.
WIDER = 1.2


@dataclass(frozen=True)
class Factor:
    """True rise over read rise; its independent standard uncertainty; its change for one of the lens's blur."""

    value: float
    independent: float
    optics: float


@dataclass(frozen=True)
class Corrected:
    """A reading without the loss by target size.

    ``across`` is the target's size in pixels, ``bias`` the plain reading minus this one, K.
    """

    value: Value
    factor: Factor
    across: float
    bias: float


def pixels_across(setting: Setting, scene: Scene, size: float) -> float:
    """How many pixels a length across the line of sight covers.

    Raises
    ------
    InputError
        When focal length or pitch are not known.
    """
    if not setting.sight.focal_px:
        setting.spread  # noqa: B018 - says what is missing
        raise InputError("A target's size needs the focal length: say focal_mm under [camera], or --focal-mm.")
    return size * setting.sight.focal_px / scene.distance.value


def size_factor(across: float, relative_sd: float, spread: PointSpread, reading: Reading, shape: Shape) -> Factor:
    """Factor for a target of known size, px, with the doubt of size, pixel grid and lens.

    Examples
    --------
    >>> spread = PointSpread(diffraction=1.0)
    >>> small, large = (size_factor(n, 0.1, spread, Reading(), "disc") for n in (3.0, 12.0))
    >>> 1.0 < large.value < small.value and small.independent > large.independent
    True
    """

    def factor(size: float, blur: float) -> float:
        lens = replace(spread, diffraction=spread.diffraction * blur, aberration=spread.aberration * blur)
        return 1.0 / target_response(size, size, lens, shape=shape, reading=reading).share

    share, sd = target_response(across, across, spread, shape=shape, reading=reading)
    step = min(max(relative_sd, 0.02), 0.5)
    by_size = (factor(across * (1 - step), 1.0) - 1.0 / share) * relative_sd / step
    sharper, blurrier = (factor(across, 1.0 + side * BLUR_UNCERTAINTY) for side in (-1.0, 1.0))
    return Factor(1.0 / share, float(np.hypot(sd / share**2, by_size)), 0.5 * (blurrier - sharper))


def _reading(region: Region, setting: Setting, across: float) -> Reading:
    """How the region reads the target: its peak pixel or the mean of a core, against a ring."""
    ring = (0.5 * across + GAP, 0.5 * across + GAP + max(RING, 0.5 * across))
    if region.kind == "point":
        return Reading(0.0, ring)
    return Reading(min(1.0, region.width(setting.shape) / across), ring)


def correct(setting: Setting, region: Region, scene: Scene, inner: Received, size: float) -> Corrected | str:
    """The region's temperature without the loss by size, or the reason why it cannot be stated.

    Parameters
    ----------
    setting, region, scene
    inner : Received
        The region's good pixels.
    size : float
        Diameter of a disc or side of a square, m.
    """
    across = pixels_across(setting, scene, size)
    if across > LARGEST_TARGET:
        return f"{across:.0f} px across: larger targets read true within 1 %"
    if region.width(setting.shape) > WIDER * across:
        return (
            f"the region is {region.width(setting.shape):.0f} px wide, the target {across:.1f} px: choose a smaller one"
        )
    reading = _reading(region, setting, across)
    ring = _background(setting, region, reading)
    if ring is None:
        return "no good pixels around the target to read its background from"
    relative = float(np.hypot(SIZE_SHARE, scene.distance.standard_uncertainty / scene.distance.value))
    shape: Shape = "rectangle" if region.kind == "rectangle" else "disc"
    factor = size_factor(across, relative, setting.spread, reading, shape)
    mean, around = inner.mean(), ring.mean()
    plain = one_reading(scene, mean, setting.sensor, independent=0.0)
    value = _corrected(setting, scene, (mean, around), factor, (len(inner.radiance), len(ring.radiance)))
    return Corrected(value, factor, across, plain.kelvin - value.kelvin)


def _background(setting: Setting, region: Region, reading: Reading) -> Received | None:
    if reading.ring is None:
        return None
    rows, columns = ring_around(region.middle(setting.shape), reading.ring, setting.shape)
    good = setting.signal.mask[rows, columns] == Reason.GOOD
    return received_by(setting, rows[good], columns[good]) if good.sum() >= 8 else None


def _corrected(
    setting: Setting, scene: Scene, pair: tuple[Received, Received], factor: Factor, counts: tuple[int, int]
) -> Value:
    """A reading of the corrected radiance; noise and pattern as the correction stretches them, and its own doubt."""
    inner, around = pair
    rise = inner.radiance - around.radiance
    radiance = around.radiance + factor.value * rise
    errors = {n: factor.value * e + (1 - factor.value) * around.errors[n] for n, e in inner.errors.items()}
    kelvin = scene.table.temperature(radiance)
    per_radiance = 1.0 / float(scene.table.slope(kelvin)[0])
    weights = np.array([factor.value, factor.value - 1.0])
    noise = float(noise_of(scene.table, kelvin, setting.sensor)[0]) * np.hypot(*(weights / np.sqrt(counts)))
    pattern = setting.sensor.pattern.standard_uncertainty * np.hypot(*weights)
    own = float(rise[0]) * per_radiance * factor.independent
    return one_reading(
        scene,
        Received(radiance, inner.distance, errors),
        setting.sensor,
        independent=float(np.sqrt(noise**2 + pattern**2 + own**2)),
        optics=float(rise[0]) * per_radiance * factor.optics,
    )
