"""The forecast of surface temperature obeys the physics that people count on in the field."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from groundglow.errors import InputError
from groundglow.model.doubt import combined
from groundglow.model.ground import Ground, Heat, Plane, SurfaceSeries, Weather, forecast, from_extremes, ground
from groundglow.model.sun import Place

PLACE = Place(48.0, 11.0, 500.0)
START = 1718928000.0
WEATHER = from_extremes(START, PLACE, lowest=285.0, highest=298.0)
WEATHER = replace(WEATHER, series=WEATHER.series | {"cloud_fraction": np.zeros(WEATHER.time.size)})


def _steady(**given: float) -> Weather:
    """A day on which nothing changes; no sun unless given."""
    names = {"air_temperature": 290.0, "relative_humidity": 0.5, "wind_speed": 2.0, "pressure": 1e5}
    dark = {"global_horizontal": 0.0, "direct_normal": 0.0, "diffuse": 0.0, "longwave_down": 400.0}
    time = START + 600.0 * np.arange(145)
    return Weather(time, {n: np.full(145, v) for n, v in (names | dark | given).items()})


def _day(of: Ground, **more: Plane | Heat) -> SurfaceSeries:
    return forecast(of, WEATHER, PLACE, **more)


def _swing(series: SurfaceSeries) -> float:
    return float(np.ptp(series.temperature))


def test_heavy_ground_swings_less_than_light_ground() -> None:
    """Rock, moist clay and dry sand in the order of their thermal inertia; mixed water least of all."""
    swings = [
        _swing(_day(ground(n))) for n in ("water, mixed through 1 m", "rock", "soil, moist clay", "soil, dry sand")
    ]
    assert swings == sorted(swings)
    assert swings[0] < 8


def test_wet_insulation_shows_at_night_as_a_warm_patch() -> None:
    """In the evening after a sunny day a roof over wet insulation is warmer: the basis of roof surveys."""
    wet, dry = (_day(ground(f"flat roof, bitumen on {state} insulation")) for state in ("wet", "dry"))
    hour = np.mod(wet.time / 3600 + 11 / 15, 24)
    evening = (hour > 21) & (hour < 24)
    assert (wet.temperature - dry.temperature)[evening].min() > 1.0
    noon = np.abs(hour - 12) < 1
    assert (wet.temperature - dry.temperature)[noon].mean() < 0


def test_a_disconnected_module_is_hotter_than_a_working_one_only_by_day() -> None:
    """What is not led away as electricity becomes heat: some kelvin at noon, none at night."""
    idle, working = (_day(ground(f"photovoltaic module, {s}")) for s in ("disconnected", "working"))
    rise = idle.temperature - working.temperature
    assert 2.0 < rise.max() < 10.0
    assert abs(rise[np.argmin(idle.temperature)]) < 0.1


def test_south_slopes_are_warmer_than_north_slopes_and_shade_is_cool() -> None:
    """Tilt, azimuth and a horizon of walls act through the direct sun."""
    tile, tilt = ground("asphalt on gravel"), np.radians(35)
    south, north = (_day(tile, plane=Plane(tilt, np.radians(a))).temperature.max() for a in (180, 0))
    walls = Plane(0.0, 0.0, tuple(np.radians([0, 90, 180, 270])), (1.4, 1.4, 1.4, 1.4))
    assert south > north + 5
    assert _day(tile, plane=walls).temperature.max() < _day(tile).temperature.max() - 10


def test_a_joint_with_a_bad_contact_rises_with_its_power() -> None:
    """The steady rise of a heated clamp balances convection and radiation, computed by hand."""
    clamp = ground("clamp, aluminium, aged")
    sky = 5.6703744191844314e-8 * 290.0**4
    dark = _steady(longwave_down=sky)
    hot = forecast(clamp, dark, PLACE, heat=Heat(400.0, 0.01)).temperature[-1]
    loss = (2.8 + 3.0 * 2.0) * (hot - 290.0) + clamp.emissivity * (5.6703744191844314e-8 * hot**4 - sky)
    assert loss == pytest.approx(400.0, rel=1e-3)
    assert forecast(clamp, dark, PLACE).temperature[-1] == pytest.approx(290.0, abs=0.01)


def test_a_heated_wall_leaks_by_its_resistance() -> None:
    """Steady flow through a wall: the surface rise follows from the series of resistances (ISO 6946)."""
    wall = ground("wall, brick, heated inside")
    sky = 5.6703744191844314e-8 * 270.0**4
    winter = _steady(air_temperature=270.0, longwave_down=sky)
    surface = forecast(wall, winter, PLACE).temperature[-1]
    inflow = (293.15 - surface) / (1 / 7.7 + 0.24 / 0.7)
    outflow = (2.8 + 6.0) * (surface - 270.0) + wall.emissivity * (5.6703744191844314e-8 * surface**4 - sky)
    assert inflow == pytest.approx(outflow, rel=5e-3)


def test_snow_does_not_pass_melting() -> None:
    """A summer's day leaves a snow patch at 0 C, not above."""
    assert _day(ground("snow, fresh")).temperature.max() <= 273.15


def test_the_day_closes_on_itself() -> None:
    """The first and last temperature of a repeated day agree within the stated 0.02 K."""
    day = _day(ground("rock"))
    assert day.temperature[-1] == pytest.approx(day.temperature[0], abs=0.03)


def test_twenty_four_hourly_rows_are_a_day() -> None:
    """Rows 00 to 23 h give nearly what 00 to 24 h give."""
    hourly = {name: values[::6] for name, values in WEATHER.series.items()}
    whole = Weather(WEATHER.time[::6], hourly)
    short = Weather(whole.time[:-1], {name: values[:-1] for name, values in hourly.items()})
    a, b = (forecast(ground("rock"), w, PLACE) for w in (whole, short))
    assert np.abs(np.interp(a.time, b.time, b.temperature) - a.temperature)[:-6].max() < 0.2


def test_less_than_a_day_is_refused() -> None:
    """Six hours cannot settle the ground, and the message says how many there were."""
    with pytest.raises(InputError, match=r"covers 6\.0 hours"):
        forecast(ground("rock"), Weather(START + 3600.0 * np.arange(7), {"air_temperature": np.full(7, 280.0)}), PLACE)


def test_doubt_names_its_sources_with_the_right_signs() -> None:
    """More longwave warms at any hour; more inertia cools the afternoon; what was assumed is more doubtful."""
    day = _day(ground("soil, dry sand"))
    assert np.all(day.doubt.flight["longwave of the sky"] > 0)
    assert np.all(day.doubt.flight["albedo"] > -1e-6)
    assert day.doubt.flight["thermal inertia"][np.argmax(day.temperature)] < 0
    measured = replace(WEATHER, series=WEATHER.series | {"longwave_down": day.weather["longwave_down"]})
    known = forecast(ground("soil, dry sand"), measured, PLACE)
    assert combined(known.doubt).mean() < combined(day.doubt).mean()
