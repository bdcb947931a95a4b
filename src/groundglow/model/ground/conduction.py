"""Heat conduction into layered ground under a nonlinear surface balance, in one dimension.

Finite volumes with nodes on the surface and inside the layers; in time TR-BDF2 (second order and L-stable: no
ringing when the sun comes out from behind a cloud). The balance at the surface is solved by Newton's method
inside each stage, so the step is fully implicit.

References
----------
Bank et al. 1985, IEEE Trans. Electron Devices 32:1992 (TR-BDF2); Carslaw & Jaeger, Conduction of Heat in Solids,
section 2.6 (periodic heating). From memory; held against the analytic solution in the tests.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

from groundglow.errors import InputError, RangeError
from groundglow.model.ground.turbulence import latent_flux, sensible_conductance

__all__ = ["Grid", "Layer", "damping", "damping_depth", "grid", "march"]

Array = NDArray[np.float64]

_GAMMA = 2 - np.sqrt(2.0)
_STEP = 0.01  # K, of the numerical slope of the turbulent heat
_STEFAN_BOLTZMANN = 5.6703744191844314e-8  # W m-2 K-4, CODATA 2022


@dataclass(frozen=True)
class Layer:
    """A layer of one material: thickness m, conductivity W m-1 K-1, heat capacity of a volume J m-3 K-1."""

    thickness: float
    conductivity: float
    heat_capacity: float


@dataclass(frozen=True)
class Grid:
    """Nodes of a layered body: depth m, capacity J m-2 K-1 of each, conductance W m-2 K-1 between neighbours."""

    depth: Array
    capacity: Array
    conductance: Array


def damping_depth(diffusivity: ArrayLike, period: ArrayLike) -> Array:
    """Depth at which a periodic temperature wave has fallen to 1/e, m: sqrt(diffusivity period / pi).

    Parameters
    ----------
    diffusivity : array_like
        Conductivity over heat capacity of a volume, m2/s.
    period : array_like
        s.

    References
    ----------
    Carslaw & Jaeger, Conduction of Heat in Solids, section 2.6.

    Examples
    --------
    Concrete of 1.8 W/m/K, 2300 kg/m3 and 1000 J/kg/K through a day:

    >>> float(damping_depth(1.8 / 2.3e6, 86400).round(5))
    0.14671
    """
    return np.asarray(np.sqrt(np.asarray(diffusivity, float) * np.asarray(period, float) / np.pi))


def damping(depth: ArrayLike, diffusivity: ArrayLike, period: ArrayLike) -> tuple[Array, Array]:
    """Share of a periodic surface amplitude that is left at a depth, and its lag in s.

    Parameters
    ----------
    depth : array_like
        m below the surface of a half-space.
    diffusivity : array_like
        m2/s.
    period : array_like
        s.

    References
    ----------
    Carslaw & Jaeger, Conduction of Heat in Solids, section 2.6: exp(-x/d), x/d radians.

    Examples
    --------
    >>> share, lag = damping(0.1, 1.8 / 2.3e6, 86400)
    >>> float(share.round(6)), float((lag / 3600).round(4))
    (0.505794, 2.6036)
    """
    phase = np.asarray(depth, dtype=float) / damping_depth(diffusivity, period)
    return np.exp(-phase), np.asarray(phase * np.asarray(period, float) / (2 * np.pi))


def grid(layers: Sequence[Layer], *, first: float = 0.002, growth: float = 1.2) -> Grid:
    """Nodes of a stack of layers: thin at the surface, growing with depth, one on each interface.

    Parameters
    ----------
    layers : sequence of Layer
        From the surface down.
    first : float
        Greatest spacing at the surface, m.
    growth : float
        Greatest ratio of neighbouring spacings inside a layer.

    Raises
    ------
    InputError, RangeError
        Without a layer, or with one of no thickness, conductivity or capacity.

    References
    ----------
    Finite volumes; no constant.

    Examples
    --------
    >>> stack = grid([Layer(0.05, 1.0, 2e6), Layer(0.5, 0.3, 1.5e6)])
    >>> float(stack.capacity.sum())  # J m-2 K-1
    850000.0
    """
    if not layers:
        raise InputError("The ground has no layer: give at least one.")
    spacing: list[float] = []
    owner: list[int] = []
    for number, layer in enumerate(layers):
        _check(layer, number)
        steps = _spacings(layer.thickness, first if not spacing else spacing[-1] * growth, growth)
        spacing += steps
        owner += [number] * len(steps)
    step = np.array(spacing)
    heat = np.array([layers[i].heat_capacity for i in owner]) * step
    capacity = np.zeros(step.size + 1)
    capacity[:-1] += 0.5 * heat
    capacity[1:] += 0.5 * heat
    conductance = np.array([layers[i].conductivity for i in owner]) / step
    return Grid(np.concatenate([[0.0], np.cumsum(step)]), capacity, conductance)


def _check(layer: Layer, number: int) -> None:
    for name, value in vars(layer).items():
        if not value > 0:
            where = f"layer {number + 1} from the surface"
            raise RangeError(name, value, "", f"{name} > 0", where, "Check the layers of the ground.")


def _spacings(thickness: float, first: float, growth: float) -> list[float]:
    """Spacings of at most ``first`` that grow geometrically and fill the thickness."""
    count = 1
    while first * (growth**count - 1) / (growth - 1) < thickness and count < 400:
        count += 1
    raw = growth ** np.arange(count)
    return list(raw * thickness / raw.sum())


@njit(cache=True)
def _balance(t: float, row: Any, law: Any) -> tuple[float, float]:  # pragma: no cover - compiled
    """Heat into the surface at temperature t, W/m2, and its slope.

    row: see `march`; law: see `turbulence`.
    """
    emitted = row[1] * _STEFAN_BOLTZMANN * t**4
    loss, above = _turbulent(t, row, law), _turbulent(t + _STEP, row, law)
    return row[0] - emitted - loss, -4 * emitted / t - max((above - loss) / _STEP, 0.0)


@njit(cache=True)
def _turbulent(t: float, row: Any, law: Any) -> float:  # pragma: no cover - compiled
    """Sensible and latent heat that leave a surface at temperature t, W/m2."""
    air = row[2]
    conductance = sensible_conductance(t - air, air, row[3], row[6], law)
    sensible = conductance * (t - air)
    return float(sensible + latent_flux(t, sensible, conductance, air, row[4:7], law))


@njit(cache=True)
def _stage(
    t: Any, right: Any, capacity: Any, conductance: Any, bottom: Any, weight: float, row: Any, law: Any, ratio: Any
) -> None:  # pragma: no cover - compiled
    """Solve capacity t - weight (conduction + balance) = right in place; ``ratio`` is work space."""
    n = capacity.size
    # eliminate from the bottom upwards: t[i] = right[i] + ratio[i] t[i-1]
    diagonal = capacity[n - 1] + weight * (conductance[n - 2] + bottom[0])
    ratio[n - 1] = weight * conductance[n - 2] / diagonal
    right[n - 1] = (right[n - 1] + weight * bottom[0] * bottom[1]) / diagonal
    for i in range(n - 2, 0, -1):
        lower = weight * conductance[i]
        upper = weight * conductance[i - 1]
        diagonal = capacity[i] + lower * (1 - ratio[i + 1]) + upper
        ratio[i] = upper / diagonal
        right[i] = (right[i] + lower * right[i + 1]) / diagonal
    lower = weight * conductance[0]
    a = capacity[0] + lower * (1 - ratio[1])
    b = right[0] + lower * right[1]
    x = t[0]
    for _ in range(20):
        heat, slope = _balance(x, row, law)
        change = (b + weight * heat - a * x) / (a - weight * slope)
        change = min(max(change, -5.0), 5.0)
        x += change
        if abs(change) < 1e-7:
            break
    t[0] = x
    for i in range(1, n):
        t[i] = right[i] + ratio[i] * t[i - 1]


@njit(cache=True)
def _flow(t: Any, conductance: Any, bottom: Any, heat: float, out: Any) -> None:  # pragma: no cover - compiled
    """Net heat into each node, W/m2."""
    n = t.size
    out[:] = 0.0
    for i in range(n - 1):
        q = conductance[i] * (t[i] - t[i + 1])
        out[i] -= q
        out[i + 1] += q
    out[0] += heat
    out[n - 1] += bottom[0] * (bottom[1] - t[n - 1])


@njit(cache=True)
def march(
    t: Any,
    capacity: Any,
    conductance: Any,
    bottom: Any,
    source: Any,
    step: float,
    rows: Any,
    law: Any,
    ceiling: float = np.inf,
) -> Any:  # pragma: no cover - compiled
    """Run the ground through a series of steps; returns node temperatures after each, shape (steps + 1, nodes).

    Parameters
    ----------
    t : (nodes,) array
        Temperatures at the start, K.
    capacity, conductance : arrays
        Of a `Grid`.
    bottom : (steps + 1, 2) array
        Conductance W m-2 K-1 to a body under the last node and that body's temperature K; zero insulates.
    source : (steps + 1, nodes) array
        Heat set free in each node, W/m2.
    step : float
        s.
    rows : (steps + 1, 7) array
        Absorbed radiation W/m2, emissivity, air temperature K, wind m/s, vapour pressure of the air Pa and its
        saturation, pressure Pa.
    law : (9,) array
        Of exchange with the air, see `groundglow.model.ground.turbulence`.
    ceiling : float
        Temperature K that no node exceeds: further heat melts what drains away.
    """
    n, steps = t.size, rows.shape[0] - 1
    out = np.empty((steps + 1, n))
    out[0] = t
    now, middle, right, flow, ratio = t.copy(), t.copy(), np.empty(n), np.empty(n), np.empty(n)
    half = 0.5 * _GAMMA * step
    last = (1 - _GAMMA) / (2 - _GAMMA) * step
    w1 = 1 / (_GAMMA * (2 - _GAMMA))
    w0 = (1 - _GAMMA) ** 2 / (_GAMMA * (2 - _GAMMA))
    for k in range(steps):
        between = (1 - _GAMMA) * rows[k] + _GAMMA * rows[k + 1]
        under = (1 - _GAMMA) * bottom[k] + _GAMMA * bottom[k + 1]
        given = (1 - _GAMMA) * source[k] + _GAMMA * source[k + 1]
        heat, _ = _balance(now[0], rows[k], law)
        _flow(now, conductance, bottom[k], heat, flow)
        right[:] = capacity * now + half * (flow + source[k] + given)
        _stage(middle, right, capacity, conductance, under, half, between, law, ratio)
        right[:] = capacity * (w1 * middle - w0 * now) + last * source[k + 1]
        now[:] = middle
        _stage(now, right, capacity, conductance, bottom[k + 1], last, rows[k + 1], law, ratio)
        now[:] = np.minimum(now, ceiling)
        middle[:] = now
        out[k + 1] = now
    return out
