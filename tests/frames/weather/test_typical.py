"""Typical years: hours dated at their middle, missing marks taken out, units and place right."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from groundglow.errors import FileError
from groundglow.frames.weather import read_weather

EPW_HEAD = "LOCATION,Nowhere,-,XYZ,made up,000000,50.0,10.0,1.0,200.0\n" + "".join(f"LINE {i}\n" for i in range(7))
NEW_YEAR_2001 = 978307200.0  # 2001-01-01T00:00Z


def _epw(path: Path) -> Path:
    rows = []
    for hour in range(1, 49):
        day, of_day = 1 + (hour - 1) // 24, 1 + (hour - 1) % 24
        infrared = 9999 if hour == 5 else 280
        cells = [1990, 1, day, of_day, 60, "A", 2.5, -1, 75, 98000, 0, 0, infrared, 10 * of_day, 5, 8, 0, 0, 0, 0, 180]
        cells += [3.5, 4, 4, 20, 1000, 0, 0, 10, 0.1, 0, 88, 0.2, 0, 0]
        rows.append(",".join(map(str, cells)))
    path.write_text(EPW_HEAD + "\n".join(rows) + "\n")
    return path


def test_epw_hours_units_and_place(tmp_path: Path) -> None:
    """The first hour of local time (UTC+1) is centred on 23:30 UTC of the day before."""
    found = read_weather(_epw(tmp_path / "w.epw"))
    weather = found.weather
    assert found.place is not None
    assert (found.place.lat_deg, found.place.lon_deg, found.place.height) == (50.0, 10.0, 200.0)
    assert weather.time[0] == NEW_YEAR_2001 - 1800.0
    assert np.diff(weather.time).tolist() == [3600.0] * 47
    first = {name: float(values[0]) for name, values in weather.series.items()}
    assert first["air_temperature"] == pytest.approx(275.65)
    assert (first["relative_humidity"], first["pressure"], first["cloud_fraction"]) == (0.75, 98000.0, 0.4)
    assert (first["global_horizontal"], first["longwave_down"]) == (10.0, 280.0)
    assert np.isnan(weather["longwave_down"]).nonzero()[0].tolist() == [4]
    assert "typical year" in weather.notes[0]


def test_tmy3_hours_and_units(tmp_path: Path) -> None:
    """The hour that ends at 01:00 (UTC-7) is centred on 07:30 UTC."""
    columns = (
        "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),TotCld (tenths),Dry-bulb (C),RHum (%),"
        "Pressure (mbar),Wspd (m/s)"
    )
    rows = [f"01/01/1988,{h:02d}:00,{h},0,{h},5,-3.0,60,820,2.0" for h in range(1, 25)]
    path = tmp_path / "w.csv"
    path.write_text('700000,"Nowhere",XX,-7.0,40.0,-105.0,1600\n' + columns + "\n" + "\n".join(rows) + "\n")
    found = read_weather(path)
    weather = found.weather
    assert weather.time[0] == NEW_YEAR_2001 + 7.5 * 3600
    assert weather["air_temperature"][0] == pytest.approx(270.15)
    assert (weather["pressure"][0], weather["cloud_fraction"][0]) == (82000.0, 0.5)


def test_a_broken_typical_year_is_told(tmp_path: Path) -> None:
    """A header without rows that make sense gives a reason, not a traceback of another library."""
    path = tmp_path / "w.epw"
    path.write_text("LOCATION,Nowhere,-,XYZ,made up,000000,north,10.0,1.0,200.0\n")
    with pytest.raises(FileError, match="typical year"):
        read_weather(path)
