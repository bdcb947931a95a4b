"""Weather series: what is missing is filled and named, what is given is kept."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.model.ground.forcing import (
    Weather,
    between,
    cloud_from_sun,
    completed,
    from_extremes,
    resampled,
    skin_temperature,
)
from groundglow.model.sun import Place, clear_sky

PLACE = Place(48.0, 11.0, 500.0)
DAY = 1718928000.0 + 3600.0 * np.arange(25)


def _air(**more: np.ndarray) -> Weather:
    return Weather(DAY, {"air_temperature": 290 + 5 * np.sin(np.arange(25) / 4), **more})


def test_filling_names_all_that_nobody_measured() -> None:
    """From air temperature alone, each other series is filled, listed as assumed and noted."""
    full = completed(_air(), PLACE)
    assert {"longwave_down", "wind_speed", "cloud_fraction", "global_horizontal"} <= full.assumed
    assert "air_temperature" not in full.assumed
    assert all(np.isfinite(full[name]).all() for name in (*full.assumed, "air_temperature"))
    told = [note for note in full.notes if "was not given" in note]
    for words in (
        "wind was not given: 2.0 m/s taken",
        "humidity was not given: 50 % taken",
        "pressure was not given: 955 hPa taken",
        "cloud was not given: 0.50 of the sky taken",
    ):
        assert words in told
    assert all(note.removesuffix(" taken").endswith(("m/s", "%", "hPa", "of the sky", "W/m2")) for note in told)


def test_what_was_measured_is_kept() -> None:
    """A measured longwave series comes out as it went in."""
    measured = np.linspace(300, 350, 25)
    full = completed(_air(longwave_down=measured), PLACE)
    assert full["longwave_down"].tolist() == measured.tolist()
    assert "longwave_down" not in full.assumed


def test_gaps_are_bridged_and_counted() -> None:
    """Two missing hours are interpolated, and the note says how many."""
    wind = np.full(25, 3.0)
    wind[[5, 6]] = np.nan
    full = completed(_air(wind_speed=wind), PLACE)
    assert full["wind_speed"].tolist() == [3.0] * 25
    assert any("2 of 25 values missing" in note for note in full.notes)


def test_cloud_is_told_by_the_missing_sunshine() -> None:
    """Half the clear sky's sunshine through the day is half cloud, through the night too."""
    half = 0.5 * clear_sky(DAY, PLACE).global_horizontal
    assert cloud_from_sun(DAY, PLACE, half) == pytest.approx(np.full(25, 0.5), abs=0.01)


def test_polar_night_tells_no_cloud() -> None:
    """Without a sun there is nothing to tell cloud by."""
    assert np.isnan(cloud_from_sun(DAY, Place(-80.0, 0.0), np.zeros(25))).all()


def test_cloud_warms_the_modelled_sky_and_dims_the_sun() -> None:
    """Overcast against clear: more longwave, less sunshine."""
    clear, grey = (completed(_air(cloud_fraction=np.full(25, n)), PLACE) for n in (0.0, 1.0))
    assert np.all(grey["longwave_down"] > clear["longwave_down"])
    assert grey["global_horizontal"].sum() < 0.3 * clear["global_horizontal"].sum()


def test_extremes_make_a_day_with_its_low_at_sunrise() -> None:
    """Lowest near sunrise (about 03:15 UTC in Bavaria in June), highest two hours after solar noon."""
    weather = from_extremes(DAY[0], PLACE, lowest=283.0, highest=298.0)
    hour = np.mod(weather.time / 3600, 24)
    air = weather["air_temperature"]
    assert (air.min(), air.max()) == pytest.approx((283, 298), abs=0.01)
    assert hour[np.argmin(air)] == pytest.approx(3.2, abs=0.3)
    assert hour[np.argmax(air)] == pytest.approx(13.3, abs=0.3)


def test_swapped_extremes_are_refused() -> None:
    """The message says to swap them."""
    with pytest.raises(InputError, match="swap"):
        from_extremes(DAY[0], PLACE, lowest=300.0, highest=280.0)


def test_a_forecast_needs_air_temperature() -> None:
    """Wind alone is no weather."""
    with pytest.raises(InputError, match="air temperature"):
        completed(Weather(DAY, {"wind_speed": np.ones(25)}), PLACE)


@pytest.mark.parametrize(
    ("time", "series", "said"),
    [
        (DAY, {"humidity": DAY}, "no series 'humidity'"),
        (DAY, {"wind_speed": np.ones(3)}, "make them equal"),
        (DAY[::-1], {}, "ascending"),
        (DAY[:1], {}, "at least two times"),
    ],
)
def test_malformed_weather_is_refused(time: np.ndarray, series: dict[str, np.ndarray], said: str) -> None:
    """Unknown names, lengths that differ and times out of order are told at once."""
    with pytest.raises(InputError, match=said):
        Weather(time, series)


def test_resampling_and_selecting_keep_the_values() -> None:
    """Every sixth of the ten-minute values is the hour's own; a selection has its ends."""
    weather = _air()
    fine = resampled(weather, 600.0)
    assert fine["air_temperature"][::6] == pytest.approx(weather["air_temperature"])
    part = between(weather, DAY[3], DAY[7])
    assert part["air_temperature"].tolist() == weather["air_temperature"][3:8].tolist()
    with pytest.raises(InputError, match="fewer than two rows"):
        between(weather, DAY[-1] + 1, DAY[-1] + 2)


def test_skin_temperature_undoes_the_radiation() -> None:
    """Emission and reflection of a surface at 285 K under a cold sky give 285 K back."""
    up = 0.97 * 5.6703744191844314e-8 * 285.0**4 + 0.03 * 220.0
    assert skin_temperature(np.array([up, 1.0]), np.array([220.0, 220.0]))[0] == pytest.approx(285.0)
    assert np.isnan(skin_temperature(np.array([1.0]), np.array([220.0]))[0])
