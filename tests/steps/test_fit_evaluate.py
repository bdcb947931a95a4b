"""Arrays and kernels give what the plain loop over the model's functions gives, and move as physics says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.steps.fit_reference import plain_cell, plain_half_width

from groundglow.kit.fleet import catalogue
from groundglow.kit.targets import target
from groundglow.model.seeing import JOHNSON_CYCLES, cycles_for_probability
from groundglow.records.fit import Ask, Sky, Warmth, Work
from groundglow.records.kit import Combination
from groundglow.steps.fit.evaluate import evaluate

SKY = Sky(lowest=280.0, highest=292.0)
KITS = tuple(catalogue().combinations())
PERSON = Ask(
    "person", target("person-lying"), "recognise", 0.9, None, 60.0, 5.0, 120.0, Work("area", "", area=2e4), SKY,
    lon_deg=11.0, lat_deg=48.0, day=1760000000.0,
)  # fmt: skip
CLAMP = replace(
    PERSON, name="clamp", target=target("clamp"), task="measure", accuracy=5.0, distance=20.0, view="side", of="rise",
    work=Work("point", ""),
)  # fmt: skip


def one(camera: str, lens: str, aircraft: str | None = None) -> Combination:
    fleet = catalogue()
    made = fleet.cameras[camera], fleet.lenses[lens], fleet.aircraft[aircraft] if aircraft else None
    return Combination(*made)


def sampled() -> list[tuple[int, int]]:
    """Combinations and hours, spread over all."""
    rng = np.random.default_rng(3)
    return [(int(i), int(h)) for i, h in zip(rng.integers(0, len(KITS), 40), rng.integers(0, 24, 40), strict=True)]


def test_what_is_seen_is_what_the_plain_loop_sees() -> None:
    of = evaluate(PERSON, KITS)
    for i, hour in sampled():
        reflected = float(of.seen[0].reflected[hour])
        plain = plain_cell(PERSON, KITS[i], of.scene, reflected, hour=hour, distance=60.0)
        assert of.cycles[i, hour] == pytest.approx(plain.cycles, rel=4e-3)
        assert of.contrast[i, hour] == pytest.approx(plain.contrast, rel=1e-3)
        assert of.probability("recognise")[i, hour] == pytest.approx(plain.probability, abs=6e-3)


@pytest.mark.parametrize("of_what", ["rise", "temperature"])
def test_how_surely_it_is_measured_is_what_the_plain_loop_finds(of_what: str) -> None:
    ask = replace(CLAMP, of=of_what)
    of = evaluate(ask, KITS)
    for i, hour in sampled()[:12]:
        if KITS[i].camera.accuracy is None:
            assert np.isnan(of.half_width[i, hour])
            continue
        reflected = float(of.seen[0].reflected[hour])
        plain = plain_half_width(ask, KITS[i], of.scene, reflected, hour=hour, distance=20.0)
        assert of.half_width[i, hour] == pytest.approx(plain, rel=0.03)


@pytest.mark.parametrize("distance", [30.0, 45.0, 60.0])
def test_a_fast_wing_with_a_long_lens_low_down_smears_as_the_plain_loop_says(distance: float) -> None:
    """9 to 18 pixels of motion in one time constant."""
    kit = one("demo-640-field", "l640-45", "demo-lift-wing")
    ask = replace(PERSON, distance=distance)
    of = evaluate(ask, [kit])
    assert of.lag[0] > 8.0
    plain = plain_cell(ask, kit, of.scene, float(of.seen[0].reflected[2]), hour=2, distance=distance)
    assert of.cycles[0, 2] == pytest.approx(plain.cycles, rel=4e-3)


def test_the_largest_distance_is_where_the_task_just_keeps_its_probability() -> None:
    kit = one("demo-640", "l640-13")
    ask = replace(PERSON, work=Work("point", ""), distance=None)
    reach = evaluate(ask, [kit]).reach[0]
    hour = evaluate(ask, [kit]).hour
    for task, far in zip(("detect", "recognise", "identify"), reach, strict=True):
        at = evaluate(replace(ask, task=task, distance=float(far), highest=5000.0), [kit])
        assert at.probability(task)[0, hour] == pytest.approx(0.9, abs=2e-3)


def test_without_blur_and_noise_the_reach_is_half_a_cycle_a_pixel() -> None:
    """Johnson's line pairs on a target at two pixels each: size / (2 IFOV N)."""
    kit = one("demo-640", "l640-13")
    quiet = replace(kit.camera, noise=1e-9, pattern=0.0)
    warm = replace(target("person-lying"), clutter=1e-6)
    ask = replace(PERSON, target=warm, distance=None, work=Work("point", ""))
    reach = evaluate(ask, [Combination(quiet, kit.lens)]).reach[0]
    size = (1.75 * 0.5) ** 0.5
    for task, far in zip(("detect", "recognise", "identify"), reach, strict=True):
        cycles = float(cycles_for_probability(0.9, JOHNSON_CYCLES[task]))
        assert far == pytest.approx(size / (2 * kit.ifov * cycles), rel=1e-4)


