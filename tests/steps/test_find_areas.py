"""Areas, outlines, holes and what is measured of a region."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from tests.steps.find_flights import Errors, by_frame, flown, registration
from tests.steps.find_pictures import LEVEL, NOISE, disc, field_of, seen, texture

from groundglow.records.brief import Question
from groundglow.records.field import Field, Reason
from groundglow.records.finding import Candidate
from groundglow.steps.find import FindSettings, Search, candidates, merge, searches
from groundglow.steps.find.fill import filled
from groundglow.steps.find.outline import MOST_CORNERS, outline
from groundglow.steps.find.region import Region, measured

SHAPE = (160, 200)


def areas(
    field: Field, smallest: float = 30, largest: float = 170, signs: tuple[int, ...] = (1, -1)
) -> list[Candidate]:
    asked = Search("area", "area", signs, smallest, largest, 5.0, 0.0)
    return [c for c in candidates(field, [asked], FindSettings(), "f") if c.contrast_noise >= 5.0]


@pytest.mark.parametrize("sign", [1, -1])
def test_a_patch_comes_as_one_area_at_its_place_and_size(sign: int) -> None:
    shown = seen(SHAPE, lambda c, r: ((c - 90) / 40) ** 2 + ((r - 85) / 25) ** 2 < 1)
    (one,) = areas(field_of(texture(SHAPE, 1) + np.float32(2.5 * sign) * shown))
    assert one.sign == sign
    assert np.hypot(one.column - 90, one.row - 85) < 2.0
    assert one.area_px == pytest.approx(np.pi * 40 * 25, rel=0.1)
    assert one.rise == pytest.approx(2.5 * sign, abs=1.96 * one.rise_sd + 0.1)


def test_an_area_that_fills_half_of_the_frame_comes_as_one() -> None:
    """Not as its parts, nor as one for each isotherm."""
    half = seen(SHAPE, lambda c, r: c + 0.3 * r + 0 * r < 120)
    (one,) = areas(field_of(texture(SHAPE, 2) + np.float32(3.0) * half), signs=(1,))
    assert 0.3 < one.area_px / half.size < 0.7
    assert one.at_border


def test_even_ground_and_an_even_slope_hold_no_area() -> None:
    rows, columns = np.mgrid[: SHAPE[0], : SHAPE[1]]
    assert not areas(field_of(texture(SHAPE, 3)))
    assert not areas(field_of(texture(SHAPE, 4, 0.0) + np.float32(0.03) * (rows + columns)))


def test_a_small_hot_spot_is_no_area() -> None:
    assert not areas(field_of(texture(SHAPE, 5) + np.float32(5.0) * disc(SHAPE, 90, 80, 6.0)))


def patch_at(x: float, y: float, half: float, flight: object) -> dict[str, list[Candidate]]:
    """A square area on the ground as every frame that shows it whole has it."""
    made = []
    for frame in flight.truth:  # type: ignore[attr-defined]
        corners = np.array([(x + a * half, y + b * half, 0.0) for a, b in ((-1, -1), (-1, 1), (1, 1), (1, -1))])
        at = flight.shows(frame, corners)  # type: ignore[attr-defined]
        if (at > 4).all() and (at < (flight.log.shape[1] - 5, flight.log.shape[0] - 5)).all():  # type: ignore[attr-defined]
            shape = shapely.Polygon(at)
            left, top, right, bottom = (int(v) for v in shape.bounds)
            centre = shape.centroid
            box = (left, top, right + 1, bottom + 1)
            made.append(
                Candidate(
                    *(frame, "area", 1, centre.x, centre.y, box, round(shape.area)),
                    *(294.0, 293.0, 290.0, 3.0, 0.2, 1.0, 9.0, False, ""),
                    tuple((float(c), float(r)) for c, r in at),
                )
            )
    return by_frame(flight, made)  # type: ignore[arg-type]


@pytest.mark.parametrize(("east", "held"), [(0.0, True), (18.0, False)])
def test_an_area_beside_its_zone_is_not_in_it(east: float, held: bool) -> None:
    """The middle of what lies in a zone is half its width within; doubt of place gives some room."""
    flight = flown(Errors())
    zone = shapely.box(-8, -8, 8, 8)
    made = merge(
        patch_at(east, 0.0, 5.0, flight),
        log=flight.log,
        registration=registration(flight.ties),
        questions=(Question(name="wet patch", looking_for="area", zone="roof"),),
        zones={"roof": zone},
        settings=FindSettings(),
    )
    assert len(made.items) == int(held)


def test_sights_of_one_area_are_one_finding_of_its_size() -> None:
    flight = flown(Errors())
    made = merge(
        patch_at(2.0, 1.0, 5.0, flight),
        log=flight.log,
        registration=registration(flight.ties),
        questions=(Question(name="wet patch", looking_for="area"),),
        zones={},
        settings=FindSettings(),
    )
    (one,) = made.items
    assert len(one.views) >= 3
    assert one.area_m2 == pytest.approx(100.0, rel=0.03)
    assert (one.x, one.y) == pytest.approx((2.0, 1.0), abs=0.1)


@settings(max_examples=40, deadline=None)
@given(rows=st.integers(1, 12), columns=st.integers(1, 12), left=st.integers(0, 50), top=st.integers(0, 50))
def test_the_outline_of_a_rectangle_is_its_outer_edge(rows: int, columns: int, left: int, top: int) -> None:
    """So that a pixel has an area of one."""
    shape = shapely.Polygon(outline(np.ones((rows, columns), bool), left=left, top=top))
    assert shape.area == pytest.approx(rows * columns)
    assert shape.bounds == (left - 0.5, top - 0.5, left + columns - 0.5, top + rows - 0.5)


@pytest.mark.parametrize("diameter", [12.0, 30.0, 60.0])
def test_an_outline_has_few_corners_and_keeps_the_area(diameter: float) -> None:
    mask = disc((80, 80), 40, 40, diameter) > 0.5
    corners = outline(mask)
    assert len(corners) <= MOST_CORNERS
    assert shapely.Polygon(corners).area == pytest.approx(np.count_nonzero(mask), rel=0.05)


def test_an_outline_is_that_of_the_largest_part() -> None:
    mask = np.zeros((20, 20), bool)
    mask[2:4, 2:4] = mask[8:18, 8:18] = True
    assert shapely.Polygon(outline(mask)).area == pytest.approx(100)


def masked(value: np.ndarray, hole: NDArray[np.bool_], reason: Reason) -> Field:
    return field_of(np.where(hole, np.float32(np.nan), value), np.where(hole, reason, Reason.GOOD).astype(np.uint8))


@pytest.mark.parametrize(("rise", "extreme"), [(10.0, np.max), (-10.0, np.min)])
def test_a_hole_of_saturation_takes_the_extreme_of_its_border(rise: float, extreme: object) -> None:
    shown = disc(SHAPE, 90, 80, 11.0)
    value, hole = texture(SHAPE, 6) + np.float32(rise) * shown, shown > 0.8
    picture = filled(masked(value, hole, Reason.SATURATED))
    rim = np.array(shapely.Point(90, 80).buffer(7).bounds)
    assert np.isfinite(picture).all()
    assert rim.size
    assert np.all(np.sign(rise) * (picture[hole] - LEVEL) > 3.0)
    np.testing.assert_array_equal(picture[~hole], value[~hole])
    assert extreme(picture) == picture[80, 90]  # type: ignore[operator]


def test_a_hole_of_bad_pixels_takes_what_lies_around_it() -> None:
    hole = np.zeros(SHAPE, bool)
    hole[40:52, 60:75] = hole[:3, :] = True
    value = texture(SHAPE, 7)
    picture = filled(masked(value, hole, Reason.BAD_PIXEL))
    assert np.abs(picture[hole] - LEVEL).max() < 0.6


def test_a_frame_without_any_value_gives_no_candidates() -> None:
    nothing = masked(texture(SHAPE, 8), np.ones(SHAPE, bool), Reason.BAD_PIXEL)
    assert not areas(nothing)


def region() -> Region:
    part = np.zeros((40, 40), bool)
    part[10:30, 10:30] = True
    ring = ~np.pad(np.ones((28, 28), bool), 6)
    return Region("spot", 1, part, ring, 20, 30, 9.0, 0.0)


@pytest.mark.parametrize("offset", [0.5, 5.0, 50.0])
def test_what_is_shared_by_the_flight_cancels_in_the_rise(offset: float) -> None:
    """Calibration off by kelvins: the value is in doubt by all of it, the difference by none (GUM 5.2.2)."""
    value = texture(SHAPE, 9, 0.0)
    value[30:50, 40:60] += 4
    one = measured(field_of(value, calibration=offset), value, region(), "f")
    assert one is not None
    assert one.rise == pytest.approx(4.0, abs=0.05)
    assert one.rise_sd < 0.02
    assert one.value_sd == pytest.approx(offset, rel=0.01)


def test_what_differs_between_a_spot_and_its_surroundings_does_not_cancel() -> None:
    """Emissivity: 2 K in the core and 0.5 K around it leave 1.5 K."""
    value, felt = texture(SHAPE, 10, 0.0), np.full(SHAPE, 0.5)
    value[30:50, 40:60] += 4
    felt[30:50, 40:60] = 2.0
    one = measured(field_of(value, emissivity=felt), value, region(), "f")
    assert one is not None
    assert one.rise_sd == pytest.approx(1.5, rel=0.02)
    assert one.value_sd == pytest.approx(2.0, rel=0.02)


def test_clutter_around_a_spot_is_part_of_the_doubt_of_its_rise() -> None:
    value = texture(SHAPE, 11, 0.0)
    plain = region()
    busy = Region("spot", 1, plain.part, plain.ring, 20, 30, 9.0, 0.7)
    one = measured(field_of(value), value, busy, "f")
    assert one is not None
    assert one.rise_sd == pytest.approx(0.7, abs=NOISE)


def test_one_saturated_pixel_masks_a_spot_and_a_few_bad_ones_do_not() -> None:
    value = texture(SHAPE, 12, 0.0)
    for reason, words in ((Reason.SATURATED, "saturated"), (Reason.BAD_PIXEL, "")):
        mask = np.zeros(SHAPE, np.uint8)
        mask[35, 45] = reason
        one = measured(field_of(value, mask), value, region(), "f")
        assert one is not None
        assert (words in one.masked) if words else one.masked == ""


def test_sizes_asked_in_metres_are_in_pixels_of_the_frame_and_a_rise_needs_kelvins() -> None:
    asked = Question(name="cell", smallest_m=0.15, largest_m=0.6, sign="cold", least_rise_k=2.0, sigmas=7.0)
    (near,) = searches([asked], FindSettings(), shape=SHAPE, metres_per_pixel=0.05)
    (far,) = searches([asked], FindSettings(), shape=SHAPE, metres_per_pixel=0.10, unit="counts")
    assert (near.smallest_px, near.largest_px) == pytest.approx((3.0, 12.0))
    assert (far.smallest_px, far.largest_px) == pytest.approx((1.5, 6.0))
    assert (near.signs, near.sigmas, near.least_rise, far.least_rise) == ((-1,), 7.0, 2.0, 0.0)


def test_sizes_in_metres_without_a_scale_fall_back_to_pixels() -> None:
    asked = Question(name="cell", smallest_m=0.15, smallest_px=5.0, largest_m=0.6)
    (one,) = searches([asked], FindSettings(), shape=SHAPE, metres_per_pixel=None)
    assert (one.smallest_px, one.largest_px) == (5.0, FindSettings().most_px)
