"""A whole flight registered as a runner does it: pattern, ties, levels, agreement, notes."""

from __future__ import annotations

import dataclasses
import json
import math
import pickle
from collections.abc import Sequence

import numpy as np
import pytest
from tests.steps.test_register_scene import NOISE, SHAPE, Flight, make_flight, two_lines

from groundglow.records.tie import Registration
from groundglow.steps.register import (
    Registered,
    RegisterSettings,
    candidate_pairs,
    describe_frame,
    estimate_fine_pattern,
    solve,
    tie_pair,
)

SMALL = RegisterSettings(features=500, cell_blocks=6)


def _register(flight: Flight, settings: RegisterSettings = SMALL, names: Sequence[str] | None = None) -> Registered:
    fine = estimate_fine_pattern(names or flight.names, flight.load, settings)
    described = {n: describe_frame(n, flight.load, fine[0], settings) for n in flight.names}
    pairs = candidate_pairs(flight.log, settings=settings)
    links = [tie_pair(c, described[c.a], described[c.b], settings) for c in pairs]
    return solve(
        flight.log,
        [x for x in links if x is not None],
        lambda n: described[n].blocks,
        fine=fine,
        unit="counts",
        settings=settings,
    )


@pytest.fixture(scope="module")
def flight() -> Flight:
    return make_flight(two_lines())


@pytest.fixture(scope="module")
def made(flight: Flight) -> Registered:
    return _register(flight)


def test_the_fixed_pattern_is_found_at_all_scales(flight: Flight, made: Registered) -> None:
    off = made.pattern - flight.pattern
    assert made.pattern.dtype == np.float32
    assert made.pattern.shape == SHAPE
    assert abs(float(made.pattern.mean())) < 1e-3
    assert off.std() < 0.4 * flight.pattern.std()
    assert np.corrcoef(made.pattern.ravel(), flight.pattern.ravel())[0, 1] > 0.93
    assert 0.4 < made.registration.pattern_sd / off.std() < 2.5


def test_the_levels_are_found_within_their_uncertainty(flight: Flight, made: Registered) -> None:
    levels = made.registration.levels
    off = np.array([x.offset for x in levels]) - flight.levels
    doubt = np.array([x.standard_uncertainty for x in levels])
    assert off.std() < 0.1 * flight.levels.std()
    assert np.mean(np.abs(off) < 2 * doubt) > 0.9


def test_a_line_flown_one_way_states_what_its_overlaps_cannot_tell() -> None:
    """Known levels with a drift: the doubt holds the ramp that a slope of the pattern could explain as well."""
    flight = make_flight([(0.3 * math.sin(k), 9.6 * k - 50.0, False) for k in range(11)])
    ramp = 3.0 * np.arange(11.0)
    values = {n: (v + r).astype(np.float32) for (n, v), r in zip(flight.values.items(), ramp, strict=True)}
    made = _register(dataclasses.replace(flight, values=values))
    truth = flight.levels + ramp - ramp.mean()
    off = np.array([x.offset for x in made.registration.levels]) - truth
    doubt = np.array([x.standard_uncertainty for x in made.registration.levels])
    assert np.mean(np.abs(off) < 1.96 * doubt) > 0.9
    assert doubt.max() > 1.0
    assert any("ramp of levels" in n for n in made.registration.notes)


def test_overlaps_agree_afterwards_also_where_they_took_no_part(made: Registered) -> None:
    agreement = made.registration.agreement
    assert agreement["before_median"] > 3.0
    assert agreement["after_median"] < 0.1 * agreement["before_median"]
    assert agreement["after_p95"] < 0.1 * agreement["before_p95"]
    assert agreement["held_out_median"] < NOISE
    assert agreement["crossing_median"] < NOISE
    held_out = [t for t in made.registration.ties if t.held_out]
    assert held_out
    assert len(held_out) < len(made.registration.ties) / 3


def test_level_differences_of_ties_have_the_pattern_removed(flight: Flight, made: Registered) -> None:
    level = dict(zip(flight.names, flight.levels, strict=True))
    off = [t.level_difference - level[t.a] + level[t.b] for t in made.registration.ties]
    assert np.median(np.abs(off)) < 0.3


