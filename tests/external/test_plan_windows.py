"""Crossovers and signs of contrast against an exact solution and a measured day; a search against random targets."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from groundglow.frames.weather import read_weather
from groundglow.model.ground import Exchange, Ground, Layer, Plane, Weather, forecast, skin_temperature
from groundglow.model.search import cumulative_probability, sweep_width
from groundglow.model.sighting import Sighting, task_probability
from groundglow.model.sun import Place
from groundglow.records.kit import Figure
from groundglow.steps.plan import sides
from groundglow.steps.plan.pairs import OPEN_GROUND, Pair, pair
from groundglow.steps.plan.sides import MEASURED, Setting
from groundglow.steps.plan.when import crossovers, expect, sign_changes

DAY = 86400.0
#: A thing as warm as the air over ground that nobody described.
AS_AIR = replace(
    pair("person"),
    background=OPEN_GROUND,
    figures={"core_c": Figure(30.0, "C", "of no weight"), "share": Figure(0.0, "", "as warm as the air")},
)
Finder = Callable[[str], Path]
Array = NDArray[np.float64]


def _half_space(name: str, conductivity: float, capacity: float, absorbed: float) -> Ground:
    """A body so deep that it is a half-space, which radiates nothing: its balance is linear."""
    exchange = Exchange(roughness=0.0, still=10.0, per_wind=0.0)
    return Ground(name, (Layer(3.0, conductivity, capacity),), 1.0 - absorbed, 0.0, exchange)


def _exact(time: np.ndarray, body: Ground, sun: float, air: float) -> np.ndarray:
    """Surface of a half-space under (sun / 2) (1 - cos wt) and exchange h: Carslaw & Jaeger, periodic surface flux.

    A flux of exp(iwt) passes the impedance h + sqrt(iw) e, with e the thermal inertia sqrt(k rho c).
    """
    w, layer, h = 2 * np.pi / DAY, body.layers[0], body.exchange.still
    inertia = np.sqrt(layer.conductivity * layer.heat_capacity)
    flux = 0.5 * sun * (1.0 - body.albedo)
    wave = flux * np.exp(1j * w * time) / (h + np.sqrt(1j * w) * inertia)
    return air + flux / h - wave.real


def test_crossovers_of_two_half_spaces_follow_the_exact_periodic_solution(monkeypatch: pytest.MonkeyPatch) -> None:
    place, air, sun = Place(0.0, 0.0), 285.0, 700.0
    time = 600.0 * np.arange(145)
    same = np.ones(time.shape)
    bodies = {
        "dry": _half_space("dry", 0.24, 1.28e6, 0.8),  # sandy soil, dry: de Vries 1963
        "wet": _half_space("wet", 2.5, 2.96e6, 0.8),  # saturated
    }
    # Sunshine is given as it is, so that the forcing is one sine and a constant.
    light = 0.5 * sun * (1 - np.cos(2 * np.pi * time / DAY))
    weather = Weather(time, {
        "air_temperature": air * same, "relative_humidity": 0.5 * same, "pressure": 101325.0 * same,
        "wind_speed": 2.0 * same, "global_horizontal": light, "direct_normal": 0.0 * same, "diffuse": light,
        "longwave_down": 300.0 * same, "cloud_fraction": 0.0 * same,
    })  # fmt: skip
    monkeypatch.setattr(sides, "_ground", lambda name, setting: bodies[name])
    of = replace(pair("pipe"), warmth="body", body="dry", background="wet", figures={})
    day = expect(of, Setting(weather, place, doubt=MEASURED))
    exact = _exact(time, bodies["dry"], sun, air) - _exact(time, bodies["wet"], sun, air)
    told, known = crossovers(day), sign_changes(time, exact)
    assert len(told) == len(known) == 2
    for ours, (when, sign) in zip(told, known, strict=True):
        assert abs(ours.time - when) < 60.0
        assert ours.sign == sign
    hourly = slice(None, -1, 6)
    assert (np.sign(day.contrast[hourly]) == np.sign(exact[hourly])).all()
    kinetic = day.target - day.background
    assert np.abs(kinetic - exact).max() < 0.02 * np.ptp(exact)


def _contrast(of: Pair, shared_data: Finder, warmer: float = 0.0) -> tuple[Array, Array, Array, Array]:
    """Time, our contrast, the measured one, and our doubt of it: half-hour means of each minute, K.

    ``warmer`` is added to the thing, K.
    """
    file = read_weather(shared_data("weather") / "alamosa_2016-01-01.dat")
    assert file.place is not None
    hidden = {n: s for n, s in file.weather.series.items() if n != "longwave_up"}
    day = expect(of, Setting(replace(file.weather, series=hidden), file.place, doubt=MEASURED))
    skin = skin_temperature(file.weather["longwave_up"], file.weather["longwave_down"])
    measured = day.target - np.interp(day.time, file.weather.time, skin)
    smooth = np.ones(31) / 31  # so that minutes of a passing gust are no crossovers
    series = (day.time, day.target - day.background + warmer, measured + warmer, day.contrast_sd)
    return tuple(np.convolve(v, smooth, mode="valid") for v in series)


def _late(time: Array, ours: Array, theirs: Array) -> float:
    """Seconds by which the worst crossing, ours or the measured one, misses its like; those near an end have none."""
    found, truth = sign_changes(time, ours), sign_changes(time, theirs)

    def missed(these: list[tuple[float, int]], those: list[tuple[float, int]]) -> list[float]:
        inside = [(t, s) for t, s in these if time[0] + 1800.0 < t < time[-1] - 1800.0]
        return [min((abs(t - other) for other, sign in those if sign == s), default=DAY) for t, s in inside]

    each = missed(found, truth) + missed(truth, found)
    assert len(each) >= 2, "nothing crosses"
    return max(each)


def _hourly(time: Array, *series: Array) -> list[Array]:
    hours = np.arange(time[0], time[-1], 3600.0)
    return [np.interp(hours, time, v) for v in series]


@pytest.mark.parametrize("kept_c", [4.0, 0.0, -3.0, -5.0, -8.0, -10.0])
def test_a_thing_kept_at_one_temperature_crosses_the_ground_as_on_the_measured_day(
    shared_data: Finder, kept_c: float
) -> None:
    """A mass that the day does not move (deep water, a cold store) against the ground: NOAA SURFRAD, Alamosa,
    2016-01-01, skin from the infrared pair at 0.97. The forecast sees neither it nor the upward infrared.
    """
    kept = {"source_c": Figure(kept_c, "C", "of this test"), "share": Figure(1.0, "", "all of it")}
    time, ours, theirs, _ = _contrast(replace(pair("leak"), background=OPEN_GROUND, figures=kept), shared_data)
    told, known = _hourly(time, ours, theirs)
    assert np.mean(np.sign(told) == np.sign(known)) >= 0.9
    assert _late(time, ours, theirs) < 1800.0


def test_signs_are_right_for_every_temperature_that_the_ground_passes(shared_data: Finder) -> None:
    """The same for each kelvin between the ends of the measured day: nine hours in ten, whatever is looked for."""
    for kept_c in range(-18, 5, 2):
        kept = {"source_c": Figure(float(kept_c), "C", "of this test"), "share": Figure(1.0, "", "all of it")}
        time, *contrasts, _ = _contrast(replace(pair("leak"), background=OPEN_GROUND, figures=kept), shared_data)
        told, known = _hourly(time, *contrasts)
        assert np.mean(np.sign(told) == np.sign(known)) >= 0.9, kept_c


def test_a_thing_as_warm_as_the_air_has_the_right_sign_where_the_radiometers_can_tell(shared_data: Finder) -> None:
    """At night ground and air stay within 1.6 K, which 5 W/m2 of the radiometers make at -20 C: not told apart."""
    time, ours, theirs, _ = _contrast(AS_AIR, shared_data)
    told, known = _hourly(time, ours, theirs)
    clear = np.abs(known) > 2.0
    assert clear.sum() >= 7
    assert np.mean(np.sign(told[clear]) == np.sign(known[clear])) >= 0.9


@pytest.mark.parametrize("name", ["person", "cattle", "leak"])
def test_ready_made_pairs_have_the_sign_of_the_measured_day(shared_data: Finder, name: str) -> None:
    """The pairs as shipped, over the measured ground. Person and cattle hang on air and sun, the leak on what it enters
    (share of source less ground). None crosses that ground, and none is forecast to: right in every hour.
    """
    of = replace(pair(name), background=OPEN_GROUND)
    share = of.number("share") if of.warmth == "mixed" else 1.0
    time, ours, theirs, _ = _contrast(of, shared_data)
    if (
        of.warmth == "mixed"
    ):  # target = ground + share (source - ground): the measured one has the measured ground in it
        theirs = share * (theirs - ours + ours / share)
    told, known = _hourly(time, ours, theirs)
    assert np.mean(np.sign(told) == np.sign(known)) >= 0.9
    assert len(sign_changes(time, ours)) == len(sign_changes(time, theirs)) == 0


@pytest.mark.parametrize("name", ["clamp", "pipe", "module"])
def test_pairs_whose_sign_heat_alone_decides_have_it_on_the_measured_day(shared_data: Finder, name: str) -> None:
    """More heat set free makes the warmer surface (conservation of energy): a poor clamp, soil over a pipe, by day a
    module that delivers no power. At night two modules are alike and have no sign.
    """
    time, ours, _, _ = _contrast(pair(name), shared_data)
    file = read_weather(shared_data("weather") / "alamosa_2016-01-01.dat")
    sun = np.interp(time, file.weather.time, file.weather["global_horizontal"])
    told, light = _hourly(time, ours, sun)
    judged = light > 100.0 if name == "module" else np.ones(told.shape, bool)
    assert judged.sum() >= 7
    assert np.mean(told[judged] > 0) >= 0.9


@pytest.mark.parametrize("warmer", [-5.0, -3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0, 5.0])
def test_a_sign_that_the_forecast_is_sure_of_is_right_on_the_measured_day(shared_data: Finder, warmer: float) -> None:
    """A thing that keeps so much above the air all day: where the contrast exceeds its own standard uncertainty the
    sign is right in every hour; where it is wrong the interval of 95 % holds zero. From 1 K on, nine hours in ten.
    """
    series = _contrast(AS_AIR, shared_data, warmer)
    told, known, doubt = _hourly(series[0], *series[1:])
    right = np.sign(told) == np.sign(known)
    sure = np.abs(told) > doubt
    assert sure.sum() >= 6
    assert right[sure].all()
    assert (np.abs(told[~right]) < 1.96 * doubt[~right]).all()
    if abs(warmer) >= 1.0:
        assert right.mean() >= 0.9


@pytest.mark.parametrize("warmer", [2.0, 3.0, 4.0, 5.0])
def test_what_follows_the_air_crosses_within_half_an_hour_of_the_measured_day(
    shared_data: Finder, warmer: float
) -> None:
    """Things that keep 2 to 5 K above the air: in the morning and in the evening, and within their own doubt."""
    time, ours, theirs, doubt = _contrast(AS_AIR, shared_data, warmer)
    assert _late(time, ours, theirs) < 1800.0
    assert [sign for _, sign in sign_changes(time, ours)] == [-1, 1]
    for (when, _), (right, _) in zip(sign_changes(time, ours), sign_changes(time, theirs), strict=True):
        slope = abs(float(np.interp(when, time, np.gradient(ours, time))))
        assert abs(when - right) <= 1.96 * float(np.interp(when, time, doubt)) / slope


def test_cumulative_detection_of_a_search_is_what_random_targets_give() -> None:
    """Parallel lines over an area flown twice, people at random places, each look drawn: a Monte Carlo."""
    rng = np.random.default_rng(5)
    person = Sighting(0.95, 1.2, 0.92e-3, 0.35)
    height, spacing, half = 110.0, 90.0, 38.0
    lateral = np.linspace(-half, half, 401)
    seen = task_probability(person, np.hypot(lateral, height), 1.0)
    width = sweep_width(lateral, seen)
    once = width / spacing  # strips that do not overlap: the share of the strip that is swept
    told = float(cumulative_probability([once, once]))
    lines, trials = 12, 200_000
    place = rng.uniform(0.0, lines * spacing, trials)
    found = np.zeros(trials, bool)
    for shift in (0.0, 0.37):  # the second sortie's lines lie elsewhere: looks are independent of each other
        axis = (np.floor(place / spacing - shift) + 0.5 + shift) * spacing
        aside = place - axis
        chance = np.where(np.abs(aside) <= half, np.interp(aside, lateral, seen), 0.0)
        found |= rng.random(trials) < chance
    assert 0.2 < once < 0.95
    # Lines shifted by a fixed amount are not quite independent of the place: five times in a hundred allow for it.
    assert abs(found.mean() - told) < 0.05


def test_looks_from_lines_at_random_are_independent_and_add_up_exactly() -> None:
    rng = np.random.default_rng(6)
    person = Sighting(0.95, 1.2, 0.92e-3, 0.35)
    spacing, half, trials = 90.0, 38.0, 400_000
    lateral = np.linspace(-half, half, 401)
    seen = task_probability(person, np.hypot(lateral, 110.0), 1.0)
    once = sweep_width(lateral, seen) / spacing
    place, found = rng.uniform(0.0, 10 * spacing, trials), np.zeros(trials, bool)
    shares = []
    for _ in range(3):
        aside = np.mod(place - rng.uniform(0.0, spacing, trials), spacing) - 0.5 * spacing
        chance = np.where(np.abs(aside) <= half, np.interp(aside, lateral, seen), 0.0)
        found |= rng.random(trials) < chance
        shares.append(found.mean())
    told = [float(cumulative_probability([once] * n)) for n in (1, 2, 3)]
    np.testing.assert_allclose(shares, told, atol=0.004)


def test_ground_model_alone_is_exact_where_the_balance_is_linear() -> None:
    time = 600.0 * np.arange(145)
    same = np.ones(time.shape)
    body = _half_space("dry", 0.24, 1.28e6, 0.8)
    light = 350.0 * (1 - np.cos(2 * np.pi * time / DAY))
    weather = Weather(time, {
        "air_temperature": 285.0 * same, "relative_humidity": 0.5 * same, "pressure": 101325.0 * same,
        "wind_speed": 2.0 * same, "global_horizontal": light, "direct_normal": 0.0 * same, "diffuse": light,
        "longwave_down": 300.0 * same,
    })  # fmt: skip
    found = forecast(body, weather, Place(0.0, 0.0), plane=Plane())
    np.testing.assert_allclose(found.temperature, _exact(time, body, 700.0, 285.0), atol=0.1)
