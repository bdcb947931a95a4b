"""Which reader a weather file needs."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from groundglow.errors import FileError
from groundglow.frames.weather.station import read_station
from groundglow.frames.weather.table import read_table
from groundglow.frames.weather.typical import TYPICAL_YEAR, read_energy_plus, read_tmy3
from groundglow.model.ground import Weather
from groundglow.model.sun import Place

__all__ = ["WeatherFile", "read_weather"]

_TMY3_DATE = "Date (MM/DD/YYYY)"


@dataclass(frozen=True)
class WeatherFile:
    """Weather of a file and the place it states; None where it states none."""

    weather: Weather
    place: Place | None


def read_weather(path: Path, *, year: int = TYPICAL_YEAR) -> WeatherFile:
    """Weather from a file.

    Parameters
    ----------
    path : Path
        ``.csv`` with named columns or TMY3, ``.epw``, or a radiation network's daily file (SURFRAD format).
    year : int
        That a typical year is dated with; its months come from different years.

    Raises
    ------
    FileError
        When the file is missing or none of the kinds.
    InputError
        With the row or column that cannot be read.
    MissingExtraError
        When a typical year or a station's file is read without the extra ``sun``.
    """
    first, second = _head(path)
    if first.startswith("LOCATION,"):
        return WeatherFile(*read_energy_plus(path, year))
    if second.startswith(_TMY3_DATE):
        return WeatherFile(*read_tmy3(path, year))
    if "version" in second and not first.count(","):
        return WeatherFile(*read_station(path))
    if "," in first or first.startswith("#"):
        return WeatherFile(read_table(path), None)
    raise FileError(
        path,
        f"is no weather file that we know: it begins with {first[:40]!r}",
        "Give a CSV with named columns, an EPW or TMY3 typical year, or a SURFRAD-format station file.",
    )


def _head(path: Path) -> tuple[str, str]:
    """The first two lines."""
    try:
        with path.open(encoding="utf-8-sig", errors="replace") as file:
            return file.readline().strip(), file.readline().strip()
    except FileNotFoundError as error:
        raise FileError(path, "there is no such file") from error
    except OSError as error:
        raise FileError(path, f"cannot be read: {error.strerror}") from error
