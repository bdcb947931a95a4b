"""Simulated views: what is seen is what the model says of air, blur, noise and speed, on one grey scale for all."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from groundglow.errors import InputError, RangeError
from groundglow.kit.bodies import Body, Part, bodies, body_of
from groundglow.kit.fleet import catalogue
from groundglow.kit.targets import targets
from groundglow.model.air import air_path
from groundglow.model.band import lookup, nominal_band
from groundglow.model.sensing import Surroundings, at_sensor_radiance
from groundglow.model.targetsize import target_response
from groundglow.paper.measures import Measures
from groundglow.records.fit import Target, Warmth
from groundglow.records.kit import Combination
from groundglow.steps.fit.silhouette import Sight, silhouette
from groundglow.steps.fit.strip import frames_in_view, passage_of, rows_of, strip_picture
from groundglow.steps.fit.tiles import common_scale, shown_across, tiles, views_picture
from groundglow.steps.fit.views import Conditions, Look, Window, look_spread, simulated_view, window_of

BAND = nominal_band("7.5-13.5")
DOWN = Sight(np.pi / 2)
CAMERA = catalogue().cameras["demo-640"]
KIT = Combination(CAMERA, CAMERA.lenses[0])
QUIET = replace(KIT, camera=replace(CAMERA, noise=1e-9, pattern=0.0))
PATCH = Target("a-patch", "a patch", 0.4, 0.4, 0.0, "soil", 0.95, 0.02, Warmth(rise=10.0), "grass", 0.0)


def conditions(target=PATCH, rise=10.0):
    return Conditions(target, 285.0 + rise, 285.0, 0.95, 250.0, 285.0, 0.6)


def view(look, window, of=None, seed=0):
    return simulated_view(of or conditions(), look, window, band=BAND, seed=seed)


def shown(kelvin, distance):
    """Apparent temperature of a large surface through that much air, by the model's own parts."""
    table = lookup(BAND)
    air = air_path(BAND, distance, air_temperature=285.0, relative_humidity=0.6, source_temperature=295.0)
    around = Surroundings(table.radiance(250.0), air.transmittance, air.radiance)
    return float(table.temperature(at_sensor_radiance(table, kelvin, 0.95, around)))


# ---- bodies ----------------------------------------------------------------------------------------


def test_every_ready_made_target_has_a_body_that_fills_its_sides():
    assert set(bodies()) == set(targets())
    for name, body in bodies().items():
        own = [part for part in body.parts if part.offset_k is None]
        for side in (0, 1):
            low = min(part.at[side] - 0.5 * part.size[side] for part in own)
            high = max(part.at[side] + 0.5 * part.size[side] for part in own)
            assert 0.85 <= high - low <= 2.1, (name, side)


def test_a_ball_is_a_disc_of_its_size_from_everywhere():
    ball = Target("ball", "a ball", 2.0, 2.0, 2.0, "x", 0.95, 0.02, Warmth(rise=1.0), "grass", 0.0)
    place = (np.arange(400) - 199.5) / 100
    for depression in (0.0, 0.7, np.pi / 2):
        seen = silhouette(ball, body_of("ball", flat=False), Sight(depression, 0.3), place[None, :], -place[:, None])
        assert seen.target.sum() / 1e4 == pytest.approx(np.pi, rel=0.01)


def test_a_flat_thing_is_foreshortened_by_the_sine_of_the_depression():
    place = (np.arange(400) - 199.5) / 400
    for depression in (np.pi / 2, np.pi / 6):
        seen = silhouette(PATCH, body_of("x", flat=True), Sight(depression), place[None, :], -place[:, None])
        assert seen.target.sum() / 400**2 == pytest.approx(0.16 * np.sin(depression), rel=0.02)


def test_the_nearer_part_hides_the_farther():
    parts = (Part(shape="block", at=(0, 0, 0.25), size=(1, 1, 0.5), warmth=0.2),
             Part(shape="block", at=(0, 0, 0.75), size=(1, 1, 0.5), warmth=0.9))  # fmt: skip
    box = replace(PATCH, height=0.4)
    seen = silhouette(box, Body(parts=parts), DOWN, np.zeros((1, 1)), np.zeros((1, 1)))
    assert seen.warmth.item() == 0.9


# ---- one view --------------------------------------------------------------------------------------


