"""Station files: the sign of longitude, flags, offsets and broken rows."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from groundglow.errors import FileError
from groundglow.frames.weather.station import read_station
from groundglow.model.sun import Place, sun_position

START = 1454284800.0  # 2016-02-01T00:00Z


def _file(path: Path, truth: Place, **changes: float) -> Path:
    """A made-up station day in hourly rows; the header hides the sign of the longitude."""
    lines = [" Nowhere", f"   {truth.lat_deg:.2f}  {abs(truth.lon_deg):.2f} {truth.height:.0f} m version 1"]
    for hour in range(24):
        zenith = np.degrees(sun_position([START + 3600.0 * hour], truth).apparent_zenith[0])
        values = {8: -2.0, 16: 250.0, 22: 300.0, 38: -5.0, 40: 101.0, 42: 3.0, 46: 800.0}
        row = np.zeros(48)
        row[:8] = (2016, 32, 2, 1, hour, 0, hour, zenith)
        for column, value in values.items():
            row[column] = value
        if hour == 3:
            row[17], row[38] = 1, -9999.9
        lines.append(" ".join(f"{v:.3f}" for v in row))
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.mark.parametrize("lon_deg", [-105.92, 105.92])
def test_the_sun_tells_east_from_west(tmp_path: Path, lon_deg: float) -> None:
    """The same header in either hemisphere: the zenith angles decide."""
    _, place = read_station(_file(tmp_path / "s.dat", Place(37.7, lon_deg, 2317.0)))
    assert place.lon_deg == pytest.approx(lon_deg)


def test_flags_and_offsets_are_taken_out(tmp_path: Path) -> None:
    """A flagged value and a missing one are NaN; negative sunshine is zero; humidity stays a share."""
    weather, _ = read_station(_file(tmp_path / "s.dat", Place(37.7, -105.92, 2317.0)))
    assert np.isnan(weather["longwave_down"]).nonzero()[0].tolist() == [3]
    assert np.isnan(weather["air_temperature"]).nonzero()[0].tolist() == [3]
    assert weather["global_horizontal"].max() == 0
    assert weather["relative_humidity"].max() == 1
    assert (weather.time[0], weather["pressure"][0]) == (START, 80000.0)


def test_impossible_zeniths_are_refused(tmp_path: Path) -> None:
    """A header whose latitude is wrong fits neither hemisphere."""
    path = _file(tmp_path / "s.dat", Place(37.7, -105.92, 2317.0))
    path.write_text(path.read_text().replace("37.70", "57.70"))
    with pytest.raises(FileError, match="neither east nor west"):
        read_station(path)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [("2016.000", "2016.000 1 2", "has 50 numbers"), ("2016.000", "MMXVI", "no number"), ("37.70", "x", "latitude")],
)
def test_broken_files_are_told(tmp_path: Path, old: str, new: str, said: str) -> None:
    """A row too long, a word for a number, a header without a place."""
    path = _file(tmp_path / "s.dat", Place(37.7, -105.92, 2317.0))
    path.write_text(path.read_text().replace(old, new, 1))
    with pytest.raises(FileError, match=said):
        read_station(path)