def test_a_longer_lens_reaches_farther_and_sees_less_ground() -> None:
    lenses = ("l640-8", "l640-13", "l640-22", "l640-45")
    of = evaluate(PERSON, [one("demo-640-open", lens) for lens in lenses])
    assert (np.diff(of.reach[:, 1]) > 0).all()
    assert (np.diff(of.pixels[1]) > 0).all()


def test_speed_costs_detail_only_where_the_detector_is_slow() -> None:
    kit = one("demo-640", "l640-13", "demo-quad-small")
    faint = replace(PERSON, target=replace(PERSON.target, warmth=Warmth(rise=0.5), background="", clutter=0.01))
    slow, fast = (evaluate(replace(faint, speed=v), [kit]) for v in (1.0, 12.0))
    assert fast.cycles[0, 22] < 0.9 * slow.cycles[0, 22]
    quick = replace(kit.camera.detector, time_constant=1e-5)
    instant = Combination(replace(kit.camera, detector=quick), kit.lens, kit.aircraft)
    still, moving = (evaluate(replace(faint, speed=v), [instant]).cycles[0, 22] for v in (1.0, 12.0))
    assert moving == pytest.approx(still, rel=1e-3)


def test_a_cell_takes_its_rise_from_the_sun_and_works_only_by_day() -> None:
    cell = target("cell")
    ask = replace(PERSON, target=cell, task="detect", distance=20.0)
    works = evaluate(ask, [one("demo-640-field", "l640-22")]).works[0]
    assert works[12]
    assert not works[[0, 1, 2, 3, 22, 23]].any()


def test_a_person_on_sunlit_grass_is_harder_to_see_than_at_night() -> None:
    of = evaluate(PERSON, [one("demo-640", "l640-13")])
    assert of.contrast[0, 23] > of.contrast[0, 13]


def test_humid_air_takes_contrast_over_a_long_way() -> None:
    warm = replace(PERSON.target, warmth=Warmth(rise=5.0), background="")
    far = replace(PERSON, target=warm, distance=1000.0, highest=5000.0, lon_deg=None, lat_deg=None, day=None)
    dry, humid = (
        evaluate(replace(far, sky=replace(SKY, highest=305.0, relative_humidity=h)), [one("demo-960-far", "l960-38")])
        for h in (0.2, 0.9)
    )
    assert humid.contrast[0, 0] < 0.8 * dry.contrast[0, 0]


def test_an_offset_of_the_camera_cancels_in_a_rise_and_not_in_a_temperature() -> None:
    """The house rule on shared doubt: the same camera with ten times the limits of error."""
    kit = one("demo-640-field", "l640-22")
    worse = Combination(replace(kit.camera, accuracy=20.0), kit.lens)
    rise = evaluate(CLAMP, [kit, worse]).half_width[:, 12]
    heat = evaluate(replace(CLAMP, of="temperature"), [kit, worse]).half_width[:, 12]
    assert rise[1] < 1.2 * rise[0]
    assert heat[1] > 2.0 * heat[0]


def test_the_same_question_asked_twice_gives_the_same_numbers() -> None:
    first, second = evaluate(CLAMP, KITS), evaluate(CLAMP, KITS)
    assert np.array_equal(first.cycles, second.cycles)
    assert np.array_equal(first.half_width, second.half_width, equal_nan=True)
