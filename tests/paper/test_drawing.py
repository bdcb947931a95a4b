"""The sheet that charts are drawn on: round numbers, places, greys as they are."""

import io

import numpy as np
import pytest
from PIL import Image

from groundglow.paper.drawing import FINE, PAPER, Axis, Sheet, round_down, round_steps


def test_scale_bars_have_round_lengths():
    assert [round_down(v) for v in (1.0, 1.99, 2.0, 49.0, 0.07)] == pytest.approx([1, 1, 2, 20, 0.05])


def test_steps_are_round_and_inside():
    steps = round_steps(-3.2, 11.9)
    assert steps[0] >= -3.2
    assert steps[-1] <= 11.9
    assert set(np.round(np.diff(steps), 9)) == {2.0} or set(np.round(np.diff(steps), 9)) == {5.0}


def test_axis_places_the_ends_at_its_ends_and_the_geometric_middle_of_a_logarithmic_one_in_the_middle():
    axis = Axis(1.0, 100.0, 10.0, 210.0, logarithmic=True)
    assert [axis.at(v) for v in (1.0, 10.0, 100.0)] == pytest.approx([10.0, 110.0, 210.0])


def test_greys_are_laid_without_smoothing():
    sheet = Sheet(40, 30)
    sheet.grey((10, 5), (30, 25), np.array([[0, 255], [128, 64]], dtype=np.uint8))
    drawn = np.asarray(Image.open(io.BytesIO(sheet.png())))
    part = drawn[5 * FINE : 25 * FINE, 10 * FINE : 30 * FINE, 0]
    assert set(np.unique(part)) == {0, 64, 128, 255}
    assert (part[:20, :20] == 0).all()
    assert tuple(drawn[0, 0]) == PAPER
