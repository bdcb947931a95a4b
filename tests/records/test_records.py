"""Records travel unchanged, and files a person writes are refused in plain words."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import FileError, FrameError, GroundglowError, InputError, RangeError, exit_code, http_status
from groundglow.model.doubt import Doubt
from groundglow.records.brief import Brief
from groundglow.records.field import Field
from groundglow.records.finding import (
    Candidate,
    Finding,
    Findings,
    Support,
    View,
    candidates_from_json,
    candidates_to_json,
)
from groundglow.records.frame import Pose
from groundglow.records.log import FlightLog, LogEntry, Origin
from groundglow.records.tie import Level, Registration, Tie
from groundglow.records.visit import CONDITION_DEFAULTS, Conditions

QUESTION = {"name": "warm spots", "smallest_m": 0.1}


def brief(**more: object) -> Brief:
    return Brief.parse({"title": "t", "site": {"name": "s"}, "question": [QUESTION], **more}, "brief.toml")


def test_a_misspelt_field_is_refused_with_the_nearest_known_name() -> None:
    with pytest.raises(InputError, match=r"brief.toml: titel is not a known field \(did you mean title\?\)"):
        brief(titel="x")


def test_a_misspelt_field_within_a_question_is_named_with_its_place() -> None:
    with pytest.raises(InputError, match=r"question.0.smalest_m is not a known field \(did you mean smallest_m\?\)"):
        Brief.parse({"title": "t", "site": {"name": "s"}, "question": [{"name": "x", "smalest_m": 1}]}, "brief.toml")


def test_a_missing_field_and_a_wrong_number_are_both_told_at_once() -> None:
    with pytest.raises(InputError, match=r"title is missing: add it; .*lon_deg: .*found 200"):
        Brief.parse({"site": {"name": "s", "lon_deg": 200}, "question": [QUESTION]}, "brief.toml")


@pytest.mark.parametrize(
    ("error", "code", "status"),
    [(InputError("x"), 2, 422), (FileError("p", "w"), 2, 404), (FrameError("x"), 2, 422)],
)
def test_each_error_has_an_exit_code_and_a_status(error: GroundglowError, code: int, status: int) -> None:
    assert (exit_code(error), http_status(error)) == (code, status)


def test_errors_travel_between_processes_with_their_parts() -> None:
    import pickle

    error = pickle.loads(pickle.dumps(RangeError("emissivity", 1.2, "", "0 < e <= 1", "a share", "Check.")))
    assert (error.name, error.value, error.hint) == ("emissivity", 1.2, "Check.")
    assert pickle.loads(pickle.dumps(FileError("a.tif", "is empty"))).path == "a.tif"


def test_a_field_refuses_parts_of_different_shapes() -> None:
    with pytest.raises(InputError, match="differ in shape"):
        Field(np.zeros((2, 2), np.float32), Doubt(np.zeros((2, 3))), np.zeros((2, 2), np.uint8), "x", "K")


def test_a_flight_log_reads_back_as_it_was_written() -> None:
    pose = Pose(np.arange(3.0), np.eye(3), np.ones(3), np.full(3, 0.01))
    entries = (
        LogEntry("a.tif", "v/a.tif", 1.5, pose, "", {"median": 3.0}),
        LogEntry("b.tif", "v/b.tif", None, None, "truncated", {}),
    )
    log = FlightLog("v/f", (512, 640), "counts", 1083.3, Origin(1.0, 2.0, 3.0), 1.0, 0.0, 2.0, entries, ("said",))
    back = FlightLog.from_json(log.to_json())
    assert back.to_json() == log.to_json()
    assert [e.name for e in back.used] == ["a.tif"]
    np.testing.assert_array_equal(back.entry("a.tif").pose.rotation, pose.rotation)  # type: ignore[union-attr]


def test_a_registration_reads_back_and_an_untied_frame_has_level_zero() -> None:
    tie = Tie("a", "b", tuple(map(float, range(9))), 40, 0.5, 0.8, 1.5, 0.1)
    made = Registration("v/f", "counts", (tie,), (Level("a", 1.0, 0.1, tied=True),), {"after_median": 0.4}, 0.5, ())
    back = Registration.from_json(made.to_json())
    assert back == made
    assert back.level("zz") == Level("zz", 0.0, 0.0, tied=False)


def candidate() -> Candidate:
    return Candidate(
        "a.tif", "spot", 1, 3.0, 4.0, (1, 2, 5, 6), 9, 301.0, 300.5, 298.0, 2.5, 0.2, 1.5, 8.0, False, "",
        ((1.0, 2.0), (5.0, 2.0), (5.0, 6.0)),
    )  # fmt: skip


def test_candidates_and_findings_read_back_as_they_were_written() -> None:
    one = candidate()
    assert candidates_from_json(candidates_to_json([one])) == (one,)
    view = View(one, 1.0, 2.0, 3.0)
    finding = Finding(
        "id", 1, "q", "v/f", "spot", 1, "K", "a.tif", one.box, 9, 0.1, 0.3, 10.0, 50.0, 1.0, 2.0, 3.0, 301.0, 300.5,
        297.0, 304.0, 298.0, 2.5, 2.1, 2.9, 8.0, Support.DETECTED_ONLY, "small", "found", "", "not judged", 3, (view,),
    )  # fmt: skip
    made = Findings((finding,), ("note",))
    assert Findings.from_json(made.to_json()) == made
    assert made.found == (finding,)


def test_conditions_are_interpolated_in_time_and_held_at_the_ends() -> None:
    made = Conditions(np.array([0.0, 10.0]), {"air_temperature": np.array([280.0, 290.0])}, {})
    assert [made.at("air_temperature", t).value for t in (-5.0, 5.0, 99.0)] == [280.0, 285.0, 290.0]
    assert not made.at("air_temperature", 5.0).assumed


def test_an_unknown_condition_has_a_wide_default_and_says_that_it_is_assumed() -> None:
    got = Conditions(np.zeros(0), {}, {}).at("relative_humidity", 5.0)
    assert (got.value, got.standard_uncertainty) == CONDITION_DEFAULTS["relative_humidity"]
    assert got.assumed
