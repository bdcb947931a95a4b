"""Tilted surfaces: what they show the camera and what they mirror."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from groundglow.errors import InputError
from groundglow.model.facing import (
    direction,
    face,
    reflected_direction,
    sky_share,
    sun_glint,
    surface_normal,
    zenith_and_azimuth,
)

UNIT = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.1)
DOWN = np.array([0.0, 0.0, 1.0])


@given(st.floats(0.01, np.pi - 0.01), st.floats(0, 2 * np.pi - 0.001))
def test_direction_and_angles_invert_each_other(zenith: float, azimuth: float) -> None:
    """Angles to vector and back."""
    assert zenith_and_azimuth(direction(zenith, azimuth)) == pytest.approx((zenith, azimuth), abs=1e-9)


@given(UNIT, UNIT)
def test_reflection_keeps_the_angle_and_comes_back(normal: tuple[float, ...], view: tuple[float, ...]) -> None:
    """Both directions stand at one angle to the normal, in one plane; mirrored twice is the camera again."""
    n, v = np.array(normal) / np.linalg.norm(normal), np.array(view) / np.linalg.norm(view)
    assume(n @ v > 0.01)
    r = reflected_direction(n, v)
    assert r @ n == pytest.approx(v @ n, abs=1e-9)
    assert np.cross(n, v) @ r == pytest.approx(0, abs=1e-9)
    assert reflected_direction(n, r) == pytest.approx(v, abs=1e-9)


def test_level_water_seen_from_above_mirrors_the_zenith() -> None:
    """Straight down, the camera's own direction is what it sees mirrored."""
    seen = face(0.0, 0.0, DOWN)
    assert (float(seen.view_angle), float(seen.reflected_zenith)) == pytest.approx((0, 0), abs=1e-12)
    assert bool(seen.mirrors_sky)


def test_a_steep_roof_mirrors_the_ground() -> None:
    """A roof of 50 degrees seen from overhead mirrors a direction 10 degrees under the horizon."""
    seen = face(np.radians(50), np.radians(90), DOWN)
    assert np.degrees(seen.reflected_zenith) == pytest.approx(100)
    assert np.degrees(seen.reflected_azimuth) == pytest.approx(90)
    assert not seen.mirrors_sky


def test_a_wall_seen_from_behind_is_not_seen() -> None:
    """A surface that faces away has no view angle and mirrors nothing."""
    seen = face(np.radians(90), np.radians(0), [0.0, -1.0, 0.2])
    assert np.isnan(seen.view_angle)
    assert np.isnan(seen.reflected_zenith)
    assert not seen.mirrors_sky


def test_share_of_sky_follows_from_integrating_the_hemisphere() -> None:
    """The cosine-weighted share of upward directions over a tilted plane, by brute force."""
    tilt = np.radians(35)
    zenith, azimuth = np.meshgrid(np.radians(np.arange(0.25, 90, 0.5)), np.radians(np.arange(0.5, 360, 1)))
    cosine = np.clip(direction(zenith, azimuth) @ surface_normal(tilt, 1.0), 0, None)
    share = np.sum(cosine * np.sin(zenith)) * np.radians(0.5) * np.radians(1) / np.pi
    assert sky_share(tilt) == pytest.approx(share, abs=1e-4)


def test_glint_needs_the_sun_above_the_horizon() -> None:
    """The mirrored direction meets the sun within 5 degrees, but never a set sun."""
    up = direction(np.radians(40), np.radians(200))
    assert sun_glint(up, direction(np.radians(44), np.radians(200)))[0]
    assert not sun_glint(up, direction(np.radians(46), np.radians(200)))[0]
    low = direction(np.radians(92), np.radians(200))
    assert not sun_glint(low, low)[0]


def test_angles_broadcast_over_an_image() -> None:
    """One plane and a field of directions: all outputs carry the field's shape."""
    seen = face(np.radians(20), np.radians(180), np.ones((4, 5, 3)))
    shapes = {a.shape for a in (seen.view_angle, seen.reflected_zenith, seen.mirrors_sky, seen.sky_share)}
    assert shapes == {(4, 5)}


def test_a_direction_without_three_parts_is_refused() -> None:
    """Two columns are a mistake, and the message shows the shape."""
    with pytest.raises(InputError, match=r"\(2,\)"):
        reflected_direction([0, 1], [0, 0, 1])
