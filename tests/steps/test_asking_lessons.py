"""Lessons: every number is the model's, the scene can be changed, and what the words claim holds."""

from __future__ import annotations

import pytest

from groundglow.errors import InputError, RangeError
from groundglow.model.pointspread import point_spread
from groundglow.model.targetsize import target_response
from groundglow.steps.measure.asking.lessons import LESSONS, lesson_sheet


def number(cell: str) -> float:
    return float(cell.split()[0].lstrip("±"))


@pytest.mark.parametrize("name", LESSONS)
def test_a_lesson_has_one_table_with_as_many_cells_as_headings(name: str) -> None:
    sheet = lesson_sheet(name)
    assert sheet.rows
    assert {len(row) for row in sheet.rows} == {len(sheet.headings)}
    assert sheet.before
    assert sheet.after


def test_two_emissivities_read_the_same_with_their_own_and_differ_with_one() -> None:
    dull, shiny = lesson_sheet("two-emissivities", {"surface": 55.0}).rows
    assert number(dull[3]) == pytest.approx(55.0, abs=0.05)
    assert number(shiny[3]) == pytest.approx(55.0, abs=0.05)
    assert number(shiny[2]) < number(dull[2]) - 10.0
    assert number(shiny[4]) > number(dull[4])


def test_two_skies_cost_metal_most_and_cloud_makes_the_error_smaller() -> None:
    clear_dull, clear_shiny, cloud_dull, cloud_shiny = lesson_sheet("two-skies").rows
    assert clear_shiny[4] == "none" or number(clear_shiny[4]) < number(clear_dull[4])
    assert number(clear_dull[4]) < number(cloud_dull[4]) <= 0.0
    assert number(cloud_shiny[4]) < number(cloud_dull[4])
    assert number(clear_dull[1]) < number(cloud_dull[1]) < 10.0


def test_two_distances_cost_more_the_farther_and_nothing_without_air_between() -> None:
    near, far = lesson_sheet("two-distances", {"near": 0.0, "far": 150.0}).rows
    assert number(near[1]) == 100.0
    assert number(near[3]) == 0.0
    assert number(far[3]) < -1.0
    assert number(far[5]) == pytest.approx(150.0 * 12.0 / 13.0 / 10.0, abs=0.06)


def test_two_sizes_show_what_the_target_model_says() -> None:
    large, small = lesson_sheet("two-sizes").rows
    for row in (large, small):
        across = number(row[1])
        share = target_response(across, across, point_spread(12e-6, 1.0)).share
        assert number(row[2]) == pytest.approx(100 * share, abs=1.1)
    assert number(small[3]) < number(large[3])
    assert number(small[5]) > number(large[5])


def test_an_unknown_lesson_or_value_is_refused_with_those_there_are() -> None:
    with pytest.raises(InputError, match="two-skies"):
        lesson_sheet("three-moons")
    with pytest.raises(InputError, match="surface"):
        lesson_sheet("two-skies", {"roof": 1.0})


def test_a_scene_that_cannot_be_is_refused() -> None:
    with pytest.raises((InputError, RangeError)):
        lesson_sheet("two-emissivities", {"dull": 1.5})
    with pytest.raises((InputError, RangeError)):
        lesson_sheet("two-distances", {"far": 90000.0})
