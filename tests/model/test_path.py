"""The table over distance against its NumPy twin, and the doubt."""

from __future__ import annotations

import numpy as np

from groundglow.model.path import NODES, interpolated, means, weather
from groundglow.model.response import ideal_band

BAND = ideal_band(8e-6, 14e-6)
AIR = weather(295.0, 0.6, 98e3, 8e3)


def _twin(distance: np.ndarray) -> list[np.ndarray]:
    """Plain NumPy: linear in the cube root of distance between the same nodes."""
    rows = means(BAND, NODES, AIR.spread(NODES.shape), 300.0)
    return [np.interp(np.cbrt(distance), np.cbrt(NODES), values) for values in rows]


def test_the_compiled_interpolation_is_its_numpy_twin() -> None:
    distance = np.random.default_rng(1).uniform(0.0, 5000.0, (40, 50))
    for ours, theirs in zip(interpolated(BAND, distance, AIR, 300.0), _twin(distance), strict=True):
        assert ours.shape == (40, 50)
        np.testing.assert_allclose(ours, theirs, rtol=0, atol=1e-9)


def test_both_ends_of_the_table_are_met_and_the_unknown_stays_unknown() -> None:
    distance = np.array([0.0, 5000.0, np.nan])
    tau, own, spread = interpolated(BAND, distance, AIR, 300.0)
    ends = means(BAND, distance[:2], AIR.spread((2,)), 300.0)
    np.testing.assert_allclose([tau[:2], own[:2], spread[:2]], ends, atol=1e-12)
    assert np.isnan([tau[2], own[2], spread[2]]).all()


def test_a_view_with_gaps_in_memory_is_read_right() -> None:
    distance = np.linspace(0.0, 4000.0, 200).reshape(10, 20)
    whole, part = (interpolated(BAND, d, AIR, 300.0)[0] for d in (distance, distance[::2, ::3]))
    np.testing.assert_array_equal(whole[::2, ::3], part)


def test_weather_of_other_shapes_is_spread_over_all() -> None:
    air = weather([[280.0], [300.0]], [0.2, 0.5, 0.9], 101325.0, None)
    assert air.shape == (2, 3)
    assert air.spread((4, 2, 3)).shape == (24,)
