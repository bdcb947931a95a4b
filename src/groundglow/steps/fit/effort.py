"""What the work takes: how long a battery lasts with this load in this wind, and how much of the work it covers."""

from __future__ import annotations

import math

import numpy as np

from groundglow.model.overlap import count_to_cover, spacing_for_overlap
from groundglow.records.fit import Ask, Effort
from groundglow.records.kit import Aircraft, Combination
from groundglow.steps.fit.settings import ENDURANCE_LOST_S, LOOK_S, SIDE_OVERLAP, TURN_LOSS

__all__ = ["effort", "endurance"]


def endurance(aircraft: Aircraft, payload: float, wind: float) -> float:
    """Useful time of one battery, s: with this payload and wind, less the reserve and the way there and back.

    0 where nothing is left. Linear between the aircraft's figures.

    Examples
    --------
    >>> quad = Aircraft("a", "a", ("m",), ((0.0, 2400.0), (1.0, 1200.0)), ((0.0, 1.0), (10.0, 0.8)), (0.0, 15.0),
    ...                 12.0, "", 4000.0, (253.15, 313.15), 0.25)
    >>> round(endurance(quad, 0.5, 5.0))
    1035
    """
    loads, times = zip(*aircraft.endurance, strict=True)
    winds, shares = zip(*aircraft.in_wind, strict=True)
    whole = float(np.interp(payload, loads, times)) * float(np.interp(wind, winds, shares))
    share = aircraft.battery.share if aircraft.battery else 1.0
    return max(whole * share * (1.0 - aircraft.reserve) - ENDURANCE_LOST_S, 0.0)


def effort(ask: Ask, kit: Combination, *, speed: float, footprint: tuple[float, float]) -> Effort | None:
    """Flights and time for the work of a question; None without an aircraft or where a battery covers nothing.

    Parameters
    ----------
    speed : float
        Over ground, m/s.
    footprint : (float, float)
        Across and along the flight, m.
    """
    if kit.aircraft is None:
        return None
    useful = endurance(kit.aircraft, kit.mass, ask.sky.wind_speed)
    task = "measure" if ask.task == "measure" else "see"
    spacing = spacing_for_overlap(footprint[0], SIDE_OVERLAP[task])
    work = ask.work
    if work.shape == "point":
        return _made(LOOK_S, useful / LOOK_S, "looks", useful)
    if work.shape == "line":
        length, per_second, unit = work.length, speed, "m"
    elif work.shape == "face":
        length = work.face[0] * count_to_cover(max(work.face[1] - footprint[0], 0.0), spacing)
        return _made(length / max(speed, 1e-9), useful * speed * (1.0 - TURN_LOSS), "m", useful)
    else:
        length, per_second, unit = work.area, speed * spacing * (1.0 - TURN_LOSS), "m2"
    return _made(length / max(per_second, 1e-9), useful * per_second, unit, useful)


def _made(seconds: float, per_battery: float, unit: str, useful: float) -> Effort | None:
    if useful <= 0 or per_battery <= 0:
        return None
    return Effort(per_battery, unit, max(math.ceil(seconds / useful * (1 - 1e-9)), 1), seconds, useful)