def test_the_record_says_how_many_frames_are_tied_and_how_well(made: Registered) -> None:
    note = next(n for n in made.registration.notes if "ties join" in n)
    assert "20 of 20 frames" in note
    assert "px" in note
    again = Registration.from_json(made.registration.to_json())
    assert again == made.registration
    assert all(math.isfinite(v) for v in json.loads(made.registration.to_json())["agreement"].values())


def test_the_same_flight_gives_the_same_bytes(flight: Flight, made: Registered) -> None:
    again = _register(flight)
    assert again.registration.to_json() == made.registration.to_json()
    assert again.pattern.tobytes() == made.pattern.tobytes()


def test_slopes_are_kept_only_where_they_help_pairs_that_took_no_part(flight: Flight) -> None:
    settings = dataclasses.replace(SMALL, slopes=True)
    assert _register(flight, settings).slopes == {}
    rng = np.random.default_rng(12)
    row, column = np.mgrid[-1 : 1 : SHAPE[0] * 1j, -1 : 1 : SHAPE[1] * 1j]
    slopes = rng.normal(0, 5, (len(flight.names), 2))
    values = {
        n: (v + x * column + y * row).astype(np.float32)
        for (n, v), (x, y) in zip(flight.values.items(), slopes, strict=True)
    }
    sloped = dataclasses.replace(flight, values=values)
    with_slopes, without = _register(sloped, settings), _register(sloped)
    assert set(with_slopes.slopes) == set(flight.names)
    found = np.array([with_slopes.slopes[n] for n in flight.names])
    off = found - found.mean(axis=0) - (slopes - slopes.mean(axis=0))
    assert off.std() < 0.6 * slopes.std()
    kept, lost = (x.registration.agreement["held_out_p95"] for x in (with_slopes, without))
    assert kept < 0.5 * lost


def test_two_sites_on_one_flight_are_two_groups() -> None:
    near = two_lines(5)
    flight = make_flight([(x + east, y, t) for east in (-48.0, 48.0) for x, y, t in near])
    registration = _register(flight).registration
    assert all(x.tied for x in registration.levels)
    assert any("2 groups" in n for n in registration.notes)
    for part in (slice(0, 10), slice(10, 20)):
        assert sum(x.offset for x in registration.levels[part]) == pytest.approx(0.0, abs=1e-6)


def test_a_frame_with_nothing_to_match_stays_untied_and_costs_nothing(flight: Flight) -> None:
    blank = flight.names[6]
    noise = np.random.default_rng(1).normal(40.0, NOISE, SHAPE).astype(np.float32)
    spoilt = dataclasses.replace(flight, values={**flight.values, blank: noise})
    registration = _register(spoilt, names=[n for n in flight.names if n != blank]).registration
    assert [x.frame for x in registration.levels if not x.tied] == [blank]
    assert any(blank in n for n in registration.notes)
    off = np.array([x.offset - t for x, t in zip(registration.levels, flight.levels, strict=True) if x.tied])
    assert off.std() < 0.15 * flight.levels.std()


def test_a_flight_of_one_frame_is_registered_with_an_empty_hand() -> None:
    flight = make_flight([(0.0, 0.0, False)])
    made = _register(flight)
    assert made.registration.ties == ()
    assert made.registration.agreement == {}
    assert not made.pattern.any()
    assert not made.registration.level(flight.names[0]).tied
    Registration.from_json(made.registration.to_json())


def test_work_can_be_handed_to_other_processes(flight: Flight) -> None:
    fine = np.zeros(SHAPE, np.float32)
    candidate = candidate_pairs(flight.log)[0]
    a, b = (describe_frame(n, flight.load, fine, SMALL) for n in (candidate.a, candidate.b))
    handed = pickle.loads(pickle.dumps((candidate, a, b, SMALL)))
    link, again = tie_pair(candidate, a, b, SMALL), tie_pair(*handed)
    assert link is not None
    assert again is not None
    assert pickle.loads(pickle.dumps(link)).tie == again.tie
