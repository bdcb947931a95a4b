"""Times of logs and cameras become UTC seconds, and text that is no time is told apart."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundglow.errors import InputError
from groundglow.frames.clock import clock_time, iso_text, iso_time, zone_of


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("2026-02-03T04:05:06Z", 1770091506.0),  # date -u -d 2026-02-03T04:05:06 +%s
        ("2026-02-03 04:05:06", 1770091506.0),
        ("2026-02-03T05:05:06+01:00", 1770091506.0),
        ("2026-02-03T04:05:06.1234567890Z", 1770091506.123456),
        ("2026-02-03", 1770076800.0),
    ],
)
def test_iso_8601_in_its_usual_forms(text: str, expected: float) -> None:
    """With T or blank, with Z, offset or nothing, with more decimals than a microsecond."""
    assert iso_time(text) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("text", ["", "soon", "03.02.2026 04:05", "2026-13-01T00:00:00Z", "2026-02-03T25:00:00"])
def test_what_is_no_time_is_none(text: str) -> None:
    """Nothing is guessed from a date in some national order."""
    assert iso_time(text) is None


@given(st.integers(0, 4_000_000_000_000))
def test_text_and_time_are_inverse_to_the_millisecond(milliseconds: int) -> None:
    """iso_text writes what iso_time reads."""
    time = milliseconds / 1000
    assert iso_time(iso_text(time)) == pytest.approx(time, abs=1e-6)


def test_a_camera_clock_is_read_in_its_zone_and_set_right() -> None:
    """clock_offset_s is how far the clock is ahead: it is subtracted."""
    noon = datetime(2026, 7, 1, 12, tzinfo=UTC).timestamp()
    assert clock_time("2026-07-01T14:00:05", time_zone="+02:00", clock_offset=5.0) == noon
    assert clock_time("2026-07-01T13:00:00", time_zone="Etc/GMT-1", clock_offset=0.0) == noon
    assert clock_time("2026-07-01T12:00:00Z", time_zone="+02:00", clock_offset=0.0) == noon
    assert clock_time("noon", time_zone="UTC", clock_offset=0.0) is None


def test_an_unknown_zone_says_what_is_allowed() -> None:
    """A misspelt zone is an error that shows the forms that work."""
    for name in ("Nowhere/Town", "+1", "", "../etc/passwd"):
        with pytest.raises(InputError, match="time_zone"):
            zone_of(name)
    assert zone_of("unknown") is UTC
