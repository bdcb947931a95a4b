"""A pose log as columns: what is there, what is blank, and where a row stood."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from groundglow.frames.poses.log import ANGLES, GEOGRAPHIC, log_of_stamps, read_log
from groundglow.records.flight import PosesSpec
from groundglow.records.frame import Stamp

Write = Callable[[str, str], Path]


def test_columns_are_numbers_with_blanks_as_nan(written: Write) -> None:
    """Columns that we do not know are noted; columns of ours that are absent are all blank."""
    path = written("log.csv", "frame,lon_deg,lat_deg,signal\nsub\\a.tif,8.5,47,strong\nb.tif,,47.5,weak\n")
    log = read_log(path, PosesSpec())
    assert log.frames == ("a.tif", "b.tif")
    np.testing.assert_array_equal(log.table(GEOGRAPHIC), [[8.5, 47, np.nan], [np.nan, 47.5, np.nan]])
    assert log.notes == ("log.csv: columns not used: signal",)
    assert log.place(1) == f"{path}, row 3"
    assert log.times == (None, None)


def test_a_set_of_columns_counts_when_one_row_fills_all_of_them(written: Write) -> None:
    """Angles that are half given are no angles."""
    path = written("log.csv", "frame,lon_deg,lat_deg,yaw_deg,pitch_deg,roll_deg\na,8,47,1,,\nb,8,47,,2,\n")
    log = read_log(path, PosesSpec())
    assert log.has(GEOGRAPHIC[:2])
    assert not log.has(ANGLES)


def test_several_rows_without_a_frame_are_no_duplicates(written: Write) -> None:
    """A log by time names none."""
    path = written("log.csv", "time_utc,x,y,z\n2026-02-03T04:00:00Z,1,2,3\n2026-02-03T04:00:01Z,1,2,3\n")
    assert read_log(path, PosesSpec()).frames == ("", "")


def test_the_log_of_exif_is_in_order_of_time_then_name() -> None:
    """Frames without time keep the order of their names."""
    log = log_of_stamps({"b": Stamp(time=2.0), "c": Stamp(time=1.0), "a": Stamp(time=2.0, yaw_deg=4.0)})
    assert log.frames == ("c", "a", "b")
    assert log.table(("yaw_deg",))[1, 0] == 4.0
    assert log.place(0) == "Exif, c"
