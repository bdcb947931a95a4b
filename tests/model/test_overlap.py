"""Lines and pictures that cover an area."""

import pytest

from groundglow.errors import RangeError
from groundglow.model import overlap


def test_lines_are_counted_from_edge_to_edge():
    assert overlap.count_to_cover(100.0, 10.0) == 11
    assert overlap.count_to_cover(100.1, 10.0) == 12
    assert overlap.count_to_cover(0.0, 10.0) == 1
    assert overlap.count_to_cover(0.3, 0.1) == 4  # 0.3 / 0.1 is a rounding error below 3


def test_more_overlap_brings_lines_closer():
    assert overlap.spacing_for_overlap(30.0, 0.8) < overlap.spacing_for_overlap(30.0, 0.6) < 30.0
    assert overlap.spacing_for_overlap(30.0, 0.0) == 30.0


@pytest.mark.parametrize(
    ("function", "values", "name"),
    [
        (overlap.spacing_for_overlap, (30.0, 70.0), "overlap"),
        (overlap.spacing_for_overlap, (-30.0, 0.7), "footprint"),
        (overlap.count_to_cover, (-1.0, 10.0), "length"),
        (overlap.motion_in_pixels, (5.0, 0.01, 0.0), "ground_sampling"),
    ],
)
def test_figures_that_no_flight_can_have_are_refused(function, values, name):
    with pytest.raises(RangeError, match=f"{name} out of range"):
        function(*values)
