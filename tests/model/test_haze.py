"""Haze from a visibility."""

from __future__ import annotations

import numpy as np
import pytest

from groundglow.errors import RangeError
from groundglow.model.haze import haze_extinction


def test_at_the_visibility_two_per_cent_of_the_contrast_are_left() -> None:
    """Koschmieder's definition."""
    seen = np.array([300.0, 900.0, 3e3, 20e3, 80e3])
    np.testing.assert_allclose(np.exp(-haze_extinction(0.55e-6, seen) * seen), 0.02, rtol=1e-3)


def test_the_thermal_infrared_sees_farther_through_haze_but_not_through_fog() -> None:
    haze, fog = haze_extinction(10e-6, [10e3, 300.0]) / haze_extinction(0.55e-6, [10e3, 300.0])
    assert haze < 0.1
    assert fog == pytest.approx(1.0)


def test_extinction_falls_as_the_air_clears() -> None:
    assert (np.diff(haze_extinction(10e-6, np.geomspace(60.0, 100e3, 400))) <= 0).all()


def test_nothing_is_measured_through_thick_fog() -> None:
    with pytest.raises(RangeError, match="visibility"):
        haze_extinction(10e-6, 20.0)
