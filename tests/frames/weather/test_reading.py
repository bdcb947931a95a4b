"""The reader is picked by what the file holds, and each fault is told with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from groundglow.errors import FileError
from groundglow.frames.weather import read_weather


def test_a_csv_is_read_by_its_columns(tmp_path: Path) -> None:
    """A table gives weather and no place."""
    path = tmp_path / "w.csv"
    path.write_text("time_utc,air_temperature_c\n2026-02-03T00:00Z,1\n2026-02-03T01:00Z,2\n")
    found = read_weather(path)
    assert found.weather["air_temperature"].tolist() == [274.15, 275.15]
    assert found.place is None


def test_other_files_are_refused_with_what_would_do(tmp_path: Path) -> None:
    """A text that is no weather shows its beginning; a missing file says so."""
    path = tmp_path / "w.txt"
    path.write_text("dear diary\nit rained\n")
    with pytest.raises(FileError, match=r"begins with 'dear diary'.*EPW"):
        read_weather(path)
    with pytest.raises(FileError, match="no such file"):
        read_weather(tmp_path / "none.csv")
    with pytest.raises(FileError, match="cannot be read"):
        read_weather(tmp_path)
