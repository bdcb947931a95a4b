"""Sizes that geometry predicts, against boxes that people drew in real frames.

HIT-UAV, Suo et al., Scientific Data 10:227 (2023), CC BY 4.0: a subset. One unknown focal length for everything.
"""

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest

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
