"""Weather tables: units at the edge, blanks unknown, faults with their row."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.frames.weather import weather_from_conditions
from groundglow.frames.weather.table import TABLE_COLUMNS, read_table
from groundglow.model.ground.forcing import COLUMNS
from groundglow.records.visit import Conditions


def _write(path: Path, text: str) -> Path:
    path.write_text(text)
    return path


def test_units_become_si_and_rows_are_sorted(tmp_path: Path) -> None:
    """Celsius, per cent and hPa; a blank is NaN; a column that we do not know is noted."""
    text = (
        "time_utc,air_temperature_c,relative_humidity_pct,pressure_hpa,longwave_down_w_m2,mood\n"
        "2026-02-03T01:00:00Z,-1.5,80,1000,,good\n2026-02-03T00:00:00Z,0,50,990,250,bad\n"
    )
    weather = read_table(_write(tmp_path / "w.csv", text))
    assert np.diff(weather.time).tolist() == [3600.0]
    assert weather["air_temperature"] == pytest.approx([273.15, 271.65])
    assert weather["relative_humidity"] == pytest.approx([0.5, 0.8])
    assert weather["pressure"].tolist() == [99000.0, 100000.0]
    assert weather["longwave_down"][0] == 250
    assert np.isnan(weather["longwave_down"][1])
    assert "mood" in weather.notes[0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("time_utc,air_temperature_c\n2026-02-03T00:00Z,300\n2026-02-03T01:00Z,1\n", r"row 2: air_temperature_c"),
        ("time_utc,air_temperature_c\n,3\n", "time_utc"),
        ("time_utc,mood\n2026-02-03T00:00Z,3\n", "no column of weather"),
        ("time_utc,air_temperature_c\n", "no row of weather"),
    ],
)
def test_faults_are_told(tmp_path: Path, text: str, said: str) -> None:
    """Kelvin in a Celsius column, a missing time, no known column, no rows."""
    with pytest.raises(InputError, match=said):
        read_table(_write(tmp_path / "w.csv", text))


def test_every_column_feeds_a_series_of_the_weather() -> None:
    """No column of the file leads nowhere."""
    assert {column[0] for column in TABLE_COLUMNS.values()} == set(COLUMNS)


def test_conditions_of_a_visit_become_weather() -> None:
    """Names carry over; irradiance is that on level ground."""
    time = np.array([0.0, 600.0])
    values = {"air_temperature": np.array([280.0, 281.0]), "irradiance": np.array([500.0, 510.0])}
    weather = weather_from_conditions(Conditions(time, values, {}))
    assert weather["air_temperature"].tolist() == [280.0, 281.0]
    assert weather["global_horizontal"].tolist() == [500.0, 510.0]
