"""Regions of a frame: the pixels that a person means, and plain errors where there are none."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.steps.measure.asking.regions import parse_region, parse_regions, ring_around

SHAPE = (120, 160)


def pixels(kind: str, text: str) -> set[tuple[int, int]]:
    rows, columns = parse_region(kind, text).pixels(SHAPE)  # type: ignore[arg-type]
    return set(zip(rows.tolist(), columns.tolist(), strict=True))


def test_a_rectangle_holds_left_and_top_but_not_right_and_bottom() -> None:
    assert pixels("rectangle", "3,5,5,6") == {(5, 3), (5, 4)}


def test_a_polygon_drawn_around_pixel_centres_is_the_rectangle_of_them() -> None:
    assert pixels("polygon", "9.5,19.5 29.5,19.5 29.5,39.5 9.5,39.5") == pixels("rectangle", "10,20,30,40")


def test_a_disc_has_the_area_of_a_circle_and_its_width() -> None:
    disc = parse_region("disc", "80,60,20")
    assert len(disc.pixels(SHAPE)[0]) == pytest.approx(np.pi * 20**2, rel=0.02)
    assert disc.width(SHAPE) == 41
    assert disc.middle(SHAPE) == pytest.approx((80.0, 60.0))


def test_a_line_goes_from_end_to_end_in_steps_of_a_pixel() -> None:
    rows, columns = parse_region("line", "10,20:40,35").pixels(SHAPE)
    assert (columns[0], rows[0], columns[-1], rows[-1]) == (10, 20, 40, 35)
    assert np.abs(np.diff(columns)).max() == 1
    assert len(rows) == 31


def test_a_backward_line_is_the_same_pixels_in_the_other_order() -> None:
    there, back = (parse_region("line", t).pixels(SHAPE) for t in ("10,20:40,35", "40,35:10,20"))
    np.testing.assert_array_equal(there[1], back[1][::-1])


def test_labels_are_ones_own_or_follow_the_kind() -> None:
    found = parse_regions([("point", ["hub=1,2", "3,4"]), ("line", ["0,0:5,5"])])
    assert [r.label for r in found] == ["hub", "p2", "l1"]


@pytest.mark.parametrize(
    ("kind", "text", "said"),
    [
        ("point", "5", "COLUMN,ROW"),
        ("point", "a,b", "no number"),
        ("rectangle", "1,2,3", "found 3"),
        ("polygon", "1,1 2,2", "three corners"),
        ("disc", "1,2,nan", "not finite"),
    ],
)
def test_a_wrong_text_is_told_with_the_right_form(kind: str, text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        parse_region(kind, text)  # type: ignore[arg-type]


@pytest.mark.parametrize("text", ["160,5", "-1,5", "5,120"])
def test_a_pixel_outside_is_refused_with_the_frames_limits(text: str) -> None:
    with pytest.raises(InputError, match="columns 0 to 159, rows 0 to 119"):
        parse_region("point", text).pixels(SHAPE)


def test_a_region_without_a_pixel_is_refused() -> None:
    with pytest.raises(InputError, match="no pixel"):
        parse_region("rectangle", "5,5,5,9").pixels(SHAPE)


def test_two_regions_of_one_label_are_refused() -> None:
    with pytest.raises(InputError, match="twice"):
        parse_regions([("point", ["a=1,2"]), ("disc", ["a=5,5,2"])])


def test_a_ring_stays_inside_the_frame_and_leaves_its_middle_free() -> None:
    rows, columns = ring_around((2.0, 2.0), (3.0, 6.0), SHAPE)
    assert rows.min() >= 0
    assert columns.min() >= 0
    assert np.hypot(rows - 2, columns - 2).min() >= 3.0
