"""Weather from files: a table with named columns, a station's radiation file, a typical year.

`read_weather` looks at the file and picks the reader. All give a `groundglow.model.ground.Weather` in SI and UTC, and
the place where the file states it.
"""

from groundglow.frames.weather.reading import WeatherFile, read_weather
from groundglow.frames.weather.table import weather_from_conditions

__all__ = ["WeatherFile", "read_weather", "weather_from_conditions"]
