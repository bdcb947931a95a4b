"""Conduction against the analytic solution of periodic heating and published worked examples."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from groundglow.model.ground.conduction import Layer, damping_depth, grid, march
from groundglow.model.ground.turbulence import Exchange

TOPIC = "Conduction"
CONCRETE = (1.8, 2300.0 * 1000.0)  # W/m/K, J/m3/K of the worked example
DAY, YEAR = 86400.0, 365.25 * 86400.0


@pytest.mark.parametrize(
    ("conductivity", "capacity", "year", "day"),
    [(*CONCRETE, 2.80, 0.15), (0.04, 160.0 * 2100.0, 1.09, 0.06), (1.28, 880.0 * 1450.0, 3.17, 0.17)],
    ids=["concrete", "wood wool", "clay"],
)
def test_damping_depths_of_a_worked_example(
    record_check: Callable[..., None], conductivity: float, capacity: float, year: float, day: float
) -> None:
    """Yearly and daily, to the printed centimetre.

    Source: a public building-physics notebook after Carslaw & Jaeger, Conduction of Heat in Solids, p. 319.
    """
    depths = damping_depth(conductivity / capacity, [YEAR, DAY])
    name = f"damping depths of a year and a day, {conductivity:g} W/m/K, {capacity:g} J/m3/K"
    record_check(TOPIC, name, [year, day], depths, "m", 0.005, "building-physics notebook, Carslaw & Jaeger p. 319")


@pytest.mark.parametrize("step", [60.0, 300.0, 600.0])
def test_damping_and_lag_at_a_tenth_of_a_metre(record_check: Callable[..., None], step: float) -> None:
    """Amplitude ratio 0.505794 and lag 2.6036 h within 1 %, with the surface held to a sine.

    Source: Carslaw & Jaeger, section 2.6, for the concrete of the worked example.
    """
    ratio, lag = _response(step)
    where, source = f"0.1 m deep in concrete, steps of {step:g} s", "Carslaw & Jaeger, section 2.6"
    record_check(TOPIC, f"amplitude ratio {where}", 0.505794, ratio, "", 0.0, source, relative=0.01)
    record_check(TOPIC, f"lag {where}", 2.6036, lag, "h", 0.0, source, relative=0.01)


def _response(step: float) -> tuple[float, float]:
    """Amplitude ratio and lag in hours at 0.1 m in the tenth day of a sine."""
    nodes = grid([Layer(1.5, *CONCRETE)])
    time = step * np.arange(int(10 * DAY / step) + 1)
    rows = np.zeros((time.size, 7))
    rows[:, 2] = 300 + 10 * np.sin(2 * np.pi * time / DAY)
    rows[:, 5:] = (1.0, 1e5)
    held = Exchange(roughness=0.0, still=1e6, per_wind=0.0).law()
    bottom, source = np.zeros((time.size, 2)), np.zeros((time.size, nodes.depth.size))
    start = np.full(nodes.depth.size, 300.0)
    through = march(start, nodes.capacity, nodes.conductance, bottom, source, step, rows, held)
    last = slice(time.size - int(DAY / step) - 1, -1)
    deep = np.array([np.interp(0.1, nodes.depth, row) for row in through[last]])
    wave = 2 / deep.size * np.sum(deep * np.exp(-2j * np.pi * time[last] / DAY))
    lag = np.mod(-np.pi / 2 - np.angle(wave), 2 * np.pi) * DAY / (2 * np.pi) / 3600
    return float(abs(wave) / 10), float(lag)


def test_surface_flux_of_a_sine(record_check: Callable[..., None]) -> None:
    """The flux into the concrete has an amplitude of 17.3513 W/m2 per kelvin of the surface.

    Source: Carslaw & Jaeger, section 2.6: sqrt(2 pi k rho c / period).
    """
    nodes = grid([Layer(1.5, *CONCRETE)])
    step = 300.0
    time = step * np.arange(int(10 * DAY / step) + 1)
    rows = np.zeros((time.size, 7))
    rows[:, 2] = 300 + np.sin(2 * np.pi * time / DAY)
    rows[:, 5:] = (1.0, 1e5)
    law = Exchange(roughness=0.0, still=1e6, per_wind=0.0).law()
    bottom, source = np.zeros((time.size, 2)), np.zeros((time.size, nodes.depth.size))
    start = np.full(nodes.depth.size, 300.0)
    through = march(start, nodes.capacity, nodes.conductance, bottom, source, step, rows, law)
    stored = through[-int(DAY / step) - 1 :] @ nodes.capacity
    ours = 0.5 * np.ptp(np.diff(stored) / step)
    source = "Carslaw & Jaeger, section 2.6"
    record_check(
        TOPIC, "flux amplitude a kelvin of the surface", 17.3513, ours, "W m-2 K-1", 0.0, source, relative=0.01
    )
