"""The rule for undescribed ground does what it says, the same everywhere."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.model.ground import Weather, dry_surface, moist_soil, open_ground

TIME = 3600.0 * np.arange(25)


def _weather(air: float, humidity: float, **more: float) -> Weather:
    given = {"air_temperature": air, "relative_humidity": humidity, "pressure": 1e5} | more
    return Weather(TIME, {name: np.full(25, value) for name, value in given.items()})


def test_cold_and_dry_land_is_bare_and_warm_moist_land_is_green() -> None:
    """Frost and deserts have a dry crust at the surface; a humid summer has litter over moist soil and evaporates."""
    frost, desert, meadow = (open_ground(_weather(*w)) for w in ((262.0, 0.7), (308.0, 0.15), (293.0, 0.7)))
    assert [len(g.layers) for g in (frost, desert, meadow)] == [2, 2, 2]
    assert [round(1000 * g.layers[0].thickness) for g in (frost, desert, meadow)] == [6, 11, 10]
    assert frost.layers[0].conductivity == desert.layers[0].conductivity == moist_soil(0.0).conductivity
    assert meadow.layers[0].conductivity == 0.1
    assert meadow.exchange.latent_per_sensible > 4 * desert.exchange.latent_per_sensible


def test_albedo_is_measured_where_it_can_be() -> None:
    """The ratio of reflected to global sunshine, else 0.20 with a larger doubt."""
    known = open_ground(_weather(280.0, 0.5, global_horizontal=400.0, shortwave_up=120.0))
    guessed = open_ground(_weather(280.0, 0.5))
    assert known.albedo == pytest.approx(0.3)
    assert guessed.albedo == 0.20
    assert known.albedo_sd < guessed.albedo_sd


def test_soil_conducts_more_the_wetter_it_is() -> None:
    """Conductivity and capacity rise with saturation between the table's ends."""
    soils = [moist_soil(s) for s in (0.0, 0.1, 0.3, 0.6, 1.0)]
    assert [s.conductivity for s in soils] == sorted(s.conductivity for s in soils)
    assert [s.heat_capacity for s in soils] == sorted(s.heat_capacity for s in soils)
    assert (soils[0].conductivity, soils[-1].conductivity) == (0.2, 2.0)


def test_the_dry_top_follows_the_published_law() -> None:
    """Swenson & Lawrence 2014 (from memory): 15 mm at most, linear in what the soil lacks, none from 0.8 on."""
    thickness = [dry_surface(s).thickness for s in (0.0, 0.158, 0.479, 0.8, 1.0)]
    assert thickness == pytest.approx([0.015, 0.015, 0.0075, 0.0, 0.0], abs=1e-6)


def test_soil_of_undescribed_ground_lies_between_wilting_point_and_field_capacity() -> None:
    """A loam of FAO-56, table 19 (0.12 and 0.25 m3/m3, mid-values from memory): dry air 0.12, saturated air 0.25."""
    heat = [open_ground(_weather(265.0, h)).layers[-1].heat_capacity for h in (0.0, 1.0)]
    assert heat == pytest.approx([1.35e6 + 4.18e6 * water for water in (0.12, 0.25)], rel=1e-9)


def test_as_plants_close_the_crust_goes() -> None:
    """Half covered ground has half of the litter over half of the crust."""
    half = open_ground(_weather(275.65, 0.9))
    litter, crust, soil = half.layers
    assert litter.thickness == pytest.approx(0.005, rel=0.05)
    assert crust.thickness < 0.006
    assert soil.thickness > 1.0


def test_the_rule_does_not_look_at_the_hours() -> None:
    """Any order of the same hours gives the same ground: nothing is tuned to an hour."""
    rng = np.random.default_rng(5)
    air = 285 + 8 * np.sin(TIME / 14000)
    shuffled = rng.permutation(air)
    grounds = [
        open_ground(Weather(TIME, _weather(280.0, 0.5).series | {"air_temperature": a})) for a in (air, shuffled)
    ]
    assert grounds[0].layers[-1].conductivity == pytest.approx(grounds[1].layers[-1].conductivity, rel=1e-9)
