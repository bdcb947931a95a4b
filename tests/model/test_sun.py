"""Sun, shade and planes: limits and order, in plain arrays."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import InputError, MissingExtraError
from groundglow.model import sun as module
from groundglow.model.sun import (
    Irradiance,
    Place,
    clear_sky,
    plane_irradiance,
    split_global,
    sun_position,
    sun_times,
    sunlit,
)

MIDSUMMER = 1718928000.0  # 2024-06-21T00:00Z
HOURS = MIDSUMMER + 3600.0 * np.arange(24)
PLACE = Place(48.0, 11.0, 500.0)


def test_the_sun_culminates_in_the_south_at_noon() -> None:
    """At transit it stands in the south, 90 - latitude + declination (23.44 at midsummer) high."""
    _, noon, _ = sun_times([MIDSUMMER], PLACE)
    sun = sun_position(noon, PLACE)
    assert np.degrees(sun.azimuth[0]) == pytest.approx(180, abs=0.1)
    assert 90 - np.degrees(sun.zenith[0]) == pytest.approx(90 - 48 + 23.44, abs=0.02)


@pytest.mark.parametrize("lon_deg", [-175.0, -105.0, 0.0, 90.0, 175.0])
def test_sunrise_comes_before_noon_and_sunset_after(lon_deg: float) -> None:
    """At any longitude the three follow each other within a day, whatever UTC day they fall into."""
    rise, noon, fall = sun_times([MIDSUMMER], Place(40.0, lon_deg))
    assert 0 < noon[0] - rise[0] < 43200
    assert 0 < fall[0] - noon[0] < 43200


def test_the_midnight_sun_neither_rises_nor_sets() -> None:
    """Polar day: both are NaN."""
    rise, _, fall = sun_times([MIDSUMMER], Place(80.0, 0.0))
    assert np.isnan([rise[0], fall[0]]).all()


def test_night_brings_nothing() -> None:
    """Clear-sky irradiance is zero while the sun is down and positive while it is up."""
    sky, up = clear_sky(HOURS, PLACE), sun_position(HOURS, PLACE).apparent_zenith < np.pi / 2
    assert np.all(sky.global_horizontal[~up] == 0)
    assert np.all(sky.global_horizontal[up] > 0)


def test_split_parts_add_up_to_the_global() -> None:
    """Direct on the level and diffuse make the measured global again."""
    level = 0.7 * clear_sky(HOURS, PLACE).global_horizontal
    parts = split_global(HOURS, PLACE, level)
    cosine = np.maximum(np.cos(sun_position(HOURS, PLACE).zenith), 0)
    assert parts.direct_normal * cosine + parts.diffuse == pytest.approx(level, abs=1e-6)


def test_a_level_plane_gets_the_global() -> None:
    """Tilt zero: direct times cosine and all of the diffuse."""
    sky, sun = clear_sky(HOURS, PLACE), sun_position(HOURS, PLACE)
    assert plane_irradiance(sky, sun) == pytest.approx(sky.global_horizontal, abs=3)


def test_a_wall_to_the_north_sees_no_direct_noon() -> None:
    """Only half the diffuse sky and half the ground's reflection are left."""
    sun = sun_position(sun_times([MIDSUMMER], PLACE)[1], PLACE)
    solar = Irradiance(np.array([900.0]), np.array([850.0]), np.array([100.0]))
    wall = plane_irradiance(solar, sun, tilt=np.pi / 2, azimuth=0.0, albedo=0.2)
    assert wall[0] == pytest.approx(0.5 * 100 + 0.5 * 0.2 * 900)


def test_a_horizon_hides_the_low_sun_only() -> None:
    """Hills of 20 degrees all round: the noon sun is free, the sun at 10 degrees is not."""
    sun = sun_position(HOURS, PLACE)
    height = 90 - np.degrees(sun.apparent_zenith)
    free = sunlit(sun, [0.0, np.pi], np.radians([20.0, 20.0]))
    assert free.tolist() == (height > 20).tolist()


def test_places_off_the_earth_are_refused() -> None:
    """Swapped or absurd coordinates are told."""
    with pytest.raises(InputError, match="lat_deg is 105"):
        Place(105.0, 40.0)


def test_without_the_library_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """The error says what to install."""
    monkeypatch.setattr(module.importlib, "import_module", _missing)
    with pytest.raises(MissingExtraError, match=r"groundglow\[sun\]"):
        sun_position([0.0], PLACE)


def _missing(name: str) -> object:
    raise ModuleNotFoundError(name)
