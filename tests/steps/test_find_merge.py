"""From sights to findings: what is one thing, what is on the ground, what is said of it, in which order."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from tests.steps.find_flights import (
    PIXEL_M,
    PLAIN,
    SHAPE,
    Errors,
    Flown,
    by_frame,
    flown,
    registration,
    sight_of,
    sights,
)

from groundglow.errors import InputError
from groundglow.records.brief import Question
from groundglow.records.finding import Candidate, Finding, Findings, Support
from groundglow.steps.find import FindSettings, merge
from groundglow.steps.find.merge import numbered
from groundglow.steps.find.support import support

SPOT = Question(name="warm spot", looking_for="spot", sign="hot")


@pytest.fixture(scope="module")
def flight() -> Flown:
    """Twelve frames in three lines, recorded as they were flown."""
    return flown(Errors())


def merged(flight: Flown, *some: list[Candidate], question: Question = SPOT, **zones: shapely.Geometry) -> Findings:
    return merge(
        by_frame(flight, *some),
        log=flight.log,
        registration=registration(flight.ties),
        questions=(question,),
        zones=zones,
        settings=FindSettings(),
    )


def test_sights_of_one_thing_in_tied_frames_are_one_finding_at_its_place(flight: Flown) -> None:
    seen = sights(flight, 3.0, -4.0)
    (one,) = merged(flight, seen).items
    assert len(seen) >= 4
    assert (one.status, len(one.views), one.in_view) == ("found", len(seen), len(seen))
    assert one.x == pytest.approx(3.0, abs=0.02)
    assert one.y == pytest.approx(-4.0, abs=0.02)
    assert one.size_m == pytest.approx(PIXEL_M * np.sqrt(4 / np.pi * PLAIN.area_px), rel=0.05)


def test_two_neighbours_stay_two(flight: Flown) -> None:
    """Two metres apart, eight pixels: each sight goes to its own."""
    two = merged(flight, sights(flight, 3.0, -4.0), sights(flight, 5.0, -4.0)).found
    assert sorted(round(f.x or 0.0, 1) for f in two) == [3.0, 5.0]
    assert all(len(f.views) == len({v.candidate.frame for v in f.views}) for f in two)


def test_a_warm_and_a_cold_thing_at_one_place_are_not_one(flight: Flown) -> None:
    cold = sights(flight, 3.0, -4.0, sign=-1, rise=-10.0)
    both = merged(flight, sights(flight, 3.0, -4.0), cold, question=SPOT.model_copy(update={"sign": "both"})).found
    assert sorted(f.sign for f in both) == [-1, 1]


def test_a_thing_that_stands_above_the_ground_is_one_finding(flight: Flown) -> None:
    """A clamp five metres up shifts between frames by its parallax."""
    (one,) = merged(flight, sights(flight, 3.0, -4.0, 5.0)).items
    assert one.status == "found"


def test_a_reflection_that_moves_with_the_camera_is_dismissed_with_that_reason(flight: Flown) -> None:
    fixed = [sight_of(frame, 120.0, 96.0) for frame in flight.truth]
    made = merged(flight, fixed)
    assert not made.found
    alone = [f for f in made.items if len(f.views) == 1]
    assert alone
    assert all(f.status == "dismissed" and "moves with the camera" in f.reason for f in alone)


def test_a_bird_is_dismissed_as_not_seen_again(flight: Flown) -> None:
    """One frame of several that had its place in view."""
    (one,) = merged(flight, sights(flight, 3.0, -4.0)[:1]).items
    assert one.status == "dismissed"
    assert "not seen again" in one.reason
    assert one.in_view >= 4


def test_what_only_one_frame_had_in_view_is_unconfirmed(flight: Flown) -> None:
    """The outer corner of the first frame: nobody else could have seen it."""
    first = next(iter(flight.truth))
    corners = [sight_of(first, c, r) for c in (20.0, SHAPE[1] - 21.0) for r in (20.0, SHAPE[0] - 21.0)]
    made = [merged(flight, [c]).items[0] for c in corners]
    alone = [f for f in made if f.in_view == 1]
    assert alone
    assert all(f.status == "unconfirmed" and "no other frame" in f.reason for f in alone)


def test_what_is_weak_in_half_of_the_frames_is_unconfirmed(flight: Flown) -> None:
    """Seen in all, but as strong as asked in fewer than half."""
    seen = sights(flight, 3.0, -4.0)
    weak = [replace(c, contrast_noise=4.0 if k > len(seen) // 3 else 9.0) for k, c in enumerate(seen)]
    (one,) = merged(flight, weak).items
    assert one.status == "unconfirmed"
    assert f"less than {FindSettings().sigmas:g} sigmas" in one.reason


def test_what_is_missing_in_most_frames_is_unconfirmed(flight: Flown) -> None:
    """Two of many that had its place in view: less than the share that is asked for."""
    seen = sights(flight, 3.0, -4.0)
    (one,) = merged(flight, seen[: max(2, int(0.39 * len(seen)))]).items
    assert one.status == "unconfirmed"
    assert f"of {len(seen)} frames" in one.reason


def test_identities_stay_when_run_again_and_differ_by_place(flight: Flown) -> None:
    """Also when another thing is found beside it: reviews hang on the identity."""
    (one,) = merged(flight, sights(flight, 3.0, -4.0)).items
    two = merged(flight, sights(flight, -9.0, 6.0), sights(flight, 3.0, -4.0)).items
    assert one.id in {f.id for f in two}
    assert len({f.id for f in two}) == 2


def test_findings_are_numbered_found_first_then_by_strength(flight: Flown) -> None:
    some = [sights(flight, x, 0.0, contrast_noise=s) for x, s in ((-12.0, 6.0), (0.0, 20.0), (12.0, 12.0))]
    bird = sights(flight, 5.0, 9.0, contrast_noise=50.0)[:1]
    items = merged(flight, *some, bird).items
    assert [f.number for f in items] == [1, 2, 3, 4]
    assert [(f.status, f.contrast_noise) for f in items] == [
        ("found", 20.0),
        ("found", 12.0),
        ("found", 6.0),
        ("dismissed", 50.0),
    ]


def test_two_things_within_a_metre_get_identities_that_differ(flight: Flown) -> None:
    (one,) = merged(flight, sights(flight, 3.0, -4.0)).items
    ids = [f.id for f in numbered([one, replace(one, contrast_noise=5.0), replace(one, contrast_noise=4.9)])]
    assert len(set(ids)) == 3
    assert ids[0] == one.id


def test_only_what_lies_in_its_zone_or_within_its_doubt_answers(flight: Flown) -> None:
    zoned = SPOT.model_copy(update={"zone": "roof"})
    near, far = sights(flight, 3.0, -4.0), sights(flight, -14.0, -4.0)
    made = merged(flight, near, far, question=zoned, roof=shapely.box(0, -8, 8, 0))
    assert [round(f.x or 0.0) for f in made.items] == [3]


def test_a_question_for_a_zone_that_is_not_there_is_refused_with_the_names_that_are(flight: Flown) -> None:
    zoned = SPOT.model_copy(update={"zone": "rof"})
    with pytest.raises(InputError, match=r"'rof'; the site has roof"):
        merged(flight, sights(flight, 3.0, -4.0), question=zoned, roof=shapely.box(0, -8, 8, 0))


def test_without_metres_zones_limit_nothing_and_the_list_says_so(flight: Flown) -> None:
    unscaled = replace(flight, log=replace(flight.log, metres_per_unit=None, origin=None))
    zoned = SPOT.model_copy(update={"zone": "roof"})
    made = merged(unscaled, sights(flight, 3.0, -4.0), question=zoned, roof=shapely.box(50, 50, 60, 60))
    assert len(made.found) == 1
    assert made.found[0].x is made.found[0].position_sd_m is made.found[0].area_m2 is None
    assert "limit nothing" in made.notes[0]


def test_findings_survive_their_text_form(flight: Flown) -> None:
    made = merged(flight, sights(flight, 3.0, -4.0))
    assert Findings.from_json(made.to_json()) == made


WIDE = replace(PLAIN, box=(0, 0, 12, 12), area_px=120)


@pytest.mark.parametrize(
    ("candidate", "unit", "accuracy", "level", "word"),
    [
        (replace(PLAIN, box=(4, 4, 6, 9), area_px=8), "K", None, Support.DETECTED_ONLY, "3 x 3"),
        (replace(PLAIN, box=(0, 0, 9, 9), area_px=70), "K", None, Support.DETECTED_ONLY, "10 x 10"),
        (WIDE, "K", None, Support.SUPPORTED, "no accuracy was asked"),
        (replace(WIDE, value_sd=1.0), "K", 2.0, Support.SUPPORTED, "asked"),
        (replace(WIDE, value_sd=1.1), "K", 2.0, Support.NOT_SUPPORTED, "2.2"),
        (replace(WIDE, masked="saturated: the end"), "K", None, Support.NOT_SUPPORTED, "saturated"),
        (replace(WIDE, at_border=True), "K", None, Support.NOT_SUPPORTED, "border"),
        (replace(WIDE, box=(0, 0, 40, 4)), "K", None, Support.DETECTED_ONLY, "4 px"),
        (WIDE, "counts", None, Support.NOT_SUPPORTED, "calibration"),
    ],
)
def test_a_reading_is_trusted_by_its_pixels_its_mask_and_its_interval(
    candidate: Candidate, unit: str, accuracy: float | None, level: Support, word: str
) -> None:
    """Under 3 x 3 px a reading means nothing, under 10 x 10 it is diluted (common practice, no source)."""
    given, reason = support(candidate, unit, accuracy)
    assert given is level
    assert word in reason


def test_intervals_are_of_ninety_five_percent_about_the_best_sight(flight: Flown) -> None:
    """1.96 standard deviations of a normal law; the best sight is whole and nearest to the frame's middle."""
    seen = sights(flight, 3.0, -4.0)
    (one,) = merged(flight, seen).items
    middle = min(seen, key=lambda c: np.hypot(c.column - 119.5, c.row - 95.5))
    assert one.frame == middle.frame
    assert (one.rise_high - one.rise_low) / 2 == pytest.approx(1.96 * PLAIN.rise_sd, rel=1e-3)
    assert (one.mean_high - one.mean_low) / 2 == pytest.approx(1.96 * PLAIN.value_sd, rel=1e-3)


def test_the_best_sight_is_whole_and_read_rather_than_cut_or_saturated(flight: Flown) -> None:
    seen = sights(flight, 3.0, -4.0)
    middle = min(seen, key=lambda c: np.hypot(c.column - 119.5, c.row - 95.5))
    seen[seen.index(middle)] = replace(middle, masked="saturated")
    one: Finding = merged(flight, seen).items[0]
    assert one.frame != middle.frame
    assert one.support is not Support.NOT_SUPPORTED
