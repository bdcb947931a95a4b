"""Sun positions, rising and clear skies against published figures."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from groundglow.model.facing import surface_normal
from groundglow.model.sun import Place, clear_sky, sun_position, sun_times

TOPIC = "Sun"
EXAMPLE = Place(39.742476, -105.1786, 1830.14)
EXAMPLE_TIME = 1066419030.0  # 2003-10-17 12:30:30 at UTC-7


def test_worked_example(record_check: Callable[..., None]) -> None:
    """Zenith 50.111622, azimuth 194.340241, incidence 25.187000 degrees on a slope of 30 that faces 170.

    Source: Reda & Andreas, NREL/TP-560-34302, table A5.1 (azimuth rotation -10 from south, positive west).
    """
    sun = sun_position([EXAMPLE_TIME], EXAMPLE, pressure=82000.0, temperature=284.15, delta_t=67.0)
    ours, source = np.degrees([sun.apparent_zenith[0], sun.azimuth[0]]), "NREL/TP-560-34302, table A5.1"
    record_check(TOPIC, "zenith and azimuth", [50.111622, 194.340241], ours, "degree", 1e-4, source)
    normal = surface_normal(np.radians(30), np.radians(170))
    incidence = np.degrees(np.arccos(sun.towards[0] @ normal))
    record_check(TOPIC, "incidence on a slope of 30 degrees", 25.187, incidence, "degree", 1e-3, source)


def _clock(hours: int, minutes: int, seconds: float) -> float:
    return 3600.0 * hours + 60.0 * minutes + seconds


@pytest.mark.parametrize(
    ("day", "lat_deg", "rise", "fall"),
    [
        (757468800.0, 35.0, _clock(7, 8, 12.8), _clock(16, 59, 55.9)),  # 1994-01-02
        (836524800.0, -35.0, _clock(7, 8, 15.4), _clock(17, 1, 4.5)),  # 1996-07-05
        (1102118400.0, -35.0, _clock(4, 38, 57.1), _clock(19, 2, 2.5)),  # 2004-12-04
    ],
)
def test_sunrise_table(record_check: Callable[..., None], day: float, lat_deg: float, rise: float, fall: float) -> None:
    """Sunrise and sunset on the meridian within a second.

    Source: Reda & Andreas, NREL/TP-560-34302, table A2.1.
    """
    times = sun_times([day], Place(lat_deg, 0.0), delta_t=0.0)
    ours = [float(times[0][0]) - day, float(times[2][0]) - day]
    name = f"sunrise and sunset at latitude {lat_deg:g}, day {day / 86400:.0f}, seconds of the day"
    record_check(TOPIC, name, [rise, fall], ours, "s", 1.0, "NREL/TP-560-34302, table A2.1")


def test_rise_transit_and_set_of_the_worked_example(record_check: Callable[..., None]) -> None:
    """06:12:43, 11:46:05 and 17:20:19 local time within a second.

    Source: Reda & Andreas' algorithm as computed by pvlib, for the place and day of table A5.1.
    """
    midnight = EXAMPLE_TIME - _clock(12, 30, 30)
    local = [float(t[0]) - midnight for t in sun_times([EXAMPLE_TIME], EXAMPLE, delta_t=67.0)]
    wanted = [_clock(6, 12, 43.46), _clock(11, 46, 4.96), _clock(17, 20, 19.18)]
    record_check(TOPIC, "rise, transit and set, seconds of the day", wanted, local, "s", 1.0, "pvlib")


def test_clear_midsummer_noon(record_check: Callable[..., None]) -> None:
    """Global 1066.72, direct 977.03, diffuse 130.25 W/m2 within 1.

    Source: Ineichen & Perez 2002 with turbidity 3 at 40 N 105 W, 1600 m, computed by pvlib.
    """
    sky = clear_sky([1718996400.0], Place(40.0, -105.0, 1600.0))
    ours = [float(part[0]) for part in (sky.global_horizontal, sky.direct_normal, sky.diffuse)]
    name = "global, direct and diffuse irradiance of a clear noon"
    record_check(TOPIC, name, [1066.72, 977.03, 130.25], ours, "W/m2", 1.0, "Ineichen & Perez 2002 by pvlib")
