"""The plain loop: one combination, one hour after another, each by the model's own functions for one target.

It is the reference of the arrays and kernels in `groundglow.steps.fit`, and the floor of their benchmark.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from groundglow.model.air import SKY_TEMPERATURE_SD, air_path
from groundglow.model.band import lookup
from groundglow.model.doubt import COVERAGE_95
from groundglow.model.pointspread import PointSpread, point_spread
from groundglow.model.reading import Situation, Stated, apparent_temperature, camera_doubt
from groundglow.model.reading.effects import effects
from groundglow.model.seeing import (
    JOHNSON_CYCLES,
    THRESHOLD_SNR,
    critical_dimension,
    probability_above_threshold,
    probability_of_task,
)
from groundglow.model.sensing import at_sensor_radiance, surroundings_at
from groundglow.model.sighting import Sighting, cycles_on_target
from groundglow.model.targetcorrection import BLUR_UNCERTAINTY
from groundglow.model.targetsize import target_response
from groundglow.records.fit import Ask
from groundglow.records.kit import Combination
from groundglow.steps.fit.air import AIR_SD, DISTANCE_SD, HUMIDITY_SD, band_of
from groundglow.steps.fit.scene import Scene
from groundglow.steps.fit.settings import SIZE_SD, SMEAR_LIMIT

__all__ = ["Plain", "plain_cell", "plain_half_width"]


@dataclass(frozen=True)
class Plain:
    """What the loop finds for one combination at one hour."""

    cycles: float
    contrast: float
    probability: float


def lag_of(ask: Ask, kit: Combination, distance: float) -> float:
    """Motion during a time constant, px: none for a look at a point, else at most what a survey keeps."""
    tau, sampling = kit.camera.detector.time_constant, kit.ifov * distance
    slow, fast = kit.aircraft.speeds if kit.aircraft else (0.0, 0.0)
    if ask.speed is not None:
        return min(max(ask.speed, slow), max(fast, slow)) * tau / sampling
    limit = 0.0 if ask.work.shape == "point" and slow == 0.0 else SMEAR_LIMIT
    return max(slow * tau / sampling, min(limit, fast * tau / sampling))


def spread_of(kit: Combination, lag: float) -> PointSpread:
    """Blur of one kit."""
    still = point_spread(kit.camera.detector.pitch, kit.lens.f_number, aberration=kit.lens.aberration)
    return replace(still, lag=(0.0, lag))


def noise_of(kit: Combination) -> float:
    """Of a pixel at 300 K, behind this lens."""
    return kit.camera.noise * (kit.lens.f_number / kit.camera.noise_f_number) ** 2 / kit.lens.transmission


def plain_cell(ask: Ask, kit: Combination, scene: Scene, reflected: float, *, hour: int, distance: float) -> Plain:
    """One combination at one hour."""
    band = band_of(kit.camera.detector.band)
    table = lookup(band)
    around = surroundings_at(table, reflected_temperature=reflected, air_temperature=reflected)
    shown = [
        float(table.temperature(at_sensor_radiance(table, kelvin, emissivity, around)))
        for kelvin, emissivity in (
            (scene.target[hour], ask.target.emissivity),
            (scene.background[hour], scene.background_emissivity),
        )
    ]
    rise = shown[0] - shown[1]
    sure = max(abs(rise) - float(scene.rise_sd[hour]), 0.0)
    own = noise_of(kit) * float(table.slope(300.0) / table.slope(shown[1]))
    noise = float(np.hypot(own, kit.camera.pattern))
    through = float(
        air_path(
            band,
            distance,
            air_temperature=float(scene.air[hour]),
            relative_humidity=float(scene.relative_humidity[hour]),
            pressure=scene.pressure,
            visibility=ask.sky.visibility,
            source_temperature=float(np.clip(scene.target.mean(), 230.0, 1200.0)),
        ).transmittance
    )
    size = float(critical_dimension(*ask.target.sides(ask.view)))
    spread = spread_of(kit, lag_of(ask, kit, distance))
    seen = Sighting(size, sure, kit.ifov, noise, spread, lambda d: np.full(np.shape(d), through))
    cycles = float(cycles_on_target(seen, distance))
    pixels = max((size / (kit.ifov * distance)) ** 2, 1.0)
    contrast = sure * through / float(np.hypot(ask.target.clutter, noise / pixels**0.5))
    task = "detect" if ask.task == "measure" else ask.task
    made_out = float(probability_of_task(cycles, JOHNSON_CYCLES[task]))
    return Plain(cycles, contrast, min(made_out, float(probability_above_threshold(contrast, THRESHOLD_SNR))))


def _contributions(
    ask: Ask, kit: Combination, scene: Scene, reflected: float, hour: int, distance: float, kelvin: float
) -> dict[str, float]:
    band = band_of(kit.camera.detector.band)
    situation = Situation(
        Stated(ask.target.emissivity, ask.target.emissivity_sd),
        Stated(reflected, SKY_TEMPERATURE_SD),
        Stated(float(scene.air[hour]), AIR_SD),
        Stated(float(scene.relative_humidity[hour]), HUMIDITY_SD),
        Stated(distance, DISTANCE_SD * distance),
        scene.pressure,
        ask.sky.visibility,
    )
    shown = np.atleast_1d(apparent_temperature(band, kelvin, situation))
    doubt = camera_doubt(band, noise=0.0, calibration=Stated(0.0, 1.0)).flat((1,))
    found = effects(band, shown, situation.flat((1,)), doubt)
    return {name: float(change[0]) for name, change in found.contributions.items()}


def plain_half_width(
    ask: Ask, kit: Combination, scene: Scene, reflected: float, *, hour: int, distance: float
) -> float:
    """Half width of the 95 % interval of the corrected reading of one combination at one hour, K."""
    of_target = _contributions(ask, kit, scene, reflected, hour, distance, float(scene.target[hour]))
    of_like = _contributions(ask, kit, scene, reflected, hour, distance, float(scene.background[hour]))
    long, short = (side / (kit.ifov * distance) for side in ask.target.sides(ask.view))
    spread = spread_of(kit, lag_of(ask, kit, distance))

    def share(by_size: float = 1.0, by_blur: float = 1.0) -> tuple[float, float]:
        blurred = replace(spread, diffraction=spread.diffraction * by_blur, aberration=spread.aberration * by_blur)
        found = target_response(min(long * by_size, 99.0), short * by_size, blurred, shape="rectangle")
        return found.share, found.sd

    plain, sd = share()
    size = (share(by_size=1.1)[0] / plain - 1.0) / 0.1 * SIZE_SD
    blur = share(by_blur=1.0 + BLUR_UNCERTAINTY)[0] / plain - 1.0
    relative = float(np.sqrt((sd / plain) ** 2 + size**2 + blur**2))
    table = lookup(band_of(kit.camera.detector.band))
    around = surroundings_at(table, reflected_temperature=reflected, air_temperature=reflected)
    ground = at_sensor_radiance(table, scene.background[hour], scene.background_emissivity, around)
    own = noise_of(kit) * float(table.slope(300.0) / table.slope(table.temperature(ground)))
    own = float(np.hypot(own, kit.camera.pattern)) / plain
    limits = (kit.camera.accuracy or np.nan) / 3.0**0.5
    camera = ("noise", "drift", "calibration")
    gain = abs(of_target["calibration"])
    if ask.of == "rise":
        scenic = sum((of_target[n] - of_like[n]) ** 2 for n in of_target if n not in camera)
        calibration = (of_target["calibration"] - of_like["calibration"]) * limits
        squares = scenic + calibration**2 + 2.0 * (gain * own) ** 2
    else:
        scenic = sum(of_target[n] ** 2 for n in of_target if n not in camera)
        squares = scenic + (gain * limits) ** 2 + (gain * own) ** 2
    return COVERAGE_95 * float(np.sqrt(squares + (relative * float(scene.rise[hour])) ** 2))
