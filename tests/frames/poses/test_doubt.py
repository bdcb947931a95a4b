"""What nobody said of the doubt of poses is taken wide and listed."""

from __future__ import annotations

import numpy as np

from groundglow.frames.poses.doubt import DEFAULTS, sd_of_log, stated_doubt
from groundglow.frames.poses.log import PoseLog
from groundglow.records.flight import PosesSpec


def test_every_default_is_listed_until_it_is_stated() -> None:
    """One note names them all; none when everything was said."""
    (note,) = stated_doubt(PosesSpec()).notes
    assert all(name in note for name in DEFAULTS)
    said = PosesSpec.model_validate(dict.fromkeys(DEFAULTS, 0.25))
    doubt = stated_doubt(said)
    assert doubt.notes == ()
    assert {getattr(doubt, name) for name in DEFAULTS} == {0.25}


def test_a_stated_zero_is_not_a_silence() -> None:
    """Exact positions of a simulation are allowed."""
    assert stated_doubt(PosesSpec(position_sd_m=0.0)).position_sd_m == 0.0


def test_doubts_of_the_log_win_where_they_are_there_and_not_negative() -> None:
    """Row by row and column by column."""
    log = PoseLog("log", ("a", "b", "c"), (None,) * 3, {"x_sd": np.array([0.5, np.nan, -1.0])})
    np.testing.assert_array_equal(sd_of_log(log, ("x", "y"), np.array([2.0, 3.0])), [[0.5, 3], [2, 3], [2, 3]])
