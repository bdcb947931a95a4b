"""Conduction: the compiled march against an independent integrator, energy kept, bad layers refused."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from groundglow.errors import GroundglowError
from groundglow.model.ground.conduction import Grid, Layer, damping, grid, march
from groundglow.model.ground.turbulence import Exchange, latent_flux, sensible_conductance

Array = NDArray[np.float64]
STEFAN_BOLTZMANN = 5.6703744191844314e-8
LAYERS = (Layer(0.02, 0.2, 0.6e6), Layer(0.3, 1.2, 2.1e6))


def _weather(steps: int, step: float) -> Array:
    """A day of invented weather in the order that the march reads."""
    phase = 2 * np.pi * np.arange(steps + 1) * step / 86400
    sun = np.maximum(700 * np.sin(phase), 0)
    columns = [
        0.8 * sun + 0.96 * 320,
        np.full(steps + 1, 0.96),
        290 + 6 * np.sin(phase - 0.5),
        2 + np.cos(3 * phase),
        np.full(steps + 1, 900.0),
        np.full(steps + 1, 1900.0),
        np.full(steps + 1, 1e5),
    ]
    return np.column_stack(columns)


def _twin(nodes: Grid, rows: Array, law: Array, step: float) -> Array:
    """The same equations in NumPy under a library's stiff integrator: the reference of the compiled march."""
    times = step * np.arange(rows.shape[0])

    def heat(t: float, temperature: Array) -> Array:
        row = np.array([np.interp(t, times, rows[:, i]) for i in range(rows.shape[1])])
        rise = temperature[0] - row[2]
        conductance = sensible_conductance.py_func(rise, row[2], row[3], row[6], law)
        loss = conductance * rise
        loss += latent_flux.py_func(temperature[0], loss, conductance, row[2], row[4:7], law)
        flow = nodes.conductance * -np.diff(temperature)
        net = np.append(0.0, flow) - np.append(flow, 0.0)
        net[0] += row[0] - row[1] * STEFAN_BOLTZMANN * temperature[0] ** 4 - loss
        return np.asarray(net / nodes.capacity)

    start = np.full(nodes.depth.size, 290.0)
    solution = solve_ivp(heat, (0, times[-1]), start, "BDF", times, rtol=1e-6, atol=1e-6, max_step=step)
    return np.asarray(solution.y.T)


def _march(nodes: Grid, rows: Array, law: Array, step: float, **more: float) -> Array:
    steps, size = rows.shape[0], nodes.depth.size
    still, nothing = np.zeros((steps, 2)), np.zeros((steps, size))
    start = np.full(size, 290.0)
    return np.asarray(march(start, nodes.capacity, nodes.conductance, still, nothing, step, rows, law, **more))


@pytest.mark.parametrize(
    "exchange",
    [
        Exchange(),
        Exchange(roughness=0.0),
        Exchange(wet_share=0.6, resistance=50.0),
        Exchange(latent_per_sensible=0.8),
    ],
    ids=["open ground", "plate", "wet", "share"],
)
def test_the_compiled_march_agrees_with_a_stiff_integrator(exchange: Exchange) -> None:
    """Within 0.05 K at ten-minute steps, for each law of exchange, two hours after the shock of the start."""
    nodes, rows = grid(LAYERS, first=0.01, growth=1.6), _weather(144, 600.0)
    ours = _march(nodes, rows, exchange.law(), 600.0)
    assert np.abs(ours - _twin(nodes, rows, exchange.law(), 600.0))[12:].max() < 0.05


def test_heat_is_kept() -> None:
    """What the surface takes in is what the body stores: closed bottom, no exchange but radiation."""
    nodes, rows = grid(LAYERS), _weather(1440, 60.0)
    law = Exchange(roughness=0.0, still=0.0, per_wind=0.0).law()
    ours = _march(nodes, rows, law, 60.0)
    inflow = rows[:, 0] - rows[:, 1] * STEFAN_BOLTZMANN * ours[:, 0] ** 4
    stored = float(nodes.capacity @ (ours[-1] - ours[0]))
    assert stored == pytest.approx(float(np.trapezoid(inflow, dx=60.0)), rel=2e-3, abs=500.0)


def test_halving_the_step_changes_little() -> None:
    """Second order in time: ten-minute and one-minute steps differ by less than 0.05 K."""
    law = Exchange().law()
    coarse = _march(grid(LAYERS), _weather(144, 600.0), law, 600.0)
    fine = _march(grid(LAYERS), _weather(1440, 60.0), law, 60.0)
    assert np.abs(coarse[:, 0] - fine[::10, 0])[12:].max() < 0.05


def test_a_jump_of_the_sun_does_not_ring() -> None:
    """When the sun comes out at once, the surface warms without a swing from step to step."""
    rows = _weather(30, 600.0)
    rows[:, 2:4] = (290.0, 2.0)
    rows[:, 0] = 310.0
    rows[10:, 0] = 900.0
    surface = _march(grid(LAYERS), rows, Exchange().law(), 600.0)[:, 0]
    assert np.all(np.diff(surface[10:]) > -1e-6)


def test_a_ceiling_holds_what_melts() -> None:
    """No node passes the ceiling, however strong the sun."""
    rows = _weather(144, 600.0)
    assert _march(grid(LAYERS), rows, Exchange().law(), 600.0, ceiling=291.0).max() <= 291.0


def test_grid_keeps_depth_and_capacity() -> None:
    """The nodes end at the layers' total depth, one stands on the interface, all heat capacity is there."""
    nodes = grid(LAYERS)
    assert nodes.depth[-1] == pytest.approx(0.32)
    assert np.abs(nodes.depth - 0.02).min() < 1e-12
    assert nodes.capacity.sum() == pytest.approx(0.02 * 0.6e6 + 0.3 * 2.1e6)
    assert nodes.depth[1] <= 0.002 + 1e-12


def test_deep_waves_fade_and_lag_by_the_same_figure() -> None:
    """At one damping depth: 1/e is left, and the lag is one radian."""
    share, lag = damping(0.1, 0.01 * np.pi / 86400, 86400.0)
    assert share == pytest.approx(np.exp(-1))
    assert lag == pytest.approx(86400 / (2 * np.pi))


@pytest.mark.parametrize("layers", [(), (Layer(0.0, 1.0, 1e6),), (Layer(0.1, -1.0, 1e6),), (Layer(0.1, 1.0, 0.0),)])
def test_layers_without_substance_are_refused(layers: tuple[Layer, ...]) -> None:
    """No layer, no thickness, no conductivity or no capacity: an error, not a division by zero."""
    with pytest.raises(GroundglowError, match=r"layer"):
        grid(layers)
