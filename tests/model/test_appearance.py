"""The box around a thing as it is seen, against corners projected one by one."""

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.appearance import BOX_ROUNDING, apparent_box, apparent_size, box_in_pixels


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


def test_pixels_are_size_over_sampling_and_one_more_a_side():
    """A square post seen level from far away is as wide from one heading: here width and length are nearly nothing."""
    found = box_in_pixels(1e-9, 1e-9, 2.0, 0.0, sampling=0.05)
    assert found == pytest.approx(np.sqrt(BOX_ROUNDING * (2.0 / 0.05 + BOX_ROUNDING)))


def test_finer_sampling_gives_more_pixels():
    found = box_in_pixels(4.5, 1.8, 1.5, np.radians(60), sampling=[0.02, 0.05, 0.2])
    assert (np.diff(found) < 0).all()


@pytest.mark.parametrize(
    ("sides", "depression", "name"),
    [((0.0, 1.0, 1.0), 1.0, "length"), ((1.0, -1.0, 1.0), 1.0, "width"), ((1.0, 1.0, -1.0), 1.0, "height"),
     ((1.0, 1.0, 1.0), 90.0, "depression")],
)  # fmt: skip
def test_impossible_sides_and_degrees_for_radians_are_refused(sides, depression, name):
    with pytest.raises(RangeError, match=name):
        apparent_size(*sides, depression)
