"""A reading taken apart: against worked figures, a plain Monte Carlo, and what halving a doubt means."""

from __future__ import annotations

import io
import itertools
import math
from dataclasses import dataclass

import numpy as np
import pytest
from PIL import Image

from groundglow.errors import UnmetError
from groundglow.model.band import ideal_band, lookup, nominal_band
from groundglow.model.distribution import normal, truncated_normal
from groundglow.model.montecarlo import monte_carlo
from groundglow.model.reading import CameraDoubt, Situation, Stated, reading_with_interval
from groundglow.paper.drawing import FLIGHT, FRAME, PAPER, PIXEL, round_steps
from groundglow.records.flight import CameraSpec
from groundglow.steps.measure.asking.charts import budget_chart
from groundglow.steps.measure.asking.explaining import Explanation, explain
from groundglow.steps.measure.asking.knowns import Said, distance_said, emissivity_said, reflected_said, weather_said
from groundglow.steps.measure.asking.measures import MEASURES, halving
from groundglow.steps.measure.asking.scene import Scene, mirrored
from groundglow.steps.measure.asking.sensor import received_of_black_body, sensor_of
from groundglow.steps.measure.asking.trying import try_out

CAMERA = CameraSpec(netd_mk=50.0, drift_k=0.5, pattern_k=0.1)


def explained(apparent_c: float, said: Said, *, band=None, camera: CameraSpec = CAMERA) -> Explanation:
    table = lookup(band or nominal_band("7.5-13.5"))
    made = emissivity_said(said, "7.5-13.5")
    assert made is not None
    scene = Scene(table, made, weather_said(said), distance_said(said), reflected_said(said))
    sensor = sensor_of(camera, 1.0)
    received = received_of_black_body(table, apparent_c + 273.15, scene.distance.value, sensor)
    return explain(scene, received, sensor)


#: Worked examples in the ideal band 8-14 um without air, by scipy's quadrature, no code of ours: emissivity,
#: reflected and surface temperature, apparent temperature, and the error of the surface temperature when emissivity
#: is entered 0.01 too high or too low, and the reflected temperature 5 K too high (K).
WORKED = [
    (0.95, 293.15, 313.15, 312.2282, -0.1915, 0.1952, -0.2258),
    (0.95, 300.0, 300.0, 300.0, 0.0, 0.0, -0.2695),
]


@pytest.mark.parametrize(("eps", "back", "surface", "apparent", "high", "low", "mirrored_high"), WORKED)
def test_a_reading_without_air_agrees_with_the_worked_example(
    eps: float, back: float, surface: float, apparent: float, high: float, low: float, mirrored_high: float
) -> None:
    """The reference table of the measurement equation; a step of 5 K is 2 % more than its slope."""
    said = Said(emissivity=eps, reflected_c=back - 273.15, distance_m=0.0, air_c=20.0)
    found = explained(apparent - 273.15, said, band=ideal_band(8e-6, 14e-6))
    assert found.kelvin == pytest.approx(surface, abs=5e-4)
    assert found.by_air == pytest.approx(0.0, abs=1e-6)
    assert found.by_surface == pytest.approx(surface - apparent, abs=5e-4)
    lines = {line.name: line for line in found.lines}
    assert lines["emissivity"].sensitivity * 0.01 == pytest.approx(0.5 * (high - low), abs=2e-3)
    assert lines["reflected temperature"].sensitivity * 5.0 == pytest.approx(mirrored_high, rel=0.04)


ROOF = Said(emissivity=0.93, air_c=15.0, humidity_pct=50.0, distance_m=60.0, cloud=0.0, cloud_sd=0.05)


def test_shares_add_up_and_contributions_give_the_standard_uncertainty() -> None:
    found = explained(35.0, ROOF)
    assert sum(line.share for line in found.lines) == pytest.approx(1.0, abs=1e-6)
    total = math.sqrt(sum(line.contribution**2 for line in found.lines))
    assert total == pytest.approx(found.standard_uncertainty, rel=1e-6)
    assert abs(found.dominant.contribution) == max(abs(line.contribution) for line in found.lines)


def test_each_line_says_what_shares_it() -> None:
    parts = {line.name: line.part for line in explained(35.0, ROOF).lines}
    assert parts["noise"] == parts["pattern"] == "pixel"
    assert parts["drift"] == parts["distance"] == "frame"
    assert parts["calibration"] == parts["emissivity"] == parts["air temperature"] == "flight"


def test_a_camera_that_shows_more_means_a_warmer_surface() -> None:
    lines = {line.name: line for line in explained(35.0, ROOF).lines}
    step = explained(36.0, ROOF).kelvin - explained(35.0, ROOF).kelvin
    assert lines["calibration"].sensitivity == pytest.approx(step, rel=0.01)


