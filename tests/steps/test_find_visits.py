"""Findings of several flights of a visit: the common shift between flights, and what becomes one finding."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.steps.find_flights import ORIGIN

from groundglow.frames.places import LocalPlane
from groundglow.records.finding import Finding, Findings, Support
from groundglow.steps.find import merge_flights

PLANE = LocalPlane(ORIGIN)
ASKED = {"warm spot": 4.5}
PLACES = [(0.0, 0.0), (9.0, 2.0), (-7.0, 11.0), (4.0, -13.0), (-15.0, -6.0)]


def finding(flight: str, x: float, y: float, **changed: object) -> Finding:
    """A thing of half a metre found by one flight."""
    lon, lat = PLANE.to_geographic(x, y)
    plain: dict[str, object] = {
        "id": f"{flight}{x:.1f}/{y:.1f}",
        "number": 0,
        "question": "warm spot",
        "flight": f"2030-05-01/{flight}",
        "shape_kind": "spot",
        "sign": 1,
        "unit": "K",
        "frame": "f.tif",
        "box": (0, 0, 6, 6),
        "area_px": 30,
        "area_m2": 0.2,
        "size_m": 0.5,
        "lon_deg": float(lon),
        "lat_deg": float(lat),
        "x": x,
        "y": y,
        "position_sd_m": 1.5,
        **dict.fromkeys(("peak", "mean", "mean_low", "mean_high"), 300.0),
        "background": 290.0,
        **dict.fromkeys(("rise", "rise_low", "rise_high"), 10.0),
        "contrast_noise": 9.0,
        "support": Support.DETECTED_ONLY,
        "support_reason": "",
        "status": "found",
        "reason": "seen in 4 of 5 frames",
        "cause": "",
        "in_view": 5,
        "views": (),
    }
    return Finding(**{**plain, **changed})  # type: ignore[arg-type]


def listed(*some: Finding) -> Findings:
    return Findings(some, ())


def together(one: list[Finding], other: list[Finding]) -> tuple[Finding, ...]:
    return merge_flights([listed(*one), listed(*other)], ASKED).items


@pytest.mark.parametrize("shift", [(0.0, 0.0), (2.1, -1.4), (-2.5, 0.8)])
def test_the_shift_that_all_places_share_is_found_and_all_are_joined(shift: tuple[float, float]) -> None:
    """Two flights lie two metres apart as a whole; singly, neighbours could be taken for one another."""
    rng = np.random.default_rng(3)
    one = [finding("a", *p) for p in PLACES]
    other = [finding("b", *(np.array(p) + shift + rng.normal(0, 0.15, 2))) for p in PLACES]
    made = together(one, other)
    assert len(made) == len(PLACES)
    assert all("also seen in 4 of 5 frames of b" in f.reason or "of a" in f.reason for f in made)


def test_with_a_common_shift_neighbours_closer_than_the_shift_go_to_their_own() -> None:
    """A row of things two metres apart, the other flight shifted by two metres along it: ends stay single."""
    row = [(2.0 * k, 0.3 * k * k) for k in range(6)]
    one = [finding("a", *p, rise=10.0 + k) for k, p in enumerate(row)]
    other = [finding("b", p[0] + 1.9, p[1] + 0.4, rise=10.0 + k) for k, p in enumerate(row)]
    made = together(one, other)
    assert len(made) == len(row)


@settings(max_examples=25, deadline=None)
@given(east=st.floats(-2.5, 2.5), north=st.floats(-2.5, 2.5), seed=st.integers(0, 2**16))
def test_what_only_one_flight_saw_stays_whatever_the_shift(east: float, north: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    one = [finding("a", *p) for p in PLACES]
    other = [finding("b", *np.add(p, (east, north)) + rng.normal(0, 0.1, 2)) for p in PLACES[:4]]
    alone = finding("b", 40.0, 40.0)
    made = together(one, [*other, alone])
    assert len(made) == len(PLACES) + 1
    assert sum("; also" in f.reason for f in made) == 4


def test_a_lone_pair_within_its_doubt_is_joined_and_one_with_a_rival_is_not() -> None:
    """Two things give no common shift: only what has no rival is believed."""
    assert len(together([finding("a", 0, 0)], [finding("b", 1.5, 1.0)])) == 1
    assert len(together([finding("a", 0, 0)], [finding("b", 1.5, 1.0), finding("b", -1.0, 1.5)])) == 3
    assert len(together([finding("a", 0, 0)], [finding("b", 9.0, 0.0)])) == 2


@pytest.mark.parametrize(
    "changed",
    [{"sign": -1, "rise": -10.0}, {"size_m": 2.0}, {"rise": 70.0}, {"question": "other"}, {"status": "dismissed"}],
)
def test_what_is_not_alike_is_not_joined(changed: dict[str, object]) -> None:
    made = merge_flights(
        [listed(finding("a", 0, 0)), listed(finding("b", 0.5, 0.5, **changed))], {**ASKED, "other": 4.5}
    )
    assert len(made.items) == 2


def test_two_weak_sights_of_two_flights_do_not_become_a_find_and_strong_ones_do() -> None:
    def pair(sigmas: float) -> tuple[Finding, ...]:
        return together(*([finding(f, 0, 0, status="unconfirmed", contrast_noise=sigmas)] for f in "ab"))

    assert [f.status for f in pair(4.0)] == ["unconfirmed"]
    assert [f.status for f in pair(6.0)] == ["found"]


def test_what_one_flight_found_stays_found_with_a_weak_sight_of_another() -> None:
    made = together([finding("a", 0, 0)], [finding("b", 0.5, 0.5, status="unconfirmed", contrast_noise=4.0)])
    assert [f.status for f in made] == ["found"]


def test_a_joined_place_lies_between_both_by_their_doubts() -> None:
    """Weights by variance (JCGM 100:2008, 5.1.2): 1 m and 2 m give 4 to 1, and 2 / sqrt(5) m."""
    sure, unsure = finding("a", 0, 0, position_sd_m=1.0), finding("b", 1.0, -0.5, position_sd_m=2.0)
    (one,) = together([sure], [unsure])
    assert (one.x, one.y) == pytest.approx((0.2, -0.1), abs=1e-6)
    assert one.position_sd_m == pytest.approx(2 / np.sqrt(5))
    assert PLANE.to_local(one.lon_deg, one.lat_deg) == pytest.approx((0.2, -0.1), abs=1e-6)


def test_findings_of_two_visits_are_never_joined() -> None:
    """What was there in spring and in autumn is compared elsewhere, not merged away."""
    later = replace(finding("b", 0, 0), flight="2030-09-01/b")
    assert len(together([finding("a", 0, 0)], [later])) == 2


def test_numbers_run_on_over_all_flights_and_notes_are_kept() -> None:
    one = Findings((finding("a", 0, 0, contrast_noise=5.0),), ("note of a",))
    other = Findings(
        (finding("b", 30, 0), finding("b", 60, 0, status="dismissed", contrast_noise=50.0)), ("note of b",)
    )
    made = merge_flights([one, other], ASKED)
    assert [(f.number, f.contrast_noise) for f in made.items] == [(1, 9.0), (2, 5.0), (3, 50.0)]
    assert made.notes == ("note of a", "note of b")


def test_the_order_in_which_a_flight_lists_its_findings_decides_nothing() -> None:
    one = [finding("a", *p) for p in PLACES]
    other = [finding("b", p[0] + 1.0, p[1] - 1.0) for p in PLACES]
    assert together(one, other) == together(one[::-1], other[::-1])
