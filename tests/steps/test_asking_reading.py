"""Reading a frame: temperatures of regions with honest intervals, rises, small targets, and reasons for none."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.stats import binom

from groundglow.errors import InputError
from groundglow.frames.radiometry import Signal
from groundglow.model.band import lookup, nominal_band
from groundglow.model.pointspread import point_spread
from groundglow.model.pose import rotation_from_yaw_pitch_roll
from groundglow.model.reading import Situation, moved_band, sky_factor
from groundglow.model.targetsize import blurred_target
from groundglow.model.through_air import at_sensor_radiance_through_air
from groundglow.records.field import Reason
from groundglow.records.finding import Support
from groundglow.records.flight import CameraSpec
from groundglow.records.frame import Pose
from groundglow.steps.measure.asking.knowns import Known, Made, Said, distance_said, reflected_said, weather_said
from groundglow.steps.measure.asking.reading import read_regions, rise_of
from groundglow.steps.measure.asking.regions import parse_regions
from groundglow.steps.measure.asking.sensor import sensor_of
from groundglow.steps.measure.asking.setting import Setting, Sight, scene_of
from groundglow.steps.measure.surfaces import GroundSurface

BAND = nominal_band("7.5-13.5")
TABLE = lookup(BAND)
SHAPE = (60, 80)
FAR, CAL = 20.0, 1.0
CAMERA = CameraSpec(pitch_um=12.0, focal_mm=13.0, f_number=1.0, netd_mk=50.0, drift_k=0.4, pattern_k=0.1)
SAID = Said(air_c=12.0, air_sd_k=1.0, humidity_pct=60.0, humidity_sd_pct=5.0, reflected_c=-20.0, reflected_sd_k=8.0,
            distance_m=FAR, distance_sd_m=2.0)  # fmt: skip
PAINT = Made("paint", Known("emissivity", 0.93, 0.015, "", "given", "given"), False, 0.0)
STEEL = Made("steel", Known("emissivity", 0.60, 0.03, "", "given", "given"), False, 0.0)


def seen(kelvin: np.ndarray | float, emissivity: float = 0.93, **other: float) -> np.ndarray:
    """Radiance at the sensor, by the model forwards."""
    given: dict[str, Any] = {
        "reflected_radiance": float(TABLE.radiance(other.pop("reflected", 253.15))),
        "distance": FAR,
        "air_temperature": 285.15,
        "relative_humidity": 0.6,
        **other,
    }
    glow = TABLE.temperature(given["reflected_radiance"])
    around = Situation(0.9, glow, given["air_temperature"], given["relative_humidity"], given["distance"])
    given["reflected_radiance"] = given["reflected_radiance"] * sky_factor(BAND, around)
    return at_sensor_radiance_through_air(TABLE, kelvin, emissivity=emissivity, **given)


def setting_of(radiance: np.ndarray, mask: np.ndarray | None = None, **other: Any) -> Setting:
    slope = np.asarray(TABLE.slope(TABLE.temperature(radiance)), np.float32)
    signal = Signal(
        radiance.astype(np.float32),
        np.zeros(radiance.shape, np.uint8) if mask is None else mask,
        "W m-2 sr-1",
        slope,
        {"calibration": np.float32(CAL) * slope},
    )
    known = distance_said(SAID)
    return replace(
        Setting(
            TABLE, signal, Sight(np.full(radiance.shape, FAR), known, 13000 / 12), sensor_of(CAMERA),
            weather_said(SAID), reflected_said(SAID), {"": PAINT}, CAMERA,
        ),
        **other,
    )  # fmt: skip


def read(setting: Setting, **regions: list[str]):
    kinds = [(kind, texts) for kind, texts in regions.items() if kind in ("point", "rectangle", "disc", "line")]
    return read_regions(setting, parse_regions(kinds), sizes=regions.get("sizes"), accuracy=regions.get("accuracy"))  # type: ignore[arg-type]


def test_a_region_reads_the_temperature_that_was_put_in() -> None:
    truth = np.full(SHAPE, 290.0)
    truth[10:30, 10:40] = np.linspace(300.0, 320.0, 30)
    setting = setting_of(seen(truth))
    hot, cool = read(setting, rectangle=["hot=10,10,40,30", "cool=50,30,70,50"])
    assert hot.mean == pytest.approx(310.0, abs=0.02)
    assert (hot.least, hot.greatest) == (pytest.approx(300.0, abs=0.02), pytest.approx(320.0, abs=0.02))
    assert cool.value.kelvin == pytest.approx(290.0, abs=0.02)
    assert cool.pixels == 400


def test_noise_shrinks_in_a_mean_but_pattern_and_shared_errors_do_not() -> None:
    setting = setting_of(seen(np.full(SHAPE, 300.0)))
    one, many = read(setting, point=["p=40,30"], rectangle=["r=0,0,60,60"])
    noise, pattern = 0.05, 0.1
    gain = float(many.value.doubt.frame["drift"]) / CAMERA.drift_k
    assert float(one.value.doubt.independent) == pytest.approx(abs(gain) * math.hypot(noise, pattern), rel=0.1)
    assert float(many.value.doubt.independent) == pytest.approx(abs(gain) * pattern, rel=0.02)
    assert float(many.value.doubt.flight["calibration"]) == pytest.approx(float(one.value.doubt.flight["calibration"]))


def test_in_a_rise_of_one_material_what_is_shared_cancels() -> None:
    truth = np.full(SHAPE, 290.0)
    truth[10:30, 10:40] = 295.0
    readings = read(setting_of(seen(truth)), rectangle=["hot=10,10,40,30", "cool=50,30,70,50"])
    rise = rise_of(readings, ("hot", "cool"))
    assert rise.value.kelvin == pytest.approx(5.0, abs=0.02)
    assert rise.value.standard_uncertainty < 0.25 * readings[0].value.standard_uncertainty
    assert {"calibration", "drift"} <= set(rise.cancelled)


def test_in_a_rise_of_two_materials_emissivity_does_not_cancel() -> None:
    radiance = seen(np.full(SHAPE, 300.0))
    radiance[:, 40:] = seen(300.0, 0.60)
    setting = setting_of(radiance, made={"": PAINT, "steel": STEEL})
    readings = read(setting, rectangle=["steel=45,5,75,55", "paint=5,5,35,55"])
    rise = rise_of(readings, ("steel", "paint"))
    assert rise.value.kelvin == pytest.approx(0.0, abs=0.02)
    apart = abs(float(rise.value.doubt.flight["emissivity: steel"]))
    assert apart == pytest.approx(abs(float(readings[0].value.doubt.flight["emissivity: steel"])))
    assert apart > 1.0


@pytest.mark.parametrize(
    ("reason", "words"), [(Reason.SATURATED, "saturated"), (Reason.OUT_OF_RANGE, "outside the calibrated range")]
)
def test_a_spoilt_pixel_leaves_no_temperature_and_says_why(reason: Reason, words: str) -> None:
    mask = np.zeros(SHAPE, np.uint8)
    mask[12, 12] = reason
    (spoilt, fine) = read(setting_of(seen(np.full(SHAPE, 300.0)), mask), rectangle=["a=10,10,20,20", "b=30,30,45,45"])
    assert spoilt.value is None
    assert spoilt.support is Support.NOT_SUPPORTED
    assert words in spoilt.reason
    assert fine.value is not None
    assert rise_of((spoilt, fine), ("a", "b")).value is None


def test_bad_pixels_are_left_out_and_counted() -> None:
    mask = np.zeros(SHAPE, np.uint8)
    mask[12, 12] = Reason.BAD_PIXEL
    (found,) = read(setting_of(seen(np.full(SHAPE, 300.0)), mask), rectangle=["a=10,10,22,22"])
    assert (found.pixels, found.left_out) == (143, 1)
    assert found.value.kelvin == pytest.approx(300.0, abs=0.02)


def test_less_radiance_than_is_mirrored_leaves_no_temperature() -> None:
    radiance = seen(np.full(SHAPE, 300.0))
    radiance[5, 5] = 0.5
    (found,) = read(setting_of(radiance), point=["p=5,5"])
    assert found.value is None
    assert "less radiance" in found.reason


def test_counts_without_calibration_have_a_mean_and_no_temperature() -> None:
    counts = np.full(SHAPE, 7000.0, np.float32)
    counts[:, 40:] = 7100.0
    signal = Signal(counts, np.zeros(SHAPE, np.uint8), "counts")
    setting = replace(setting_of(seen(np.full(SHAPE, 300.0))), signal=signal)
    readings = read(setting, rectangle=["a=45,5,75,55", "b=5,5,35,55"])
    assert readings[0].value is None
    assert (readings[0].unit, readings[0].mean) == ("counts", 7100.0)
    rise = rise_of(readings, ("a", "b"))
    assert (rise.value, rise.counts) == (None, 100.0)
    assert "calibration" in rise.reason


def test_delivered_temperatures_are_taken_as_delivered_and_not_corrected_again() -> None:
    kelvin = np.full(SHAPE, 305.0)
    setting = setting_of(np.asarray(TABLE.radiance(kelvin)))
    setting = replace(setting, signal=replace(setting.signal, corrected=True))
    (found,) = read(setting, rectangle=["a=10,10,30,30"])
    assert found.value.kelvin == pytest.approx(305.0, abs=1e-3)
    assert found.scene is None


@pytest.mark.parametrize(
    ("size", "accuracy", "view", "support"),
    [
        (None, None, 0.0, Support.DETECTED_ONLY),
        (math.inf, None, 0.0, Support.SUPPORTED),
        (math.inf, 0.5, 0.0, Support.NOT_SUPPORTED),
        (math.inf, 10.0, 0.0, Support.SUPPORTED),
        (0.10, None, 0.0, Support.CORRECTED),
        (0.03, None, 0.0, Support.DETECTED_ONLY),
        (math.inf, None, 70.0, Support.NOT_SUPPORTED),
    ],
)
def test_support_follows_size_accuracy_and_view(
    size: float | None, accuracy: float | None, view: float, support: Support
) -> None:
    down = rotation_from_yaw_pitch_roll(0.0, np.deg2rad(view - 90.0), 0.0)
    pose = Pose(np.array([0.0, 0.0, FAR]), down, np.zeros(3), np.zeros(3))
    setting = setting_of(seen(np.full(SHAPE, 300.0)))
    setting = replace(setting, sight=replace(setting.sight, pose=pose))
    sizes = {} if size is None else {"": size}
    regions = parse_regions([("disc", ["spot=40,30,1.5"])])
    (found,) = read_regions(setting, regions, sizes=sizes, accuracy=accuracy)
    assert found.support is support
    assert found.reason
    assert found.value is not None


def small_target(across: float, phase: tuple[float, float], hot: float, cool: float) -> np.ndarray:
    """Radiance of a frame with a blurred disc near its middle, sampled at any phase."""
    spread = point_spread(12e-6, 1.0)
    picture, place = blurred_target(across, across, spread)
    step = place[1] - place[0]
    columns, rows = (np.arange(n) - n // 2 - p for n, p in zip((SHAPE[1], SHAPE[0]), phase, strict=True))
    nearest = [np.clip(np.rint((v - place[0]) / step).astype(int), 0, len(place) - 1) for v in (columns, rows)]
    share = picture[np.ix_(nearest[1], nearest[0])]
    share[np.abs(rows) > 28] = 0.0
    return np.asarray(seen(cool) + share * (seen(hot) - seen(cool)))


@pytest.mark.parametrize("across", [4.0, 6.5, 9.0])
@pytest.mark.parametrize("phase", [(0.0, 0.0), (0.4, 0.25), (0.5, 0.5)])
def test_a_small_target_of_stated_size_gets_its_temperature_back(across: float, phase: tuple[float, float]) -> None:
    setting = setting_of(small_target(across, phase, 340.0, 290.0))
    size = across * FAR * 12e-6 / 13e-3
    regions = parse_regions([("disc", [f"spot={SHAPE[1] // 2},{SHAPE[0] // 2},1.2"])])
    (found,) = read_regions(setting, regions, sizes={"spot": size})
    made = found.corrected
    assert made is not None
    assert made.across == pytest.approx(across)
    own = math.hypot(made.factor.independent, made.factor.optics) / made.factor.value
    assert made.value.kelvin == pytest.approx(340.0, abs=2.5 * own * 50.0 + 0.3)
    assert abs(made.value.kelvin - 340.0) < abs(found.mean - 340.0)
    assert made.bias < 0
    assert made.value.standard_uncertainty > found.value.standard_uncertainty


def test_a_region_wider_than_its_target_is_not_corrected() -> None:
    setting = setting_of(small_target(5.0, (0.0, 0.0), 340.0, 290.0))
    regions = parse_regions([("disc", ["spot=40,30,8"])])
    (found,) = read_regions(setting, regions, sizes={"": 5.0 * FAR * 12e-6 / 13e-3})
    assert found.corrected is None
    assert found.support is Support.NOT_SUPPORTED
    assert "choose a smaller one" in found.reason


def test_a_size_without_a_camera_is_refused_with_what_to_say() -> None:
    setting = setting_of(seen(np.full(SHAPE, 300.0)))
    bare = replace(setting, camera=CameraSpec(), sight=replace(setting.sight, focal_px=0.0))
    with pytest.raises(InputError, match="focal"):
        read_regions(bare, parse_regions([("point", ["5,5"])]), sizes={"": 0.1})


def test_a_line_gives_each_pixel_with_its_own_interval_in_order() -> None:
    truth = np.tile(np.linspace(290.0, 310.0, SHAPE[1]), (SHAPE[0], 1))
    mask = np.zeros(SHAPE, np.uint8)
    (found,) = read(setting_of(seen(truth), mask), line=["l=10,30:70,30"])
    profile = found.profile
    assert profile.column.tolist() == list(range(10, 71))
    np.testing.assert_allclose(profile.value, truth[30, 10:71], atol=0.02)
    assert (profile.low < profile.value).all()
    assert (profile.high > profile.value).all()


def test_zones_of_the_brief_give_a_region_its_material_and_share_its_error() -> None:
    surfaces = (
        GroundSurface("gravel", None, 0.95, 0.02, False),
        GroundSurface("bitumen", None, 0.91, 0.01, False, assumed=False),
    )
    shares = np.zeros((2, *SHAPE), np.float32)
    shares[0, :, :40], shares[1, :, 40:] = 1.0, 1.0
    setting = setting_of(seen(np.full(SHAPE, 300.0)), made={}, surfaces=surfaces, shares=shares)
    left, both = (scene_of(setting, r) for r in parse_regions([("rectangle", ["0,0,40,60", "20,0,60,60"])]))
    assert (left.made.name, left.made.emissivity.value) == ("gravel", pytest.approx(0.95))
    assert both.made.emissivity.value == pytest.approx(0.93)
    assert both.made.shared == pytest.approx({"": 0.02, "gravel": 0.01, "bitumen": 0.005})
    assert left.made.shared == pytest.approx({"gravel": 0.02})


def test_an_unknown_label_in_a_rise_is_refused_with_those_there_are() -> None:
    readings = read(setting_of(seen(np.full(SHAPE, 300.0))), point=["a=5,5", "b=6,6"])
    with pytest.raises(InputError, match="there are a, b"):
        rise_of(readings, ("a", "c"))


@pytest.mark.accept
def test_intervals_of_regions_and_rises_miss_one_in_twenty() -> None:
    """500 seeds, one frame each: every input is off by its stated doubt, two regions of one material are read."""
    cases, missed, missed_rise = 500, 0, 0
    for seed in range(cases):
        rng = np.random.default_rng(seed)

        def off(spread: float, rng: np.random.Generator = rng) -> float:
            return float(spread * rng.standard_normal())

        truth = np.full(SHAPE, rng.uniform(280.0, 310.0))
        truth[:, 40:] += rng.uniform(2.0, 15.0)
        band = moved_band(BAND, short_edge=off(0.25e-6), long_edge=off(0.25e-6), tilt=off(0.10))
        own = lookup(band)
        radiance = at_sensor_radiance_through_air(
            own, truth, emissivity=min(0.93 + off(0.015), 1.0),
            reflected_radiance=float(own.radiance(253.15 + off(8.0))), distance=max(FAR + off(2.0), 0.1),
            air_temperature=285.15 + off(1.0), relative_humidity=min(max(0.6 + off(0.05), 0.0), 1.0),
        )  # fmt: skip
        shown = np.asarray(own.temperature(radiance)) + off(CAL) + off(0.4) + 0.05 * rng.standard_normal(SHAPE)
        shown[:, :40] += off(0.1)
        shown[:, 40:] += off(0.1)
        readings = read(setting_of(np.asarray(TABLE.radiance(shown))), rectangle=["a=45,5,75,55", "b=5,5,35,55"])
        value, rise = readings[0].value, rise_of(readings, ("a", "b")).value
        missed += not value.low <= truth[0, 60] <= value.high
        missed_rise += not rise.low <= truth[0, 60] - truth[0, 20] <= rise.high
    low, high = binom.ppf([0.005, 0.995], cases, 0.05)
    assert low <= missed <= high
    assert low <= missed_rise <= high
