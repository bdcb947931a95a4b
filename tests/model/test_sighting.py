"""One target through the whole chain."""

from dataclasses import replace

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.pointspread import PointSpread
from groundglow.model.seeing import JOHNSON_CYCLES
from groundglow.model.sighting import (
    Sighting,
    cycles_on_target,
    largest_distance,
    nadir_sweep_width,
    task_probability,
)


def hazy(distance):
    return np.exp(-np.sqrt(np.asarray(distance) / 400.0))


PERSON = Sighting(0.95, 5.0, 0.92e-3, 0.06, PointSpread(1.0, 0.4), hazy)


def test_with_contrast_to_spare_a_line_pair_takes_two_pixels():
    assert cycles_on_target(replace(PERSON, rise=1e4), 50.0) == pytest.approx(0.95 / (0.92e-3 * 50) / 2)


def test_a_faint_target_has_fewer_cycles_than_its_pixels_would_allow():
    faint, strong = (cycles_on_target(replace(PERSON, rise=r), 50.0) for r in (0.05, 5.0))
    assert 0 < faint < strong


def test_haze_takes_distance():
    task = JOHNSON_CYCLES["detect"]
    clear = replace(PERSON, rise=0.3, transmittance=lambda d: np.ones_like(d))
    assert largest_distance(replace(PERSON, rise=0.3), 0.9, task) < largest_distance(clear, 0.9, task)


def test_probability_falls_with_distance_and_with_the_demand():
    far = np.linspace(20, 2000, 50)
    detect, recognise, identify = (
        task_probability(PERSON, far, JOHNSON_CYCLES[t]) for t in ("detect", "recognise", "identify")
    )
    assert (np.diff(detect) <= 0).all()
    assert (detect >= recognise).all()
    assert (recognise >= identify).all()


@pytest.mark.parametrize("task", JOHNSON_CYCLES)
def test_largest_distance_gives_the_probability_asked_for(task):
    distance = largest_distance(PERSON, 0.8, JOHNSON_CYCLES[task])
    assert task_probability(PERSON, distance, JOHNSON_CYCLES[task]) == pytest.approx(0.8, abs=1e-6)


def test_what_cannot_be_done_even_close_by_has_no_distance():
    assert largest_distance(replace(PERSON, rise=0.0), 0.5, 1.0) == 0.0


def test_sweep_width_is_at_most_the_strip_and_shrinks_with_the_task():
    strip = 2 * 60 * np.tan(0.287)
    detect, identify = (nadir_sweep_width(PERSON, 60.0, 0.287, JOHNSON_CYCLES[t]) for t in ("detect", "identify"))
    assert identify < detect <= strip


@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda: replace(PERSON, noise=0.0), "noise"),
        (lambda: cycles_on_target(PERSON, [10.0, -5.0]), "distance"),
        (lambda: largest_distance(PERSON, 80.0, 1.0), "probability"),
        (lambda: nadir_sweep_width(PERSON, 60.0, 33.0, 1.0), "half_angle"),
    ],
)
def test_figures_that_cannot_be_are_refused(call, name):
    with pytest.raises(RangeError, match=f"{name} out of range"):
        call()
