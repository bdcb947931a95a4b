"""Surface temperature of a measured winter's day, by the written rule and nothing else, against two rivals.

Source: Alamosa (37.70 N, 105.92 W, 2317 m), 1 January 2016, SURFRAD network, NOAA (U.S. government work): one
row a minute. The truth is the skin temperature of the infrared pair with an emissivity of 0.97; the forecast sees
neither it nor the upward infrared. Ground, soil and start follow `groundglow.model.ground.openground` and
`forecast`: the same for any place.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from groundglow.frames.weather import WeatherFile, read_weather
from groundglow.model.doubt import combined
from groundglow.model.ground import SurfaceSeries, Weather, completed, forecast, open_ground, skin_temperature
from groundglow.model.sun import Place, sun_position

TOPIC, SOURCE = "Measured day", "SURFRAD, Alamosa, 2016-01-01 (NOAA)"
Finder = Callable[[str], Path]
Array = NDArray[np.float64]


@pytest.fixture(scope="module")
def station(shared_data: Finder) -> WeatherFile:
    """The measured day."""
    return read_weather(shared_data("weather") / "alamosa_2016-01-01.dat")


def _truth(weather: Weather) -> Array:
    return skin_temperature(weather["longwave_up"], weather["longwave_down"], emissivity=0.97)


def _without(weather: Weather, *names: str) -> Weather:
    return replace(weather, series={n: s for n, s in weather.series.items() if n not in names})


def _forecast(weather: Weather, place: Place) -> SurfaceSeries:
    return forecast(open_ground(completed(weather, place)), weather, place)


def _rms(values: Array) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def test_the_place_is_west_and_the_sun_stands_where_the_file_says(
    station: WeatherFile, record_check: Callable[..., None]
) -> None:
    """The header's longitude has no sign; the file's zenith angles do. Skin from -21.4 to +5.7 C as published."""
    assert station.place is not None
    assert station.place.lon_deg == pytest.approx(-105.92)
    noon = station.weather.time[np.argmax(station.weather["global_horizontal"])]
    assert np.degrees(sun_position([noon], station.place).azimuth[0]) == pytest.approx(180, abs=10)
    truth = _truth(station.weather) - 273.15
    ends = [truth.min(), truth.max()]
    record_check(TOPIC, "skin temperature, least and greatest", [-21.4, 5.7], ends, "degC", 0.05, SOURCE)


@pytest.mark.parametrize("hidden", [(), ("longwave_down",)], ids=["measured sky", "modelled sky"])
def test_error_stays_below_three_kelvin_and_beats_both_rivals(
    station: WeatherFile, record_check: Callable[..., None], hidden: tuple[str, ...]
) -> None:
    """RMS at most 3 K; less than half of the air temperature's; the stated interval holds 95 % of the minutes."""
    assert station.place is not None
    truth = _truth(station.weather)
    given = _without(station.weather, "longwave_up", *hidden)
    series = _forecast(given, station.place)
    error = series.temperature - truth
    air, constant = _rms(station.weather["air_temperature"] - truth), float(truth.std())
    name = "RMS error of the forecast, sky " + ("modelled" if hidden else "measured")
    record_check(
        TOPIC, f"{name} (air temperature {air:.1f} K, constant {constant:.1f} K)", 0.0, _rms(error), "K", 3.0, SOURCE
    )
    assert _rms(error) < 0.5 * min(air, constant)
    assert np.mean(np.abs(error) <= 1.96 * combined(series.doubt)) >= 0.95


def test_the_forecast_does_not_see_the_answer(station: WeatherFile) -> None:
    """Taking the upward infrared out of the weather changes nothing."""
    assert station.place is not None
    seen, blind = (_forecast(w, station.place) for w in (station.weather, _without(station.weather, "longwave_up")))
    assert np.array_equal(seen.temperature, blind.temperature)


def test_extremes_and_a_clear_sky_alone_are_worse_but_within_their_doubt(station: WeatherFile) -> None:
    """With air temperature only, the error grows, and the wider interval still holds it."""
    assert station.place is not None
    truth = _truth(station.weather)
    little = replace(station.weather, series={"air_temperature": station.weather["air_temperature"]})
    series = _forecast(little, station.place)
    error = series.temperature - truth
    assert np.mean(np.abs(error) <= 1.96 * combined(series.doubt)) >= 0.9