def test_surface_and_air_together_are_the_whole_correction() -> None:
    found = explained(35.0, ROOF)
    assert found.by_surface + found.by_air == pytest.approx(found.kelvin - found.apparent, abs=1e-9)


def test_other_inputs_are_the_reading_with_them() -> None:
    found = explained(35.0, ROOF)
    said = {a.words: a for a in found.alternatives}
    other = explained(35.0, Said(**{**ROOF.__dict__, "emissivity": 0.88}))
    assert said["emissivity 0.88, not 0.93"].kelvin == pytest.approx(other.kelvin, abs=1e-6)
    assert said["nothing corrected at all"].kelvin == pytest.approx(308.15, abs=1e-6)
    warm = explained(35.0, Said(**{**ROOF.__dict__, "air_c": 20.0}))
    assert said["air 20 °C, not 15 °C, the sky with it"].kelvin == pytest.approx(warm.kelvin, abs=1e-6)


def test_a_computed_sky_has_the_doubt_of_all_it_is_computed_from() -> None:
    found = explained(35.0, ROOF).mirrored
    assert set(found.parts) == {"sky model", "cloud", "air temperature", "relative humidity"}
    assert found.standard_uncertainty == pytest.approx(math.sqrt(sum(p * p for p in found.parts.values())))
    cloudless = explained(35.0, Said(**{**ROOF.__dict__, "cloud_sd": 0.0})).mirrored
    assert cloudless.standard_uncertainty < found.standard_uncertainty


def test_a_given_reflected_temperature_takes_the_place_of_the_sky() -> None:
    found = explained(35.0, Said(**{**ROOF.__dict__, "reflected_c": -5.0, "reflected_sd_k": 1.5}))
    assert (found.mirrored.kelvin, found.mirrored.standard_uncertainty) == (268.15, 1.5)
    assert not any("taken as warm as the air" in a.words or "sky" in a.words for a in found.alternatives)


def test_dull_and_warm_is_of_first_order_and_trials_agree() -> None:
    found = explained(35.0, ROOF)
    assert found.trials.agree
    assert found.trials.settled
    assert (found.low, found.high) == pytest.approx(found.first_order)


def test_metal_under_a_cold_sky_is_not_and_the_trials_are_stated() -> None:
    found = explained(-5.0, Said(material="aluminium, commercial sheet", air_c=5.0, distance_m=30.0, cloud=0.0))
    assert not found.trials.agree
    assert (found.low, found.high) == (found.trials.low, found.trials.high)
    assert (found.low, found.high) != pytest.approx(found.first_order, abs=1.0)


def test_trials_agree_with_a_plain_monte_carlo_where_there_is_no_air(monkeypatch: pytest.MonkeyPatch) -> None:
    """Low emissivity without air, grey: drawn one by one after JCGM 101:2008 and solved by the band's table alone."""
    for spread in ("SLOPE_MEAN", "SLOPE_SD", "CURVATURE_SD"):
        monkeypatch.setattr(f"groundglow.model.reading.spectra.{spread}", 0.0)
    band = ideal_band(8e-6, 14e-6)
    table = lookup(band)
    eps, back, kelvin = (0.25, 0.02), (250.0, 6.0), (285.0, 0.8)
    around = Situation(Stated(*eps), Stated(*back), 240.0, 0.5, 0.0)  # warmer than the air: a black body
    camera = CameraDoubt(calibration=Stated(0.0, kelvin[1]))
    first = bool(reading_with_interval(band, kelvin[0], around, camera).first_order)
    found = try_out(band, kelvin[0], around, camera, first_order=first)

    def surface(shown: np.ndarray, share: np.ndarray, mirror: np.ndarray) -> np.ndarray:
        own = (table.radiance(shown) - (1 - share) * table.radiance(mirror)) / share
        return np.asarray(table.temperature(np.maximum(own, 1.0)))

    samplers = [normal(*kelvin), truncated_normal(*eps, 0.0, 1.0), normal(*back)]
    drawn = monte_carlo(surface, samplers, seed=3, largest=400_000)
    spread = drawn.standard_uncertainty
    assert found.low == pytest.approx(drawn.symmetric[0], abs=0.03 * spread)
    assert found.high == pytest.approx(drawn.symmetric[1], abs=0.03 * spread)


def test_equal_seeds_give_equal_trials_and_the_number_of_trials_grows_until_they_stand_still() -> None:
    one, two = (explained(35.0, ROOF).trials for _ in range(2))
    assert one == two
    assert one.count > 4096


