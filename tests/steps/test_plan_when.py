"""Contrast through a day, windows by rules, levels to set, and what the card says of them."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image
from scipy.integrate import quad

from groundglow.errors import InputError
from groundglow.kit.figures import Faults
from groundglow.model.ground import grounds
from groundglow.steps.plan.asking import window_answer, window_ask
from groundglow.steps.plan.card import card_html, card_of, card_pdf
from groundglow.steps.plan.charts import day_chart, open_span
from groundglow.steps.plan.levels import crossing, levels_at, shares_above
from groundglow.steps.plan.make import plan_of
from groundglow.steps.plan.map import plan_map
from groundglow.steps.plan.pairs import _read, own_pairs, pair, pairs, with_rules
from groundglow.steps.plan.sides import over_pipe
from groundglow.steps.plan.when import sign_changes
from groundglow.steps.plan.windows import windows_of

from .plan_cases import YARD, ask, kit

DAY = {"place": (47.0, 8.0), "date": "2026-05-26", "air_lowest": "9 C", "air_highest": "22 C", "wind": "2 m/s",
       "cloud": "10 %"}  # fmt: skip


@pytest.fixture(scope="module")
def roof():
    return window_answer(window_ask({"pair": "wet/dry roof", **DAY}))


def test_every_figure_of_every_pair_has_a_source_and_every_body_is_known():
    for of in pairs().values():
        for figure in (*of.figures.values(), *of.rules.values(), *of.published.values()):
            assert len(figure.source) > 10
        assert of.background in grounds()
        assert of.rules
        assert of.caution


def test_the_pairs_that_were_asked_for_are_there():
    names = ("person/grass", "wet/dry roof", "faulty/healthy module", "hot clamp/conductor", "leak/pond",
             "cattle/pasture", "buried pipe/soil")  # fmt: skip
    assert len({pair(name).id for name in names}) == 7


def test_a_faulty_pair_file_is_told_line_by_line(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(
        '[pair.x]\nname = "x"\nwarmth = "living"\nmaterial = "fur"\n'
        'background = "gras"\nbackground_material = "grass"\n'
        '[pair.x.figures]\nshare = { value = 0.3, unit = "K", source = "mine" }\n'
    )
    with pytest.raises(InputError, match="unit is 'K'"):
        own_pairs(path)
    with pytest.raises(InputError, match=r"core_c is missing(.|\n)*gras"):
        _read({"pair": {"x": {"name": "x", "warmth": "living", "material": "fur", "background": "gras",
                              "background_material": "grass"}}}, "mine")  # fmt: skip
    assert Faults("x").lines == []


def test_rise_over_a_pipe_is_the_cosine_transform_of_a_line_source():
    """q / (pi k) times the integral of exp(-u d) / (u + h / k): conduction under a surface that gives heat off."""
    heat, depth, k = 60.0, 0.8, 0.9
    for h in (5.0, 15.0, 40.0):
        integral, _ = quad(lambda u, h=h: np.exp(-u * depth) / (u + h / k), 0.0, np.inf)
        assert over_pipe(heat, depth, k, np.array(h)) == pytest.approx(heat / (np.pi * k) * integral, rel=1e-6)
    # All heat of the line leaves through the surface: for a strong exchange q / (pi h d) right above it.
    assert over_pipe(heat, depth, k, np.array(4000.0)) == pytest.approx(heat / (np.pi * 4000.0 * depth), rel=1e-3)


def test_wet_insulation_is_colder_by_day_and_warmer_in_the_evening(roof):
    """The trade's own rule: wet areas store the day's heat. Common practice, no source; ASTM C1153 flies by night."""
    hour = np.mod((roof.day.time + roof.ask.offset) / 3600.0, 24.0)
    assert roof.day.contrast[(hour > 9) & (hour < 12)].max() < -1
    assert roof.day.contrast[(hour > 20.5) & (hour < 22)].min() > 1
    assert [c.sign for c in roof.crossovers] == [-1, 1]


def test_a_module_without_load_is_warmer_in_proportion_to_the_sun():
    found = window_answer(window_ask({"pair": "module", **DAY, "tilt": 30, "azimuth": 180})).day
    noon, night = int(np.argmax(found.irradiance)), int(np.argmin(found.sun))
    assert 2 < found.contrast[noon] < 8
    assert abs(found.contrast[night]) < 0.05
    assert not window_answer(window_ask({"pair": "module", **DAY, "cloud": "90 %"})).windows.windows


def test_half_the_load_gives_a_quarter_of_the_rise_of_a_clamp():
    full, half = (window_answer(window_ask({"pair": "clamp", **DAY, "load": share})).day for share in ("100 %", "50 %"))
    ratio = (half.target - half.background).mean() / (full.target - full.background).mean()
    assert ratio == pytest.approx(0.25, abs=0.02)  # radiation bends it a little
    low = window_answer(window_ask({"pair": "clamp", **DAY, "load": "30 %"}))
    assert not low.windows.windows
    assert all(any("load 0.30; at least 0.4" in r for r in h.reasons) for h in low.windows.hours)


def test_windows_keep_the_rules_and_every_closed_hour_has_its_reason(roof):
    found = roof.windows
    assert found.windows
    for w in found.windows:
        inside = (roof.day.time >= w.start) & (roof.day.time <= w.end)
        assert np.degrees(roof.day.sun[inside]).max() <= 0.0
        assert roof.day.after_sunset[inside].min() >= 3600.0
        assert roof.day.dew_margin[inside].min() >= 0.5
        assert w.end - w.start >= found.flight
        assert w.start <= w.best <= w.end - found.flight + 1.0
    assert all(h.reasons for h in found.hours if h.open_share < 1.0)
    assert all(not h.reasons for h in found.hours if h.open_share == 1.0)
    scores = [w.contrast_to_noise for w in found.windows]
    assert scores == sorted(scores, reverse=True)


def test_a_window_shorter_than_the_flight_is_closed_and_says_so(roof):
    none = windows_of(roof.day, flight=9 * 3600.0)
    assert not none.windows
    assert any("less than a flight" in reason for h in none.hours for reason in h.reasons)


def test_a_window_through_the_end_of_a_drawn_day_is_one():
    """The day ends as it begins; cut at midnight, two halves of a flight would be no flight."""
    polar = {"place": (78.2, 15.6), "date": "2026-06-21", "air_lowest": "2 C", "air_highest": "6 C", "flight": "60 min",
             "rules": {"most_sun_deg": 12.0}}  # fmt: skip
    found = window_answer(window_ask({"pair": "person", **polar}))
    (window,) = found.windows.windows
    last = float(found.day.time[-1])
    assert window.start < last < window.end
    assert window.end - window.start >= found.windows.flight
    assert window.start <= window.best <= window.end - found.windows.flight + 1.0
    assert found.day.time[0] <= found.levels.time <= last
    assert open_span(window, found.day, found.ask.offset).endswith("through the night")
    assert day_chart(found)


@pytest.mark.parametrize(
    ("words", "told"),
    [({"hour": 25}, "hour is 25"), ({"utc_offset": 30}, "utc_offset is 30"), ({"tilt": 200}, "tilt is 200"),
     ({"distance": "0 m"}, "distance is 0 m"), ({"netd": "0 K"}, "netd is 0 K"), ({"flight": "0 min"}, "flight is 0")],
)  # fmt: skip
def test_angles_hours_and_lengths_that_mean_nothing_are_refused(words, told):
    with pytest.raises(InputError, match=told):
        window_ask({"pair": "person", **DAY, **words})


def test_no_flight_by_night_leaves_day_and_civil_twilight():
    found = window_answer(window_ask({"pair": "person", **DAY, "no_night": True}))
    for w in found.windows.windows:
        inside = (found.day.time >= w.start) & (found.day.time <= w.end)
        assert np.degrees(found.day.sun[inside]).min() >= -6.0
    assert any("sun at -" in r for h in found.windows.hours for r in h.reasons)


def test_a_forecast_is_less_sure_than_what_was_measured(roof):
    calm = window_ask({"pair": "roof", **DAY})
    sure = window_answer(replace(calm, setting=replace(calm.setting, doubt=replace(calm.setting.doubt, wind=0.0))))
    assert roof.day.contrast_sd.max() > sure.day.contrast_sd.max()


def test_crossing_level_is_where_both_distributions_are_equally_likely():
    rng = np.random.default_rng(3)
    for rise, spread, clutter in ((3.0, 1.0, 0.4), (-2.0, 0.5, 0.5), (6.0, 2.5, 0.3)):
        level = crossing(rise, spread, clutter)
        target, ground = rng.normal(rise, spread, 400_000), rng.normal(0.0, clutter, 400_000)
        side = np.sign(rise)
        shares = shares_above(level, rise, spread, clutter)
        assert np.mean(side * target > side * level) == pytest.approx(shares.detected, abs=0.003)
        assert np.mean(side * ground > side * level) == pytest.approx(shares.false_cues, abs=0.003)
        # No other level between them errs less in all, which is what equally likely means.
        errors = [np.mean(side * target < side * v) + np.mean(side * ground > side * v)
                  for v in np.linspace(0.05, 0.95, 19) * rise]  # fmt: skip
        here = np.mean(side * target < side * level) + np.mean(side * ground > side * level)
        assert here <= min(errors) + 0.003


def test_published_and_own_levels_stand_beside_the_expected_one():
    found = window_answer(window_ask({"pair": "clamp", **DAY, "levels": {"mine": "8 K"}})).levels
    assert {v.name: v.rise for v in found.others}["mine"] == 8.0
    assert any("NETA" in v.source for v in found.others)
    assert found.expected.relative.detected >= found.expected.absolute.detected


def test_levels_of_a_colder_target_lie_under_the_surroundings(roof):
    cold = levels_at(roof.day, float(roof.day.time[int(np.argmin(roof.day.contrast))]), {"mine": -1.0})
    assert not cold.hot
    assert cold.crossing < 0
    assert max(cold.band) == pytest.approx(cold.crossing)


def test_rules_are_known_by_name_and_a_missing_place_or_day_is_said():
    with pytest.raises(InputError, match="No rule named"):
        with_rules(pair("clamp"), {"most_fog": 1.0}, "mine")
    with pytest.raises(InputError, match="place is not known"):
        window_ask({"pair": "clamp", "date": "2026-05-26"})
    with pytest.raises(InputError, match="day is not known"):
        window_ask({"pair": "clamp", "place": (47.0, 8.0)})


def test_sign_changes_of_a_sine_are_at_its_zeros():
    time = np.linspace(0.0, 4 * np.pi, 2000)
    when = [t for t, _ in sign_changes(time, np.sin(time + 0.3))]
    np.testing.assert_allclose(when, [np.pi * k - 0.3 for k in (1, 2, 3, 4)], atol=1e-4)


@pytest.fixture(scope="module")
def plan():
    return plan_of(ask(no_fly=YARD))


def test_card_is_one_page_with_the_same_bytes_again_and_opens_without_a_script(plan, roof):
    import pypdfium2

    card = card_of(plan, kit(), roof, site="a hall")
    pdf = card_pdf(card)
    assert pdf == card_pdf(card_of(plan, kit(), roof, site="a hall"))
    with pypdfium2.PdfDocument(pdf) as document:
        assert len(document) == 1
        text = " ".join(document[0].get_textpage().get_text_bounded().split())
    page = card_html(card)
    for words in (f"{plan.height:.0f} m", "10 to 15 min", "shutter before each line", "isotherm",
                  "civil twilight until",
                  "emissivity", "Local aviation rules"):  # fmt: skip
        assert words in text
        assert words in page
    assert "<script" not in page
    assert "http" not in page


def test_card_of_a_plan_without_an_hour_leaves_room_and_stays_one_page(plan):
    import pypdfium2

    many = replace(plan, sorties=plan.sorties * 12, unmet=("too short a battery",))
    with pypdfium2.PdfDocument(card_pdf(card_of(many, kit()))) as document:
        assert len(document) == 1
        assert "too short a battery" in document[0].get_textpage().get_text_bounded()


def test_pictures_are_the_same_again_and_show_windows_and_lines(plan, roof):
    chart = day_chart(roof)
    assert chart == day_chart(roof)
    colours = np.unique(np.asarray(Image.open(io.BytesIO(chart))).reshape(-1, 3), axis=0)
    assert (colours == (221, 233, 214)).all(axis=1).any()  # a window is shaded
    shown = plan_map(plan)
    assert shown == plan_map(plan)
    dots = np.asarray(Image.open(io.BytesIO(shown))).reshape(-1, 3)
    for colour in ((46, 74, 92), (163, 38, 31), (180, 204, 210)):  # a line, a no-fly area, ground seen often
        assert (dots == colour).all(axis=1).sum() > 50