def test_ground_and_large_target_show_the_apparent_temperatures_of_the_model():
    found = view(Look(QUIET, 10.0, DOWN), Window(1.2, 1.2)).values
    assert np.median(found) == pytest.approx(shown(285.0, 10.0), abs=0.05)
    assert found[found.shape[0] // 2, found.shape[1] // 2] == pytest.approx(shown(295.0, 10.0), abs=0.25)


@pytest.mark.parametrize("pixels", [1.0, 2.0, 4.0])
def test_a_small_target_keeps_the_share_of_its_rise_that_its_size_allows(pixels):
    """Against the response of model/targetsize, averaged there over all ways to lay the pixel grid."""
    distance = 0.4 / (pixels * KIT.ifov)
    look = Look(QUIET, distance, DOWN)
    span = 0.4 / pixels
    peaks = []
    for right in np.arange(3) / 3:
        for up in np.arange(3) / 3:
            window = Window(31 * span, 31 * span, (right * span, up * span))
            peaks.append(view(look, window).values.max())
    rise = (np.mean(peaks) - shown(285.0, distance)) / (shown(295.0, distance) - shown(285.0, distance))
    share = target_response(pixels, pixels, look_spread(look), shape="rectangle").share
    assert rise == pytest.approx(share, abs=0.03)


def test_noise_and_pattern_have_the_stated_size_on_even_ground():
    camera = replace(CAMERA, noise=0.06, pattern=0.08)
    kit = replace(KIT, camera=camera)
    far = Window(12.0, 12.0, (50.0, 0.0))
    first, second = (view(Look(kit, 60.0, DOWN), far, seed=s).values for s in (1, 2))
    noisier = float(lookup(BAND).slope(300.0) / lookup(BAND).slope(285.0))
    assert np.std(first - second) / np.sqrt(2) == pytest.approx(0.06 * noisier, rel=0.05)
    assert np.std(0.5 * (first + second)) == pytest.approx(np.hypot(0.08, 0.06 / np.sqrt(2)) * noisier, rel=0.15)


def test_a_slower_lens_and_a_dim_one_are_noisier():
    """Power on a pixel goes with transmission over f-number squared."""
    kit = replace(KIT, camera=replace(CAMERA, pattern=0.0))
    dim = replace(kit, lens=replace(KIT.lens, f_number=KIT.lens.f_number * 1.4, transmission=0.7))
    window = Window(12.0, 12.0, (50.0, 0.0))
    plain, noisy = (np.std(view(Look(k, 60.0, DOWN), window).values) for k in (kit, dim))
    assert noisy / plain == pytest.approx(1.4**2 / 0.7 * KIT.lens.transmission, rel=0.02)


def test_speed_makes_the_target_trail_and_takes_rise_from_it():
    still, fast = (view(Look(QUIET, 60.0, DOWN, speed), Window(3.0, 3.0)).values for speed in (0.0, 15.0))
    assert fast.max() < still.max() - 0.5
    middle = still.shape[0] // 2
    ground = shown(285.0, 60.0)
    above, below = (float((fast[part] - ground).sum()) for part in (slice(0, middle - 3), slice(middle + 4, None)))
    assert below < 0.2 * abs(above) or above < 0.2 * abs(below)  # on one side only


def test_humid_air_takes_rise():
    dry = view(Look(QUIET, 100.0, DOWN), Window(3.0, 3.0)).values.max() - shown(285.0, 100.0)
    wet = replace(conditions(), air_temperature=303.0, relative_humidity=0.9)
    humid = view(Look(QUIET, 100.0, DOWN), Window(3.0, 3.0), wet).values
    assert np.ptp(humid) < 0.95 * dry


def test_same_seed_same_picture_and_the_ground_is_the_same_for_every_kit():
    rough = conditions(replace(PATCH, clutter=1.0))
    look, window = Look(QUIET, 20.0, DOWN), Window(2.0, 2.0)
    assert np.array_equal(view(look, window, rough).values, view(look, window, rough).values)
    other = replace(QUIET, lens=replace(KIT.lens, focal_length=KIT.lens.focal_length))
    near, far = (view(Look(other, d, DOWN), window, rough).values for d in (20.0, 40.0))
    halved = near[: 2 * (near.shape[0] // 2), : 2 * (near.shape[1] // 2)]
    halved = halved.reshape(halved.shape[0] // 2, 2, -1, 2).mean(axis=(1, 3))
    size = min(halved.shape[0], far.shape[0]), min(halved.shape[1], far.shape[1])
    like = np.corrcoef(halved[: size[0], : size[1]].ravel(), far[: size[0], : size[1]].ravel())[0, 1]
    assert like > 0.9


def test_a_window_without_size_is_refused():
    with pytest.raises(RangeError, match="window"):
        view(Look(KIT, 20.0, DOWN), Window(0.0, 1.0))


# ---- side by side ----------------------------------------------------------------------------------


def test_all_views_share_one_grey_scale():
    looks = [Look(KIT, d, DOWN, probability={"detect": 0.9}) for d in (20.0, 60.0)]
    made = tiles([conditions()] * 2, looks, Window(2.0, 1.5), [BAND] * 2)
    scale = common_scale([tile.view for tile in made])
    assert scale.low < shown(285.0, 20.0) < scale.high
    level = scale.levels(np.array([scale.low - 5, scale.low, scale.high, scale.high + 5]))
    assert level.tolist() == [0, 0, 255, 255]


def test_picture_has_a_tile_a_look_and_comes_out_the_same_again():
    looks = [Look(KIT, d, DOWN, 4.0, {"detect": 0.91, "recognise": 0.4}) for d in (20.0, 60.0)]
    made = tiles([conditions()] * 2, looks, Window(2.0, 1.5), [BAND] * 2)
    assert made[0].under[1] == "detect 91 %, recognise 40 %"
    assert "20 m" in made[0].under[0]
    first, second = (views_picture(made, title="a patch") for _ in range(2))
    assert first == second
    picture = Image.open(io.BytesIO(first))
    assert picture.width > 1.2 * picture.height


def test_views_speak_the_units_of_the_user():
    made = tiles([conditions()], [Look(KIT, 30.48, DOWN)], Window(2.0, 1.5), [BAND], Measures("ft"))
    assert "100 ft" in made[0].under[0]
    assert " in" in made[0].under[0]


@pytest.mark.parametrize("distance", [2.0, 20.0, 200.0])
def test_the_scale_bar_goes_by_what_the_view_shows(distance):
    """Close by only 480 pixels are drawn, far away the view is whole pixels: neither is the window asked for."""
    (made,) = tiles([conditions()], [Look(KIT, distance, DOWN)], Window(2.0, 1.5), [BAND])
    pixel = KIT.ifov * distance
    assert shown_across(made.view) == pytest.approx(min(max(round(2.0 / pixel), 1), 480) * pixel)


def test_window_holds_the_target_from_above_and_aside():
    for target in targets().values():
        for depression in (0.0, np.pi / 4, np.pi / 2):
            window = window_of(target, Sight(depression))
            assert window.across > 1.5 * target.length
            assert window.across == pytest.approx(4 / 3 * window.upright)


# ---- a strip of frames -----------------------------------------------------------------------------

FLIGHT = Look(KIT, 60.0, Sight(np.pi / 2), 12.0)


def test_faster_rate_gives_more_frames_in_the_same_time():
    passage = passage_of(FLIGHT, size=0.4, fastest=30.0)
    fast, slow = rows_of(conditions(), FLIGHT, passage, band=BAND)
    assert len(fast.times) == int(np.ceil(passage.seconds * 30 - 1e-9))
    assert slow.times == pytest.approx(np.arange(len(slow.times)) / 9)
    assert np.array_equal(fast.views[0].values, slow.views[0].values)  # one moment, one frame


def test_target_runs_down_by_speed_over_rate():
    still = replace(FLIGHT, combination=QUIET)
    passage = passage_of(still, size=0.4, fastest=30.0)
    fast, _ = rows_of(conditions(), still, passage, band=BAND)
    peaks = [np.unravel_index(v.values.argmax(), v.values.shape)[0] for v in fast.views[3:10]]
    assert np.diff(peaks).mean() == pytest.approx(12.0 / 30 / (KIT.ifov * 60), abs=0.3)


def test_flight_past_an_upright_thing_is_turned_to_run_down_too():
    past = replace(FLIGHT, sight=Sight(0.0), combination=QUIET)
    passage = passage_of(past, size=0.4, fastest=30.0)
    thing = conditions(replace(PATCH, height=0.4))
    fast, _ = rows_of(thing, past, passage, band=BAND)
    peaks = [np.unravel_index(v.values.argmax(), v.values.shape)[0] for v in fast.views[3:10]]
    assert (np.diff(peaks) > 0).all()


def test_frames_that_hold_the_target_are_the_side_of_the_picture_over_the_speed():
    """512 pixels of 12 um behind 13 mm at 60 m are 28.36 m: 2.363 s at 12 m/s, 70.9 frames at 30 Hz."""
    assert (CAMERA.detector.rows, KIT.ifov) == (512, pytest.approx(12 / 13e3))
    assert frames_in_view(FLIGHT, 30.0) == pytest.approx(70.9, abs=0.05)


def test_standing_still_has_no_strip():
    with pytest.raises(InputError, match="needs a speed"):
        passage_of(replace(FLIGHT, speed=0.0), size=0.4, fastest=30.0)


def test_strip_is_drawn_the_same_again():
    passage = passage_of(FLIGHT, size=0.4, fastest=30.0)
    rows = rows_of(conditions(), FLIGHT, passage, band=BAND)
    first, second = (strip_picture(rows, FLIGHT, passage, title="a patch") for _ in range(2))
    assert first == second
    assert Image.open(io.BytesIO(first)).width > 2000