def test_a_reading_that_air_and_reflection_explain_alone_is_refused() -> None:
    with pytest.raises(UnmetError, match="no surface temperature"):
        explained(-60.0, Said(emissivity=0.1, reflected_c=20.0, distance_m=50.0, air_c=20.0))


@dataclass
class Line:
    name: str
    standard_uncertainty: float
    contribution: float


LINES = [
    Line("calibration", 3.0, 3.2),
    Line("drift", 1.0, 1.1),
    Line("emissivity", 0.03, 1.7),
    Line("reflected temperature", 20.0, 0.9),
    Line("distance", 10.0, 0.1),
    Line("noise", 0.05, 0.05),
]


def left(measures: tuple[str, ...]) -> float:
    """By hand: what the measures leave of the lines above, at 50 m."""
    chosen = [m for m in MEASURES if m.name in measures]
    total = 0.0
    for line in LINES:
        spreads = [line.standard_uncertainty]
        for m in chosen:
            if line.name in m.leaves:
                factor = {"distance": 50.0, "noise": line.standard_uncertainty}.get(line.name, 1.0)
                spreads.append(m.leaves[line.name] * factor)
        total += (line.contribution * min(spreads) / line.standard_uncertainty) ** 2
    return math.sqrt(total)


def test_the_fewest_measures_that_halve_a_doubt_are_found() -> None:
    found = halving(LINES, 50.0)
    names = tuple(m.name for m in found.together)
    assert found.then == pytest.approx(left(names))
    assert found.then <= 0.5 * left(())
    everything = [m.name for m in MEASURES]
    smaller = (c for n in range(len(names)) for c in itertools.combinations(everything, n))
    assert all(left(c) > 0.5 * left(()) for c in smaller)
    assert all(left(c) >= found.then - 1e-12 for c in itertools.combinations(everything, len(names)))


def test_a_measure_alone_is_told_by_what_it_leaves_best_first() -> None:
    found = halving(LINES, 50.0)
    assert [u for _, u in found.alone] == sorted(u for _, u in found.alone)
    for measure, u in found.alone:
        assert u == pytest.approx(left((measure.name,)))


def test_where_nothing_halves_the_doubt_that_is_said_with_the_best_there_is() -> None:
    found = halving([Line("air temperature", 0.5, 2.0), Line("distance", 0.1, 0.1)], 50.0)
    assert found.together == ()
    assert found.best == pytest.approx(math.hypot(2.0, 0.1))


def test_bars_of_the_chart_are_as_long_as_the_contributions_in_the_colour_of_their_part() -> None:
    found = explained(35.0, ROOF)
    picture = np.asarray(Image.open(io.BytesIO(budget_chart(found))).convert("RGB"))
    assert (picture[0, 0] == PAPER).all()
    colours = {"pixel": PIXEL, "frame": FRAME, "flight": FLIGHT}
    lengths = []
    for i, line in enumerate(found.lines[:4]):
        row = picture[2 * (128 + 26 * i + 13)]
        lengths.append(int((row == colours[line.part]).all(axis=1).sum()))
    expected = np.array([abs(line.contribution) for line in found.lines[:4]])
    np.testing.assert_allclose(np.array(lengths) / lengths[0], expected / expected[0], atol=0.01)


def test_equal_readings_give_equal_charts() -> None:
    one, two = (budget_chart(explained(35.0, ROOF)) for _ in range(2))
    assert one == two


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (-3.2, 8.9), (287.3, 412.0), (0.012, 0.013)])
def test_steps_of_an_axis_are_round_even_and_inside(low: float, high: float) -> None:
    steps = round_steps(low, high)
    assert 2 <= len(steps) <= 8
    assert low - 1e-9 <= min(steps)
    assert max(steps) <= high + 1e-9
    width = steps[1] - steps[0]
    np.testing.assert_allclose(np.diff(steps), width, rtol=1e-6)
    leading = width / 10 ** math.floor(math.log10(width) + 1e-9)
    assert min(abs(leading - r) for r in (1, 2, 5, 10)) < 1e-6


def test_what_is_mirrored_is_colder_than_the_air_under_a_clear_sky_and_near_it_under_cloud() -> None:
    table = lookup(nominal_band("7.5-13.5"))

    def sky(cloud: float) -> float:
        said = Said(emissivity=0.9, air_c=15.0, humidity_pct=50.0, cloud=cloud)
        made = emissivity_said(said, "7.5-13.5")
        assert made is not None
        return mirrored(Scene(table, made, weather_said(said), distance_said(said))).kelvin - 288.15

    assert sky(0.0) < -40.0
    assert -15.0 < sky(1.0) < 0.0
