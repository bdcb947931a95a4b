"""Sizes that geometry predicts, against boxes that people drew in real frames.

HIT-UAV, Suo et al., Scientific Data 10:227 (2023), CC BY 4.0: a subset. One unknown focal length for everything.
"""

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest

from groundglow.model.appearance import BOX_ROUNDING, apparent_box, apparent_size

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def maker():
    spec = importlib.util.spec_from_file_location("seen_sizes", ROOT / "tools" / "make_seen_sizes_page.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules[spec.name]


@pytest.fixture(scope="module")
def folder(shared_data):
    return shared_data("people-vehicles")


@pytest.fixture(scope="module")
def every(maker, folder):
    return {name: maker.boxes(folder, name) for name in ("Person", "Car")}


def test_enough_boxes_in_each_band_of_heights(maker, every):
    for found in every.values():
        assert min(n for n, _, _ in maker.median_by_band(found, np.zeros(found.size.size))) >= 40


def test_persons_and_cars_are_predicted_to_a_fifth_in_every_band(maker, every):
    """Median relative error of sqrt(w h) in three bands of heights <= 20 %, one focal length, no tuning by band."""
    _, error = maker.errors(every)
    for name, found in every.items():
        for _, size, _ in maker.median_by_band(found, error[name]):
            assert size <= 0.20


def test_the_one_focal_length_serves_persons_and_cars_alike(maker, every):
    """Fitted apart, the two would ask for focal lengths that differ by less than a fifth."""
    apart = [maker.errors({name: found})[0] for name, found in every.items()]
    assert max(apart) / min(apart) < 1.2


def test_the_own_line_of_sight_predicts_cars_better_than_the_axis_of_the_camera(maker, every):
    def worst(own):
        _, error = maker.errors(every, own=own)
        return max(size for _, size, _ in maker.median_by_band(every["Car"], error["Car"]))

    assert worst(True) < worst(False)


def test_errors_belong_to_the_frame_more_than_to_the_thing(maker, every):
    _, error = maker.errors(every)
    for name, found in every.items():
        between, within = maker.between_and_within(found, error[name])
        assert between > 1.4 * within


def test_page_shows_what_the_model_and_the_data_give(maker, folder):
    """After a change of the model run tools/make_seen_sizes_page.py."""
    page = (ROOT / "docs" / "seen-sizes.md").read_text(encoding="utf-8")
    assert maker.with_tables(page, folder) == page


# ---- The geometry itself, against corners projected one by one ---------------------------------------


def _corners(length, width, height, heading):
    corner = np.array([(i, j, k) for i in (-0.5, 0.5) for j in (-0.5, 0.5) for k in (0, 1)]) * [length, width, height]
    c, s = np.cos(heading), np.sin(heading)
    return corner @ np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])


@pytest.mark.parametrize("depression", [10.0, 45.0, 90.0])
def test_box_holds_the_projected_corners_of_the_block(depression):
    down = np.radians(depression)
    up = np.array([0, np.sin(down), np.cos(down)])  # the picture's upward axis of a camera that looks north and down
    for heading in np.radians([0, 25, 90, 140]):
        corners = _corners(4.5, 1.8, 1.5, heading)
        across, upright = apparent_box(4.5, 1.8, 1.5, depression=down, heading=heading)
        assert across == pytest.approx(np.ptp(corners[:, 0]))
        assert upright == pytest.approx(np.ptp(corners @ up))


def test_size_is_the_mean_over_all_headings():
    turns = np.linspace(0, 2 * np.pi, 36_001)[:-1]
    down = np.radians([20.0, 90.0])
    plain = [np.mean(np.sqrt(np.prod(apparent_box(4.5, 1.8, 1.5, depression=d, heading=turns), axis=0))) for d in down]
    assert apparent_size(4.5, 1.8, 1.5, down) == pytest.approx(plain, rel=1e-7)


def test_whole_pixels_that_a_side_touches_are_one_more_than_its_length():
    place = (np.arange(10_000) + 0.5) / 10_000
    for length in (0.3, 2.5, 7.0):
        touched = np.floor(place + length) - np.floor(place) + 1
        assert touched.mean() == pytest.approx(length + BOX_ROUNDING, abs=1e-3)
